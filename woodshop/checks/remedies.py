"""Remedies: the design lines that fix a finding, calculated to suit all hives of the batch.

All fondant boards share one set of settings, and so do all units of an item. A remedy for one group of hives must
therefore suit the others.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from woodshop.checks.hives import HiveGroup, MeasuredHive
from woodshop.checks.mesh_state import MeshState, made_state
from woodshop.design.batch import Unit, in_tier, of_board
from woodshop.errors import InputError
from woodshop.hardware.board import BoardSettings, Setting
from woodshop.hardware.catalogue import board_names, find_item
from woodshop.hardware.items.spacer_strips import finest, usual_width
from woodshop.hardware.registry import BoardPart
from woodshop.hive.gaps.faces import Gap, GapName
from woodshop.hive.gaps.grading import BeeSpace
from woodshop.hive.stacking.place import TierKind
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length, decimals, inch
from woodshop.units.wording import LengthUnit, Wording

Remedy = tuple[tuple[str, str], ...]
_SIXTEENTH = inch("1/16")


@dataclass(frozen=True, slots=True)
class CheckContext:
    """The data for remedies: every group of hives, the limits, the wording of quantities, and a test of fit."""

    groups: tuple[HiveGroup, ...]
    limits: BeeSpace
    wording: Wording
    fits: Callable[[Setting], None]

    def say(self, length: Length) -> str:
        """A length as text."""
        return self.wording.length(length)

    @property
    def unit(self) -> LengthUnit:
        """The unit of the design."""
        return self.wording.unit

    @property
    def boards(self) -> tuple[tuple[HiveGroup, Setting], ...]:
        """Each hive group that gets a board, with the board's setting."""
        found = []
        for group in self.groups:
            board = of_board(group.units, BoardPart.RIM) or of_board(group.units, BoardPart.FLOOR)
            if board is not None:
                found.append((group, board.line.setting))
        return tuple(found)


def given(value: Length, unit: LengthUnit) -> str:
    """A length as text for a design file in this unit, in quotation marks; in millimeters to a hundredth.

    >>> given(inch("7/16"), "in"), given(inch("1/4"), "mm")
    ('"7/16"', '"6.35"')
    """
    return f'"{decimals(value.mm, 2) if unit == "mm" else value.number(unit)}"'


def hives_key(group: HiveGroup, key: str) -> str:
    """The path in the design file to a setting of these hives."""
    return f"hives.{group.hives.name}.{key}" if group.hives.name else f"hives.{key}"


def holds_mesh(group: HiveGroup, setting: Setting, whole: CheckContext, thickness: Length | None = None) -> bool:
    """Whether bees have enough space over the bars at every top-bar gap of these hives, with this board and strips.

    If `thickness` is None, strips keep their given or calculated thickness. Mesh without strips is checked without its
    load.
    """
    strips = of_board(group.units, BoardPart.STRIPS)
    if strips is None:
        gaps = [gap for gap, _ in group.measured]
        return min(gaps) + max(setting.mesh_low, ZERO) >= whole.limits.mesh_least
    state = _with_strips_of(strips, setting, {} if thickness is None else {"thickness": thickness})
    return state is not None and state.nearest.over_bars(state.limit) >= whole.limits.mesh_least


def _with_strips_of(strips: Unit, setting: Setting, changed: dict[str, Any]) -> MeshState | None:
    """The mesh over strips remade for this board with some settings changed, or None if they cannot be made."""
    try:
        made = strips.line.item.make(setting, **(dict(strips.line.given) | changed))
    except InputError:
        return None
    return made_state(strips, setting, made)


def worked_out_strips(whole: CheckContext, *names: str) -> Remedy:
    """Lines that remove these settings of the strips, if the calculated values then support the mesh in all hives.

    Settings that are not given get no line.
    """
    lines: dict[str, str] = {}
    for group in whole.groups:
        strips = of_board(group.units, BoardPart.STRIPS)
        if strips is None:
            continue
        given = dict(strips.line.given)
        out = [name for name in names if given[name] is not None]
        state = _with_strips_of(strips, strips.line.setting, dict.fromkeys(names))
        if state is None or state.is_over or state.nearest.over_bars(state.limit) < whole.limits.mesh_least:
            return ()
        lines |= {f"make.{strips.line.item.name}.{name}": "" for name in out}
    return tuple(lines.items())


