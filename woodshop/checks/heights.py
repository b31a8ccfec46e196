"""Checks how the height of a wall was chosen: the full width of a board, or ripped; and what sugar needs."""

from collections.abc import Iterator

from woodshop.design.batch import Unit
from woodshop.findings import Finding, Severity
from woodshop.hardware.board import Setting
from woodshop.hardware.registry import BoardPart
from woodshop.reference.facts import fact


def check_height(unit: Unit) -> Iterator[Finding]:
    """Reports walls that are ripped to the height needed because every board that is wide enough is much wider."""
    item, setting, board = unit.line.item, unit.line.setting, unit.line.setting.board
    is_rim = item.board_part is BoardPart.RIM
    given = board.height if is_rim else dict(unit.line.given).get("height")
    sides = unit.as_designed.named(*item.place.walls[:1]) if item.place is not None and item.place.walls else ()
    is_chosen = given is None and not board.ripped and board.made_of != "plywood"
    if not sides or not is_chosen or (is_rim and board.made_of != "boards"):
        return
    high = sides[0].part.width
    wider = [width for width in setting.widths if width >= high]
    if not wider or high in wider:
        return
    row = fact("wall.wider_than_needed")
    yield Finding(
        "wall-is-ripped",
        Severity.NOTE,
        unit.line.address,
        f"{setting.say(high)} high, ripped from boards {setting.say(wider[0])} wide",
        f"a board at most {setting.say(row.length_in(setting.unit))} wider than the height needed",
        row.cite,
        "Walls as high as these boards are wide would be far too high, so they are ripped to the height needed. "
        + ("To change that, set height under [board]." if is_rim else "To change that, set height under [[make]]."),
    )


def check_density(setting: Setting, place: str) -> Iterator[Finding]:
    """Reports whether, with a density from a published recipe, the rim would need wider lumber, or another rip."""
    board = setting.board
    if not setting.is_height_chosen:
        return
    if setting.loosest is not None:
        yield from _doubt(setting, place) if setting.is_full_width else ()
        return
    how, risk = "the full width of its boards", "You may need wider lumber. Before you buy, pack"
    if not setting.is_full_width:
        how, risk = "ripped to the height needed", "The rim may be too low. Before you cut, pack"
    low, high = fact("sugar.density.low_rim"), fact("sugar.density.full_board")
    depth_at_low = setting.depth * (board.density.kg_per_litre / low.density.kg_per_litre)
    needed = setting.mesh_top + depth_at_low + board.head_room
    if needed <= setting.height:
        return
    yield Finding(
        "density-decides-lumber",
        Severity.NOTE,
        place,
        f"a rim {setting.say(setting.height)} high, {how}, for sugar of {board.density}",
        f"below {setting.least_density} you need a taller rim; published recipes imply {low.value} to {high.value}",
        f"{low.cite}; {high.cite}",
        f"{risk} a box of known size with damp sugar and weigh it. Enter the damp weight and the inside of the box "
        "under [trial]. Woodshop subtracts the water.",
    )


def _doubt(setting: Setting, place: str) -> Iterator[Finding]:
    """Reports whether a more precise trial might allow a narrower board."""
    needed = setting.mesh_top + setting.depth + setting.board.head_room
    lower = [width for width in setting.widths if needed <= width < setting.height]
    if not lower:
        return
    yield Finding(
        "density-decides-lumber",
        Severity.NOTE,
        place,
        f"a rim {setting.say(setting.height)} high, the full width of its boards, for sugar as loose as "
        f"{setting.loosest}",
        f"at {setting.board.density}, the mean of your trial, {setting.say(min(lower))} is enough",
        "JCGM 100:2008: two standard uncertainties of what was weighed",
        "A more precise trial may allow a narrower board. Pack and weigh the box three more times, or use a larger "
        "box, and enter every weight under [trial].",
    )
