"""The single rule for which finished units fill an order, used for plans and for deliveries.

A unit in the book is one item, or several: "board" is its rim, wire bottom and strips, and a board without mesh is its
rim. The form says how far a unit is finished, and its meaning depends on the item: a rim is packed with sugar; a quilt
box, a feeder or a shim is filled; any item can be an unassembled kit. Otherwise the form has no meaning.
"""

from woodshop.design.tables import FORMS
from woodshop.hardware.catalogue import board_names, find_item, folded, items, items_named
from woodshop.hardware.registry import BoardPart
from woodshop.hive.stacking.place import STANDING

PACKED, WITH_MESH, EMPTY, KIT = FORMS
_BECOMES = {
    PACKED: ("", PACKED, WITH_MESH, EMPTY),
    WITH_MESH: ("", WITH_MESH, EMPTY),
    EMPTY: ("", EMPTY),
}
"""For each form that can be wanted, the forms of units that can be used for it."""


def items_of(item: str, form: str) -> tuple[str, ...]:
    """The items in a unit in the book (for a board without mesh, its rim). It is empty for an unknown name or form."""
    if form not in ("", *FORMS):
        return ()
    found: list[str] = []
    for part in item.split("+"):
        names = items_named(part.strip())
        if not names:
            return ()
        found += names
    not_in = board_names(BoardPart.FLOOR, BoardPart.STRIPS) if form == EMPTY else ()
    return tuple(name for name in dict.fromkeys(found) if name not in not_in and find_item(name).is_per_hive)


def need_form() -> set[str]:
    """The items whose form an order must give: rims of boards, which are sold with and without sugar and mesh."""
    return {item.name for item in items() if item.board_part is BoardPart.RIM}


def has_form(name: str) -> bool:
    """Whether the item `name` is packed or filled. If not, only "unassembled kit" has a meaning."""
    item = find_item(name)
    if item.board_part is not None:
        return item.board_part is BoardPart.RIM
    return item.place is not None and item.place.kind in STANDING


def can_become(names: tuple[str, ...], form: str, wanted: str) -> bool:
    """Whether a unit of the items `names` in this form can be used for hives that need the form `wanted`.

    The unit may still lack sugar, shavings or mesh.
    """
    if (form == KIT) != (wanted == KIT):
        return False
    return wanted == KIT or all(not has_form(name) or form in _BECOMES[wanted or PACKED] for name in names)


def is_ready(name: str, form: str, wanted: str) -> bool:
    """Whether the item `name` in this form can be handed over as it is for an order of the form `wanted` ("" if none).

    A unit without a form counts as finished to order, and an order without a form is planned as packed. Neither applies
    to a rim, because its form must say whether it holds sugar.
    """
    if KIT in (form, wanted):
        return form == wanted
    if not has_form(name):
        return True
    if find_item(name).board_part is BoardPart.RIM:
        return form == wanted or (form == "" and wanted in (WITH_MESH, EMPTY))
    return form in ("", wanted or PACKED)


def fills(item: str, form: str, ordered: str, wanted: str) -> bool:
    """Whether one unit of `item` in `form` fills one unit of an order for `ordered` in the form `wanted`.

    An item unknown to woodshop fills only an order that names the same item and form.
    """
    if (folded(item), form) == (folded(ordered), wanted):
        return True
    names = items_of(item, form)
    return (
        bool(names)
        and set(names) == set(items_of(ordered, wanted))
        and all(is_ready(name, form, wanted) for name in names)
    )


def fills_part(item: str, form: str, part: str, wanted: str) -> bool:
    """Whether one unit of `item` and `form` is the item `part` of a unit ordered in the form `wanted`."""
    return items_of(item, form) == (part,) and is_ready(part, form, wanted)
