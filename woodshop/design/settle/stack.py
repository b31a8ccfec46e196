"""What of the user's the hardware stands in, settled: boxes with their frames, bottom board, inner cover, cover."""

from dataclasses import dataclass, replace

from woodshop.design.batch import Default
from woodshop.design.contradictions import cover_contradictions
from woodshop.design.design_file import Design, Make
from woodshop.design.settle.box import NATIONAL, height_row
from woodshop.design.tables import HivesTable
from woodshop.errors import InputError, Problem
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Woodenware
from woodshop.hive.woodenware.bottom import BottomBoard
from woodshop.hive.woodenware.box import Frame, HiveBox, frame_for, frame_row
from woodshop.hive.woodenware.cover import Cover, InnerCover
from woodshop.reference.facts import Fact, fact
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import wording_of


@dataclass(frozen=True, slots=True)
class _Asked:
    """One group's table, what the design's makes say of its cover and entrance, and where defaults are listed."""

    table: HivesTable
    design: Design
    where: str
    defaults: list[Default]

    @property
    def makes(self) -> tuple[Make, ...]:
        """What is made for these hives."""
        return tuple(make for make in self.design.makes if not make.hives or self.table.name in make.hives)

    def made(self, kind: TierKind) -> bool:
        """Whether anything is made for these hives that sits there."""
        return any(make.item.place is not None and make.item.place.kind is kind for make in self.makes)

    def given(self, key: str) -> Length | None:
        """What was given under that key for items of these hives. Raises InputError when it is not one value."""
        found = {
            make.item.name: value
            for make in self.makes
            for name, value in make.given
            if name == key and value is not None
        }
        if len(set(found.values())) > 1:
            words = ", ".join(f"{value} for the {item}" for item, value in found.items())
            raise InputError(
                Problem(f"{self.where}, cover_{key}", words, "one cover on these hives", "Give the same for all.")
            )
        return next(iter(found.values()), None)

    def listed(self, name: str, row: Fact) -> Length:
        self.defaults.append(Default(self.where, name, row.value, row.cite))
        return row.length


def cover_settings(table: HivesTable) -> dict[str, Length]:
    """What the hives say of their cover, as the defaults of the items that go under it: "skirt" and "clearance"."""
    found = {}
    if table.cover == "flat":
        found["skirt"] = ZERO
    elif table.cover_skirt is not None:
        found["skirt"] = table.cover_skirt
    if table.cover_clearance is not None:
        found["clearance"] = table.cover_clearance
    return found


def settled_woodenware(table: HivesTable, design: Design, box: HiveBox, defaults: list[Default]) -> Woodenware:
    """What the user has round the hardware; `box` is the top one. Raises InputError for what contradicts itself."""
    asked = _Asked(table, design, table.name or f"{table.frames}-frame hives", defaults)
    found = cover_contradictions(asked.where, table, asked.makes, box)
    if found:
        raise InputError(*found)
    stood = _boxes(asked, box)
    depths = _depths(asked, stood)
    boxes = tuple((each, _frame(asked, each, depth)) for each, depth in zip(stood, depths, strict=True))
    inner = None if table.inner_cover is None else InnerCover(box.length, box.width, table.inner_cover)
    taken = tuple(n for n, depth in enumerate(depths) if depth is None)
    return Woodenware(boxes, _bottom(asked, boxes[0][0]), inner, _cover(asked, box), taken)


def _boxes(asked: _Asked, top: HiveBox) -> tuple[HiveBox, ...]:
    """From the ground up: as given, or so many like the top one."""
    table, heights = asked.table, asked.table.boxes
    if heights is None:
        least = fact("hive.frames_least").number
        row = fact("hive.boxes" if table.frames >= least else "hive.boxes.nucleus")
        asked.defaults.append(Default(asked.where, "boxes", f"{row.value}, {top.height} high", row.cite))
        return (top,) * int(row.number)
    last = _height(asked, heights[-1])
    row = fact("box.maker_tolerance")
    if abs(last - top.height) > (ZERO if table.height is not None else row.length):
        given = f"{heights[-1]} as the last, where the box under the board is {top.height} high"
        wanted = "heights from the ground up; the last is that of the box under the board"
        raise InputError(Problem(f"{asked.where}, boxes", given, wanted, "Correct one of them."))
    return tuple(top if each == heights[-1] else replace(top, height=_height(asked, each, True)) for each in heights)


def _height(asked: _Asked, height: Length | str, is_taken: bool = False) -> Length:
    if isinstance(height, Length):
        return height
    row = height_row(height, asked.table.pattern == NATIONAL)
    if is_taken:
        asked.listed(f"height, {height}", row)
    return row.length


def _depths(asked: _Asked, boxes: tuple[HiveBox, ...]) -> tuple[Length | None, ...]:
    """The frames given for each box, from the ground up: one depth is that of all boxes as high as the top one."""
    given = asked.table.frame_depth
    if not isinstance(given, tuple):
        return tuple(given if box.height == boxes[-1].height else None for box in boxes)
    if len(given) != len(boxes):
        words = f"{len(given)} for {len(boxes)} boxes"
        wanted = "one for each box from the ground up, or one for all boxes as high as the top one"
        raise InputError(Problem(f"{asked.where}, frame_depth", words, wanted, "Measure a frame of each box."))
    return given


def _frame(asked: _Asked, box: HiveBox, depth: Length | None) -> Frame:
    """The frames of a box: as deep as was measured, or as the row nearest that hangs in it."""
    national, wording = asked.table.pattern == NATIONAL, wording_of(asked.design.unit)
    if depth is None:
        depth = asked.listed(f"frame_depth in a box {box.height} high", frame_row(box, national, wording))
    elif depth > box.height:
        wanted = f"frames that hang in a box {box.height} high"
        raise InputError(Problem(f"{asked.where}, frame_depth", str(depth), wanted, "Measure a frame again."))
    return frame_for(box, depth, national, wording)


def _bottom(asked: _Asked, box: HiveBox) -> BottomBoard:
    high = asked.given("entrance_height") or asked.listed("height of the entrance", fact("guard.entrance_height"))
    wide = asked.given("entrance_width")
    if wide is None or wide > box.inside_width:
        wide = box.inside_width
    return BottomBoard(
        box.length, box.width, box.wall, entrance_height=high, entrance_width=wide, screened=asked.made(TierKind.INSERT)
    )


def _cover(asked: _Asked, box: HiveBox) -> Cover:
    """The cover as given for the hives, else as given for what goes under it, else as the rows say."""
    settings, where = cover_settings(asked.table), asked.where
    skirt = settings["skirt"] if "skirt" in settings else asked.given("skirt")
    if asked.table.cover is None and skirt is None:
        asked.defaults.append(Default(where, "cover", "telescoping", "common practice, no source"))
    if skirt is None:
        skirt = asked.listed("cover_skirt", fact("cover.skirt_depth"))
    board = fact("cover.board").length
    if skirt == ZERO:
        return Cover(box.length, box.width, ZERO, board)
    long, wide = (asked.given(key) for key in ("cover_length", "cover_width"))
    if long is not None and wide is not None:
        return Cover(long, wide, skirt, board)
    clearance = settings.get("clearance", asked.given("clearance"))
    if clearance is None:
        clearance = asked.listed("cover_clearance", fact("cover.clearance"))
    return Cover(long or box.length + clearance * 2, wide or box.width + clearance * 2, skirt, board)