def new_strips(group: HiveGroup, whole: CheckContext) -> Remedy:
    """New strips with default settings for these hives, or nothing if that would not help.

    It would not help if the strips cannot be made, would not support the mesh, or would leave it too close to the bars.
    """
    floor = of_board(group.units, BoardPart.FLOOR)
    assert floor is not None, "only a wire bottom sags"
    limit, play = (fact(f"strip.{name}").length_in(whole.unit) for name in ("sag_limit", "play"))
    width = usual_width(floor.line.setting.wood)
    given = {"number": None, "width": width, "thickness": None, "sag": limit, "play": play}
    line = replace(floor.line, item=find_item(board_names(BoardPart.STRIPS)[0]), given=tuple(given.items()))
    state = _with_strips_of(replace(floor, line=line), floor.line.setting, {})
    if state is None or state.is_over or state.nearest.over_bars(limit) < whole.limits.mesh_least:
        return ()
    name = group.hives.name
    return ((f"make.{line.item.name}", f'{{ hives = ["{name}"] }}' if name else "{}"),)


def thinner_strips(whole: CheckContext) -> Length | None:
    """A strip thickness that does not lift the board of any hive, within all limits if possible.

    Returns None if the strips would be too thin to cut.
    """
    least = []
    for group in whole.groups:
        strips = of_board(group.units, BoardPart.STRIPS)
        if strips is None:
            continue
        setting = strips.line.setting
        state = _with_strips_of(strips, setting, {"thickness": None})
        for each in (each for _, each in group.measured if each.strips):
            most = (max(s.thickness for s in each.strips) - proud_of(each)).down_to(finest(setting))
            aimed = None if state is None else state.thickness
            least.append(most if aimed is None else min(most, aimed))
    thin = min(least, default=ZERO)
    return thin if thin >= _SIXTEENTH else None


def too_thick_at(whole: CheckContext, rise: Length) -> bool:
    """Whether the strips of any hive would lift mesh that is in a rabbet or groove at this height."""
    for group, setting in whole.boards:
        low = max(rise - setting.mesh.wire * 2, ZERO)
        if any(strip.thickness > gap + low for gap, each in group.measured for strip in each.strips):
            return True
    return False


def proud_of(measured: MeasuredHive) -> Length:
    """How far the strips lift the fondant board off the walls of the box."""
    lifted = [s.lifted for s in measured.seats if s.tier == "board" and "strip" in s.lifted_by]
    return max(lifted, default=ZERO)


def mesh_at(whole: CheckContext, strips: Length = ZERO) -> tuple[Length, Remedy] | None:
    """The lowest rabbet or groove that leaves enough space for bees and strips, and the design lines for it.

    Returns None if no height suits all these hives, or if the board cannot be made.
    """
    boards = whole.boards
    if not boards:
        return None
    rise = step = _step(boards[0][1].mark)
    while rise <= inch(1):
        lines = _mounted(whole, rise, strips)
        if lines is not None:
            return rise, lines
        rise = rise + step
    return None


def _step(mark: Length) -> Length:
    """The step between proposed heights: 1/16 in if that is a whole number of marks, otherwise one mark of the tape."""
    return _SIXTEENTH if (_SIXTEENTH / mark).denominator == 1 else mark


def _mounted(whole: CheckContext, rise: Length, strips: Length) -> Remedy | None:
    """The design lines that put the mesh in a rabbet or groove at this height above the lower edge of the rim.

    Returns None if the height does not suit all hives.
    """
    groove = all(setting.board.mounting == "saw groove" for _, setting in whole.boards)
    key = "groove_height" if groove else "rabbet_height"
    least = inch("1/8") if groove else inch("3/32")
    if rise < least:
        return None
    for group, setting in whole.boards:
        board = _raised(setting.board, groove, rise)
        low = replace(setting, board=board).mesh_low
        if low < ZERO:
            return None
        gaps = [gap for gap, _ in group.measured]
        if (
            min(gaps) + low < strips
            or max(gaps) + low > whole.limits.most
            or not holds_mesh(group, replace(setting, board=board), whole, strips or None)
        ):
            return None
    lines: list[tuple[str, str]] = [] if groove else [("board.mounting", '"flush rabbet"')]
    lines.append((f"board.{key}", given(rise, whole.unit)))
    more = _room_above(whole, groove, rise)
    return None if more is None else (*lines, *more)


def _raised(board: BoardSettings, groove: bool, rise: Length) -> BoardSettings:
    if groove:
        return replace(board, groove_height=rise)
    return replace(board, mounting="flush rabbet", rabbet_height=rise)


