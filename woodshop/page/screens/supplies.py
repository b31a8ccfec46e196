"""The screen "what you have and where you buy": the day, the shed, saw and tools, and the lumberyard's goods."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import count
from typing import Any, get_args

from nicegui import ui

from woodshop.design.keys import find_key, keys_of
from woodshop.design.lumberyard.example_prices import EXAMPLE_PRICES, example_prices, priced_goods
from woodshop.design.lumberyard.lumberyard_file import PACK_HOLDS
from woodshop.design.lumberyard.lumberyard_tables import STALE_AFTER, Goods
from woodshop.design.settings.saw import CrosscutSaw
from woodshop.errors import InputError
from woodshop.hardware.catalogue import items
from woodshop.page.controls import choice, field, group, press, show_problems, tick, words
from woodshop.page.fields import YES_NO, FileFields, anchor, fold, shown_form
from woodshop.page.frame import YARD, screen, served_folder
from woodshop.page.labels import key_label
from woodshop.page.opened import changes
from woodshop.page.opened.editing import Place, add_table, remove_table, remove_value, set_value, value_at
from woodshop.page.opened.opened import OpenDesign, OpenLumberyard
from woodshop.page.screens.home import starter_lumberyard
from woodshop.reference.facts import fact
from woodshop.reference.materials import nominal_names, sheet_kinds
from woodshop.units.wording import LengthUnit

_SAW = ("rip_kerf", "crosscut_kerf", "mark", "longest_rip", "shortest_offcut")
_ENDING = ".toml"


@dataclass(frozen=True, slots=True)
class _Column:
    """A value of goods: the key in the lumberyard file, its heading, and the kind of its values."""

    key: str
    heading: str
    kind: str = "text"


@dataclass(frozen=True, slots=True)
class _Stack:
    """A column of a table of goods that has several values, one below the other."""

    heading: str
    values: tuple[_Column, ...]


_KIND = "kind"
"""The key of the column for the kind of material; its value is under the key of that kind."""
_OF_KIND = _Stack("material", (_Column(_KIND, "material"), _Column("", "")))
_NOTE = _Column("what", "note")
_LENGTH, _WIDTH = _Column("length", "length"), _Column("width", "width")
_PRICE = (_Column("price", "price"), _Column("count", "in stock", "whole number"))
_HELD = tuple(
    _Column(key, heading, kind)
    for key, heading, kind in (
        ("mass", "mass", "text"),
        ("pieces", "pieces", "whole number"),
        ("size", "size of screws", "text"),
        ("loose_litres", "liters, loose", "whole number"),
        ("pressed_litres", "liters, pressed", "whole number"),
        ("millilitres", "milliliters", "whole number"),
    )
)
_HELD_TOO = {"screws": ("size",), "shavings": ("pressed_litres",)}
"""What may be said of goods besides what a pack of them must hold."""
_GOODS: dict[str, tuple[str, str, tuple[_Column | _Stack, ...]]] = {
    "roll": ("Rolls of mesh and cloth", "a roll", (_OF_KIND, _WIDTH, _LENGTH, *_PRICE)),
    "sheet": ("Sheets", "a sheet", (_OF_KIND, _NOTE, _WIDTH, _LENGTH, *_PRICE)),
    "piece": ("Sold cut to size", "a piece", (_OF_KIND, _NOTE, _WIDTH, _LENGTH, *_PRICE)),
    "pack": (
        "By the bag, box or bottle",
        "a pack",
        (
            _Column("goods", "goods"),
            _Column("what", "what the label says"),
            _Stack("what is in one", _HELD),
            _Column("price", "price"),
            _Column("at_least", "sold from", "whole number"),
        ),
    ),
    "ready": (
        "Sold ready-made",
        "an item",
        (_Column("item", "item"), _NOTE, _Column("frames", "fits frames", "numbers"), _Column("price", "price")),
    ),
    "offcut": (
        "Offcuts on your rack",
        "an offcut",
        (
            _Column("label", "mark on it"),
            _OF_KIND,
            _Stack("size", (_LENGTH, _Column("width", "width, if measured"),
                            _Column("thickness", "thickness, if measured"))),
            _Stack("how many", (_Column("count", "how many", "whole number"), _Column("worth", "worth to you"))),
            _Stack("edges and ends", (_Column("straight_edges", "edges are straight", "yes or no"),
                                      _Column("square_ends", "ends are square", "yes or no"),
                                      _Column("rounded_edges", "rounded edges, as of framing lumber", "yes or no"),
                                      _Column("twisted", "twisted", "yes or no"),
                                      _Column("resaw", "may be resawn into thinner boards", "yes or no"))),
            _Stack("faults", (_Column("bad", "bad stretches", "stretches"),
                              _Column("tight_knots", "tight knots", "stretches"))),
        ),
    ),
}  # fmt: skip
_NOT_KNOWN = {"": "no (default)", "yes": "yes", "no": "no"}
_BOARD = (_Column("nominal", "nominal"), _Column("thickness", "thickness"), _Column("width", "width"),
          _Column("wood", "wood"), _Column("rounded_edges", "rounded edges, as of framing lumber", "yes or no"),
          _Column("resaw", "may be resawn into thinner boards", "yes or no"))  # fmt: skip
_BOARD_SIZE = (_LENGTH, *_PRICE)
_SIZES = {"nominal": "nominal size", "mesh": "mesh", "cloth": "name"}
"""What the size of a kind of material is called; that of a sheet is its thickness."""
_KINDS = {
    "roll": ("mesh", "cloth"),
    "sheet": sheet_kinds(),
    "piece": ("mesh", "cloth", *sheet_kinds()),
    "offcut": ("nominal", "mesh", "cloth", *sheet_kinds()),
}
_NEW: dict[str, dict[str, Any]] = {
    "board": {"nominal": "1x6", "sizes": [{"length": "8 ft"}]},
    "roll": {"mesh": "1/2 in", "width": "36"},
    "sheet": {"plywood": "1/4 in", "width": "48", "length": "96"},
    "piece": {"mesh": "1/2 in"},
    "pack": {"goods": "sugar"},
    "offcut": {"nominal": "1x6", "length": "24 in"},
}
_NEW_METRIC: dict[str, dict[str, Any]] = {
    "board": {"thickness": "20", "width": "95", "sizes": [{"length": "2400"}]},
    "roll": {"mesh": "12.7 mm", "width": "1000"},
    "sheet": {"plywood": "6 mm", "width": "1250", "length": "2500"},
    "piece": {"mesh": "12.7 mm"},
    "offcut": {"thickness": "20", "width": "95", "length": "600"},
}
_HELP = {
    "roll": "Hardware cloth by its mesh, or cloth by its name.",
    "sheet": "The length runs along the flutes, or along the grain of the face.",
    "piece": "Mesh, cloth or sheet that is sold cut to size.",
    "pack": "A pack has a mass, a number of pieces, liters, or milliliters.",
    "ready": "By its name in what to make. Without frames it fits every box.",
    "offcut": "Pieces that you own. Give each one its real size, and write its mark on it. "
    "Say yes for straight edges and square ends: until then they are cut off. "
    "Bad stretches are measured from the marked end, such as {stretch}.",
    "board": "A board {named}. Each length has its price. A board that may be resawn needs a "
    "saw and a planer among your tools.",
}
_IN_HELP = {
    "in": {"stretch": "22 to 25 1/2",
           "named": f"by its nominal size ({', '.join(nominal_names())}), or by thickness and width as measured"},
    "mm": {"stretch": "550 to 640", "named": "by its thickness and width as measured"},
}  # fmt: skip
_TERMS = (
    (("name",), "Name of the lumberyard", "text", "As on its receipts."),
    (("seen",), "Day of these prices", "date", "Old prices are flagged."),
    (("currency",), "Currency", "text", "Three letters. Default: USD."),
    (("longest",), "Longest board you can carry home", "text", "Default: any length."),
    (("crosscut",), "Price of a cut to length", "text", "Such as 1.00. Default: the lumberyard cuts no boards."),
    (("free_cuts",), "Free cuts in each board", "whole number", "Only with a price of a cut. Default: 0."),
    (("shortest_cut",), "Shortest piece the lumberyard cuts", "text", "Only with a price of a cut. Default: {}."),
    (("cut_allowance",), "Allowance at each end", "text", "For rough cuts, squared at home. Default: {}."),
    (("cut_kerf",), "Kerf of the lumberyard's saw", "text", "Only with a price of a cut. Default: {}."),
    (("delivery", "fee"), "Delivery, for one order", "text", "Default: no fee."),
    (("delivery", "free_from"), "Delivery is free from", "text", "Default: never."),
    (("minimum",), "Minimum order", "text", "Default: none."),
    (("tax",), "Tax", "text", "Such as 5 %. Default: none."),
    (("tax_on_delivery",), "Tax on delivery too", "yes or no", "Default: no."),
    (("stale_after",), "Days that prices hold", "whole number", f"Default: {STALE_AFTER}."),
    (("tight_knots_to",), "Tight knots that may stay", "text", "Up to this long in a part. Default: none."),
)


@screen("supplies", "What you have and where you buy", 30, ("on_by", "shed", "saw", "tools", "lumberyard"))
def supplies(opened: OpenDesign, unit: LengthUnit) -> None:
    """Builds the screen."""
    with shown_form(opened, unit) as form:
        with ui.element("div").classes("fields"):
            form.key(("on_by",), find_key("", "on_by"), what="")
        words("h2", "What hangs in your shed")
        _shed(form, opened)
        words("h2", "Your saw and tools")
        _tools(form)
        words("h2", "Where you buy")
        _lumberyards(form, opened)


def _shed(form: FileFields, opened: OpenDesign) -> None:
    if form.tables.get("book"):
        words("p", "The shop's book says what is on hand, in place of this list.")
        return
    words("p", "Good hardware that you already have is not made again. What needs repair is counted too.")
    rows = changes.tables_at(opened.text, "shed")
    names = [str(each.get("name", "")) for each in changes.tables_at(opened.text, "hives")]
    per_hive = {each.name: each.title for each in items() if each.is_per_hive}
    for n, row in enumerate(rows):
        what = f"{row.get('item', 'item')} for {row.get('hives', 'hives')}"
        with group(f"In the shed: {what}"):
            with ui.element("div").classes("fields four"):
                place: Place = ("shed", n)
                form.one_of((*place, "item"), "Item", per_hive, what=what)
                form.one_of((*place, "hives"), "For which hives", {name: name for name in names}, what=what)
                form.text((*place, "have"), "How many you have", what=what, kind="whole number")
                form.text((*place, "repair"), "Of these, to repair", what=what, kind="whole number", hint="Default: 0.")
            _remove_button(opened, place, f"{what} from the shed")
    first = next((name for name in per_hive if name not in {row.get("item") for row in rows}), next(iter(per_hive)))
    press("Add to the shed", lambda: opened.edit(lambda text: changes.add_to_shed(text, first), "add to the shed"))


def _remove_button(opened: OpenDesign | OpenLumberyard, place: Place, what: str, shown: str = "Remove") -> ui.element:
    button = press(shown, lambda: opened.edit(lambda text: remove_table(text, place), f"remove {what}"))
    button.props["aria-label"] = f"Remove {what}"
    button.props["data-name"] = "remove"
    return button


def _tools(form: FileFields) -> None:
    if form.tables.get("shop"):
        words("p", f"Settings of the shop file {form.tables['shop']} apply where nothing is set here.")
    with form.section("tools"):
        for name in _SAW:
            form.key(("saw", name), find_key("saw", name), what="saw")
        _crosscut_saws(form)

    rest = {
        (table, key.name): key
        for table, without in (("saw", _SAW), ("tools", ("crosscut_with",)))
        for key in keys_of(table)
        if key.name not in without
    }

    def more() -> None:
        with form.section("more tools"):
            for place, key in rest.items():
                form.key(place, key, what=place[0])

    fold("tools", "More about saw and tools: each has a default", more, rest)


_SAWS = {"circular saw": "circular saw, with a guide", "sled": "sled, on the table saw"}
_RANKS = ("First choice", "Second choice", "Third choice")


def _crosscut_saws(form: FileFields) -> None:
    """Ticks for the saws that crosscut, and which of those there are comes first."""
    place: Place = ("tools", "crosscut_with")
    given = value_at(form.tables, place)
    usual = fact("tool.crosscut_with").value.split(", ")
    names = get_args(CrosscutSaw)
    order = [each for each in names if each in usual]
    if isinstance(given, list):
        order = [each for each in dict.fromkeys(map(str, given)) if each in names]

    def put(wanted: list[str]) -> None:
        form.put(place, wanted or ["hand saw"], "saws for crosscuts")

    def turn(name: str, is_on: bool) -> None:
        put([*order, name] if is_on else [each for each in order if each != name])

    def prefer(rank: int, name: str) -> None:
        put([*order[:rank], name, *(each for each in order[rank:] if each != name)])

    label = key_label("crosscut_with", "tools")
    form.note(label, fact("tool.crosscut_with").cite)
    with group(label).classes("several wide") as made:
        made.props["data-at"] = anchor(place)
        for name in names:
            tick(_SAWS.get(name, name), name in order, partial(turn, name))
        if len(order) > 1:
            with ui.element("div").classes("ranks"):
                for rank, name in enumerate(order[:-1]):
                    choice(_RANKS[rank], {each: each for each in order[rank:]}, name, partial(prefer, rank))
        said = "Each crosscut is made with the first of your choices that can make it. " if len(order) > 1 else ""
        words("p", f"{said}Default: {' and '.join(usual)}.").classes("hint")
        if problem := form.problem(place):
            words("p", problem).classes("problem").props["role"] = "alert"


def _lumberyards(form: FileFields, opened: OpenDesign) -> None:
    folder = served_folder()
    given = form.tables.get("lumberyard", [])
    chosen = [str(each) for each in (given if isinstance(given, list) else [given])]
    known = [f"{name}{_ENDING}" for name in folder.lumberyards()]
    words("p", "Tick the lumberyard files to buy from. With several, each item is bought where it is cheapest.")
    with group("Lumberyard files"):
        for file in dict.fromkeys((*known, *chosen)):
            label = file if file in known else f"{file} (not in this folder)"
            tick(label, file in chosen, partial(_buy, opened, file, chosen)).props["data-at"] = "lumberyard"
        if problem := form.problem(("lumberyard",)):
            words("p", problem).classes("problem").props["role"] = "alert"
    for file in chosen:
        if file in known:
            try:
                yard = folder.open_lumberyard(file.removesuffix(_ENDING))
                _say_if_example(yard)
                inside = partial(_yard, yard, form.unit)
                holds = [(YARD, yard.path.stem)]
                is_empty = not priced_goods(yard.text)
                fold(f"yard {file}", f"Goods, prices and offcuts of {file}", inside, holds, begins_open=is_empty)
            except InputError as error:
                show_problems(error.problems)
    _new_lumberyard(opened, chosen, form.own)


def _say_if_example(yard: OpenLumberyard) -> None:
    """Says that the prices of a lumberyard are an example, until the user says that they are his own."""
    if EXAMPLE_PRICES not in yard.text:
        return
    name = yard.path.name
    with ui.element("section").classes("old-plan") as said:
        said.props["aria-label"] = f"Prices of {name}"
        words("p", f"The prices in {name} are an example. Replace them with those of the lumberyard where you buy.")
        same, count = example_prices(yard.text), len(priced_goods(yard.text))
        if same:

            def listed() -> None:
                words("p", 'Each of them is marked "example" beside its field.')
                with ui.element("ul"):
                    for goods, price in same.values():
                        words("li", f"{goods}: {price}")

            fold(f"example {name}", f"{len(same)} of {count} prices are still the example's. Which?", listed)
        press(
            "These are my own prices now",
            lambda: yard.edit(
                lambda text: text.replace(f"{EXAMPLE_PRICES}\n", ""), "the prices are no longer an example"
            ),
        )
        if same:
            _remove_several(yard, _example_goods(yard.text), f"Remove all {len(same)} goods at example prices")


def _buy(opened: OpenDesign, file: str, chosen: list[str], is_on: bool) -> None:
    names = [*chosen, file] if is_on else [each for each in chosen if each != file]
    opened.edit(lambda text: changes.buy_at(text, names), f"{'buy' if is_on else 'do not buy'} from {file}")


def _new_lumberyard(opened: OpenDesign, chosen: list[str], unit: LengthUnit) -> None:
    typed = [""]

    def named(text: str) -> None:
        typed[0] = text.strip()

    def begin() -> None:
        name = typed[0]
        served_folder().new_lumberyard(name, starter_lumberyard(name, unit))
        _buy(opened, f"{name}{_ENDING}", chosen, True)

    def inside() -> None:
        words("p", "It begins as a copy of an invented lumberyard. Put in your own prices.")
        field("Name of the new file", "", named, hint="Letters, digits, spaces and dashes, such as mill-street.")
        press("Start the lumberyard file", begin)

    fold("new yard", "A new lumberyard, from an example", inside)


def _yard(yard: OpenLumberyard, unit: LengthUnit) -> None:
    form = FileFields(yard, unit)
    name = yard.path.name
    with ui.element("div").props("tabindex=-1") as state:
        state.props["data-at"] = anchor((YARD, yard.path.stem))
        _state(yard)
    words("p", f"Write prices such as 6.20. {form.unit_words()}")
    with ui.element("div").classes("fields"):
        for place, label, kind, help_text in _TERMS:
            usual = fact(f"lumberyard.{place[-1]}").value_in(form.own) if "{}" in help_text else ""
            hint = form.said(help_text.format(usual))
            if kind == "yes or no":
                form.one_of(place, label, YES_NO, what=name, kind=kind, hint=hint)
            else:
                form.text(place, label, what=name, kind=kind, hint=hint)
    tables = {array: changes.tables_at(yard.text, array) for array in ("board", *_GOODS)}
    count = len(tables["board"])
    fold(f"{name} board", f"Boards ({count} sections)", partial(_boards, yard, unit), begins_open=not count)
    for array, (title, _, _) in sorted(_GOODS.items(), key=lambda each: each[0] != "offcut"):
        fold(f"{name} {array}", f"{title} ({len(tables[array])})", partial(_goods, yard, unit, array))


def _state(yard: OpenLumberyard) -> None:
    """Whether the lumberyard file is saved, and what to do if not."""
    if yard.save_state == "changed on disk":
        with ui.element("section").classes("problems").props("role=alert"):
            words("p", f"Another program changed or removed {yard.path.name}. Nothing is written until you choose.")
            with ui.element("div").classes("tools"):
                press(f"Keep what is on this page, {yard.path.name}", yard.keep_mine)
                press(f"Take what is in the file, {yard.path.name}", yard.take_file)
    elif yard.problems:
        with ui.element("section").classes("problems").props("role=alert"):
            words("p", f"{yard.path.name} is not saved yet. Correct this, or undo:")
            with ui.element("ul"):
                for each in yard.problems:
                    words("li", str(each))
    elif yard.not_written:
        show_problems(yard.not_written)
    else:
        words("p", f"All changes are saved in {yard.path.name}.").classes("hint")


def _scrolled(title: str) -> ui.element:
    return ui.element("div").classes("scroll").props(f'tabindex=0 role=region aria-label="{title}"')


def _head(columns: Iterable[str]) -> None:
    with ui.element("thead"), ui.element("tr"):
        for each in (*columns, "remove"):
            words("th", each).props["scope"] = "col"


def _remove_several(opened: OpenDesign | OpenLumberyard, places: Sequence[Place], shown: str) -> None:
    """A button that removes goods or lengths of boards, which is one step to undo. It is apart from other buttons.

    A place comes after all places before it in its array.
    """

    def remove(text: str) -> str:
        for place in reversed(places):  # the last first, so that the others stay where they are
            text = remove_table(text, place) if len(place) == 2 else remove_value(text, place)
        return text

    press(shown, lambda: opened.edit(remove, shown[:1].lower() + shown[1:])).classes("apart")


def _remove_all(opened: OpenLumberyard, array: str, count: int, title: str) -> None:
    """A button that removes all goods of an array, if there are several."""
    if count > 1:
        _remove_several(opened, [(array, n) for n in range(count)], f"Remove all {count}: {title}")


def _example_goods(text: str) -> list[Place]:
    """The places of the goods at example prices: lengths of a board, or the board if that is all its lengths."""
    of: dict[Place, list[Place]] = {}
    for place in example_prices(text):
        of.setdefault(place[:2], []).append(place[:-1])
    boards = changes.tables_at(text, "board")
    found: list[Place] = []
    for goods, lengths in of.items():
        is_whole = goods[0] != "board" or len(lengths) == len(boards[int(goods[1])]["sizes"])
        found += [goods] if is_whole else lengths
    return found


def _goods(yard: OpenLumberyard, unit: LengthUnit, array: str) -> None:
    """A table of the goods in one array, with a row to remove each and a button to add one."""
    form = FileFields(yard, unit)
    title, one, columns = _GOODS[array]
    rows = changes.tables_at(yard.text, array)
    words("p", _HELP[array].format(**_IN_HELP[form.own]))
    if rows:
        with _scrolled(f"{title}, {yard.path.name}"), ui.element("table").classes("goods"):
            _head(each.heading for each in columns)
            with ui.element("tbody"):
                for n, row in enumerate(rows):
                    _row(form, array, n, row, columns, one)
    _add_button(form, array, f"Add {one}")
    _remove_all(yard, array, len(rows), title)


def _row(
    form: FileFields, array: str, n: int, row: dict[str, Any], columns: tuple[_Column | _Stack, ...], one: str
) -> None:
    place: Place = (array, n)
    what = f"{one.partition(' ')[2]} {n + 1}"
    with ui.element("tr"):
        for column in columns:
            with ui.element("td").classes("long" if isinstance(column, _Column) and column.key == "what" else ""):
                if isinstance(column, _Column):
                    _cell(form, array, n, row, column, what)
                else:
                    for each in column.values:
                        _cell(form, array, n, row, each, what, is_stacked=True)
        with ui.element("td"):
            _remove_button(form.opened, place, what)


def _cell(
    form: FileFields, array: str, n: int, row: dict[str, Any], column: _Column, what: str, *, is_stacked: bool = False
) -> None:
    """The field for one value of goods; in a column of several values its heading is above it."""
    place: Place = (array, n, column.key)
    file = form.opened.path.name
    kind = next((each for each in _KINDS.get(array, ()) if each in row), "")
    heading = column.heading or _SIZES.get(kind, "thickness")
    label = f"{heading}, {what}"
    if column in _HELD and column.key not in row:
        goods = str(row.get("goods"))
        if column.key not in (PACK_HOLDS.get(goods), *_HELD_TOO.get(goods, ())):
            return
    if not column.key and not kind:  # a measured board has no other size than those beside it
        return
    if is_stacked and column.key != _KIND:
        words("span", heading).classes("over").props["aria-hidden"] = "true"
    if column.key == _KIND:
        _kind_cell(form, array, n, kind, label)
    elif not column.key:
        form.cell((array, n, kind), label, what=file).props["data-key"] = anchor((array, n, "size of its kind"))
    elif column.key == "goods":
        form.choice_cell(place, label, {each: each for each in get_args(Goods)})
    elif column.kind == "yes or no":
        form.choice_cell(place, label, _NOT_KNOWN, kind=column.kind)
    else:
        form.cell(place, label, what=file, kind=column.kind, note=_note(form, place))


def _note(form: FileFields, place: Place) -> str:
    """The mark beside a price that is still that of the example."""
    return "example" if place in example_prices(form.opened.text) else ""


def _kind_cell(form: FileFields, array: str, n: int, kind: str, label: str) -> None:
    """The kind of material of a row; choosing another moves its size to the key of that kind."""
    known = [each for each in _KINDS[array] if each != "nominal" or form.own == "in" or kind == each]
    names = {each: "board" if each == "nominal" else each for each in known}
    size = form.shown((array, n, kind)) if kind else ""

    def change(wanted: str) -> None:
        def edit(text: str) -> str:
            text = remove_value(text, (array, n, kind)) if kind else text
            return set_value(text, (array, n, wanted), size)

        form.opened.edit(edit, label)

    options = names if kind else {"": "measured board"} | names
    shown = form.choice_cell((array, n, kind), label, options, change=change, value=kind)
    shown.props["data-key"] = anchor((array, n, "kind"))  # the place of its value changes with it


def _boards(yard: OpenLumberyard, unit: LengthUnit) -> None:
    """A table of boards: one row for each length, with the section of its board in front."""
    form = FileFields(yard, unit)
    words("p", _HELP["board"].format(**_IN_HELP[form.own]))
    rows = changes.tables_at(yard.text, "board")
    for n, row in enumerate(rows):
        _board(form, n, row)
    _add_button(form, "board", "Add a board")
    _remove_all(yard, "board", len(rows), "boards")


def _board(form: FileFields, n: int, row: dict[str, Any]) -> None:
    opened, file = form.opened, form.opened.path.name
    section = str(row.get("nominal") or f"{row.get('thickness', '')} x {row.get('width', '')}")
    held = value_at(row, ("sizes",))
    sizes = held if isinstance(held, list) else []
    length = "2400" if form.own == "mm" else "8 ft"
    with group(f"Board {section} {row.get('wood', '')}".strip()):
        with ui.element("div").classes("fields four"):
            for column in _BOARD:
                if column.key == "nominal" and form.own != "in" and column.key not in row:
                    continue
                own, label, what = ("board", n, column.key), column.heading.capitalize(), f"{section}, {file}"
                if column.kind == "yes or no":
                    form.one_of(own, label, _NOT_KNOWN, what=what, kind=column.kind)
                else:
                    form.text(own, label, what=what)
        with _scrolled(f"Lengths of {section}, {file}"), ui.element("table").classes("goods"):
            _head(each.heading for each in _BOARD_SIZE)
            with ui.element("tbody"):
                for at in range(max(len(sizes), 1)):
                    place: Place = ("board", n, "sizes", at)
                    what = f"{section}, {form.shown((*place, 'length'))}"
                    with ui.element("tr"):
                        for column in _BOARD_SIZE:
                            with ui.element("td"):
                                label, cell = f"{column.heading}, {what}", (*place, column.key)
                                form.cell(cell, label, what=file, kind=column.kind, note=_note(form, cell))
                        with ui.element("td"):
                            if len(sizes) > 1:
                                _take_button(opened, place, what)
        end: Place = ("board", n, "sizes", len(sizes))
        with ui.element("div").classes("tools"):
            press(
                f"Add a length of {section}",
                lambda: opened.edit(
                    lambda text: set_value(text, end, {"length": length}), f"add a length of {section}"
                ),
            ).props["data-name"] = "add a length"
            if len(sizes) > 2:
                after: list[Place] = [("board", n, "sizes", at) for at in range(1, len(sizes))]
                _remove_several(opened, after, f"Remove all lengths of {section} but the first")
            _remove_button(opened, ("board", n), f"all {section}", f"Remove all {section}").classes("apart")


def _take_button(opened: OpenDesign | OpenLumberyard, place: Place, what: str) -> None:
    button = press("Remove", lambda: opened.edit(lambda text: remove_value(text, place), f"remove {what}"))
    button.props["aria-label"] = f"Remove {what}"
    button.props["data-name"] = "remove"


def _add_button(form: FileFields, array: str, label: str) -> None:
    first = next(each.name for each in items() if each.is_per_hive and each.board_part is None)
    new = _NEW | _NEW_METRIC if form.own == "mm" else _NEW
    values, opened = dict(new.get(array, {"item": first})), form.opened
    if array == "offcut":
        taken = {row.get("label") for row in changes.tables_at(opened.text, array)}
        values["label"] = next(name for n in count(1) if (name := f"rack {n}") not in taken)
    press(label, lambda: opened.edit(lambda text: add_table(text, (array,), values), label))
