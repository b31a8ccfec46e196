"""What lines of a design would mend a finding: worked out so that all hives of the batch bear the change.

A setting of the board is shared by all boards, and a setting of an item by all that is made of it: what is proposed
for one group of hives must do for the others.
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
from woodshop.units.lengths import ZERO, Length, inch
from woodshop.units.wording import LengthUnit, Wording

Remedy = tuple[tuple[str, str], ...]
_SIXTEENTH = inch("1/16")


@dataclass(frozen=True, slots=True)
class CheckContext:
    """All that a remedy must do for: every group of hives, the limits, and how quantities are printed."""

    groups: tuple[HiveGroup, ...]
    limits: BeeSpace
    wording: Wording
    fits: Callable[[Setting], None]

    def say(self, length: Length) -> str:
        """A length as people read it in the unit of the design."""
        return self.wording.length(length)

    @property
    def unit(self) -> LengthUnit:
        """The unit of the design."""
        return self.wording.unit

    @property
    def boards(self) -> tuple[tuple[HiveGroup, Setting], ...]:
        """Each group that a board is made for, with the board's setting."""
        found = []
        for group in self.groups:
            board = of_board(group.units, BoardPart.RIM) or of_board(group.units, BoardPart.FLOOR)
            if board is not None:
                found.append((group, board.line.setting))
        return tuple(found)


def given(value: Length, unit: LengthUnit) -> str:
    """A length on the marks of the tape as it stands in a design file of that unit.

    >>> given(inch("7/16"), "in"), given(inch("1/4"), "mm")
    ('"7/16"', '"6.35"')
    """
    return f'"{value.number(unit)}"'


def hives_key(group: HiveGroup, key: str) -> str:
    """The path of a key of these hives."""
    return f"hives.{group.hives.name}.{key}" if group.hives.name else f"hives.{key}"


def holds_mesh(group: HiveGroup, setting: Setting, whole: CheckContext, thickness: Length | None = None) -> bool:
    """Whether bees have their room over the bars at every gap of these hives, were the board so and strips so thick.

    `thickness` left out, strips are as they are given, and worked out for the board where they are not. A mesh without
    strips is taken as it hangs empty.
    """
    strips = of_board(group.units, BoardPart.STRIPS)
    if strips is None:
        gaps = [gap for gap, _ in group.measured]
        return min(gaps) + max(setting.mesh_low, ZERO) >= whole.limits.mesh_least
    state = _with_strips_of(strips, setting, {} if thickness is None else {"thickness": thickness})
    return state is not None and state.nearest.over_bars(state.limit) >= whole.limits.mesh_least


def _with_strips_of(strips: Unit, setting: Setting, changed: dict[str, Any]) -> MeshState | None:
    """The mesh over strips made anew for that board with some of their settings changed; None where none can be."""
    try:
        made = strips.line.item.make(setting, **(dict(strips.line.given) | changed))
    except InputError:
        return None
    return made_state(strips, setting, made)


def worked_out_strips(whole: CheckContext, *names: str) -> Remedy:
    """Leave these settings of the strips out, where what is worked out then holds the mesh of all hives; else nothing.

    Of a setting that is not given there is nothing to leave out.
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
    """Strips for these hives, all as they come; nothing where those cannot be made, would not hold the mesh, or
    leave it too near the bars once it has come to rest on them."""
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
    """A thickness of strips that lifts no mesh of these hives, inside the limits of all where it can be.

    None where that is too thin to cut.
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
    """Whether strips of some of these hives would lift a mesh that lies in a rabbet or groove so high."""
    for group, setting in whole.boards:
        low = max(rise - setting.mesh.wire * 2, ZERO)
        if any(strip.thickness > gap + low for gap, each in group.measured for strip in each.strips):
            return True
    return False


def proud_of(measured: MeasuredHive) -> Length:
    """How far strips hold the board off the walls of the box."""
    lifted = [s.lifted for s in measured.seats if s.tier == "board" and "strip" in s.lifted_by]
    return max(lifted, default=ZERO)


def mesh_at(whole: CheckContext, strips: Length = ZERO) -> tuple[Length, Remedy] | None:
    """The least rabbet or groove that gives every lane its room, and strips so thick theirs; and the lines for it.

    None where none does for all of these hives, or where the board cannot be made so.
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
    """The step of what is proposed: a sixteenth where the tape has it, else the tape's own mark."""
    return _SIXTEENTH if (_SIXTEENTH / mark).denominator == 1 else mark


def _mounted(whole: CheckContext, rise: Length, strips: Length) -> Remedy | None:
    """Lines that put the mesh at a height above the rim's edge: in its rabbet, or in its groove."""
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
    """What else must change once the mesh lies higher: an entrance that was set low, and the height of the rim."""
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
    """The least height of the rim that leaves wood over its entrance, and the entrance clear of the cover's skirt."""
    top = setting.notch_rise + setting.board.notch_height
    least = top + fact("rim.wood_over_notch").length
    was = (of_board(group.units, BoardPart.RIM) or next(iter(group.units.values()))).line.setting
    for _, each in group.measured:
        if each.notch is not None:
            # Sugar that stands proud of the rim holds the cover up; in a taller rim it does not.
            held_up = max((gap.least for gap in each.gaps if _on_the_rim(gap)), default=ZERO)
            skirt = was.notch_rise + was.board.notch_height + each.notch.clear - max(held_up, ZERO)
            least = max(least, was.height + top - skirt)
    return least


def _on_the_rim(gap: Gap) -> bool:
    """Whether it is where cover, spacers or inner cover stand on the walls under them."""
    return gap.name in (GapName.COVER_ON_WALL, GapName.SPACER_ON_WALL) or gap.place.startswith("inner cover on board")


def taller_rim(whole: CheckContext) -> Remedy:
    """A rim so high that no skirt hangs before an entrance, on all of these hives."""
    heights = [max(setting.height, over_notch(group, setting)) for group, setting in whole.boards]
    mark = whole.boards[0][1].mark
    return (("board.height", given(max(heights).up_to(mark), whole.unit)),)


def higher_rim(whole: CheckContext) -> Remedy:
    """A rim that leaves head room over the sugar of all these boards; nothing where no board is made."""
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
    """An entrance where it is put unasked, with `free`, in a rim high enough for it on all of these hives."""
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
    """A quilt box in which holes bored halfway between shavings and skirt clear both, and `hidden` more of skirt.

    Holes rise by half of what the box is made taller, and lie up to a mark lower for the mark they are bored on. It
    does for every quilt box of the batch, for all are made by one setting.
    """
    mark = unit.line.setting.mark
    quilts = [quilt for each in whole.groups if (quilt := in_tier(each.units, TierKind.TOP_BOX)) is not None]
    heights = [unit.assembly.named("side")[0].box.size(2) + (hidden + mark) * 2 if hidden else ZERO]
    for each in quilts:
        settings = dict(each.line.given)
        heights.append(settings["shavings"] + settings["skirt"] + settings["hole"] + mark * 2)
    return max(heights).up_to(mark)