def _room_above(whole: CheckContext, groove: bool, rise: Length) -> Remedy | None:
    """The other lines that a higher mesh requires: for an entrance at a given height, and for the height of the rim."""
    free = any(setting.board.notch_rise is not None for _, setting in whole.boards)
    lines: list[tuple[str, str]] = [("board.notch_rise", "")] if free else []
    heights: list[Length] = []
    for group, setting in whole.boards:
        board = replace(_raised(setting.board, groove, rise), notch_rise=None)
        new = replace(setting, board=board)
        try:
            whole.fits(new)
            height = new.height
        except InputError:
            return None
        needed = max(new.needed_height, over_notch(group, new))
        if height < needed:
            if board.made_of == "box on hand":
                return None
            heights.append(needed.up_to(setting.mark))
    if heights:
        lines.append(("board.height", given(max(heights), whole.unit)))
    return tuple(lines)


def over_notch(group: HiveGroup, setting: Setting) -> Length:
    """The minimum height of a rim with enough wood over its entrance, and no skirt of the cover in front of it."""
    top = setting.notch_rise + setting.board.notch_height
    least = top + fact("rim.wood_over_notch").length
    was = (of_board(group.units, BoardPart.RIM) or next(iter(group.units.values()))).line.setting
    for _, each in group.measured:
        if each.notch is not None:
            # Sugar above the rim holds the cover up; in a taller rim it does not.
            held_up = max((gap.least for gap in each.gaps if _on_the_rim(gap)), default=ZERO)
            skirt = was.notch_rise + was.board.notch_height + each.notch.clear - max(held_up, ZERO)
            least = max(least, was.height + top - skirt)
    return least


def _on_the_rim(gap: Gap) -> bool:
    """Whether the gap is where the cover, the spacers or the inner cover should rest on the walls below."""
    return gap.name in (GapName.COVER_ON_WALL, GapName.SPACER_ON_WALL) or gap.place.startswith("inner cover on board")


def taller_rim(whole: CheckContext) -> Remedy:
    """The design line for a rim that is tall enough to keep the skirt clear of the entrance on these hives."""
    heights = [max(setting.height, over_notch(group, setting)) for group, setting in whole.boards]
    mark = whole.boards[0][1].mark
    return (("board.height", given(max(heights).up_to(mark), whole.unit)),)


def higher_rim(whole: CheckContext) -> Remedy:
    """The design line for a rim with head room over the sugar of every board, if any board is made."""
    room = fact("rim.head_room").length
    heights = [
        max(
            setting.height,
            setting.mesh_top + setting.depth + max(setting.board.head_room, room),
            over_notch(g, setting),
        )
        for g, setting in whole.boards
    ]
    if not heights:
        return ()
    return (("board.height", given(max(heights).up_to(whole.boards[0][1].mark), whole.unit)),)


def notch_room(whole: CheckContext, mark: Length, free: bool = True) -> Remedy:
    """The lines for a rim tall enough for the entrance on all these hives.

    If `free` is true, the entrance gets its default height. `mark` is the mark of the tape.
    """
    lines: list[tuple[str, str]] = [("board.notch_rise", "")] if free else []
    heights = []
    for group, setting in whole.boards:
        new = replace(setting, board=replace(setting.board, notch_rise=None)) if free else setting
        if new.height < (needed := over_notch(group, new)):
            heights.append(max(new.needed_height, needed))
    if heights:
        lines.append(("board.height", given(max(heights).up_to(mark), whole.unit)))
    return tuple(lines)


def quilt_height(whole: CheckContext, unit: Unit, hidden: Length = ZERO) -> Length:
    """The height of a quilt box that keeps its vent holes clear of the shavings and the skirt.

    `hidden` is how much of a hole the skirt hides now. The holes are halfway between shavings and skirt, so they rise
    by half of the added height, and they can be one mark lower because they are bored on a mark. The height suits every
    quilt box of the batch, because all share one setting.
    """
    mark = unit.line.setting.mark
    quilts = [quilt for each in whole.groups if (quilt := in_tier(each.units, TierKind.TOP_BOX)) is not None]
    heights = [unit.assembly.named("side")[0].box.size(2) + (hidden + mark) * 2 if hidden else ZERO]
    for each in quilts:
        settings = dict(each.line.given)
        heights.append(settings["shavings"] + settings["skirt"] + settings["hole"] + mark * 2)
    return max(heights).up_to(mark)
