"""Settles the user's woodenware: boxes with their frames, bottom board, inner cover, cover."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from woodshop.design.design_file import Design, Make
from woodshop.design.measured_files import MeasuredBox
from woodshop.design.schema import Default
from woodshop.design.settle.box_sizes import mixed_box, no_body, pattern_of
from woodshop.design.tables import BoxKeys, HivesTable
from woodshop.errors import InputError, Problem
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Woodenware
from woodshop.hive.woodenware.bottom import BottomBoard
from woodshop.hive.woodenware.box import Frame, HiveBox, frame_for, frame_row
from woodshop.hive.woodenware.cover import Cover, InnerCover
from woodshop.reference.facts import Fact, fact
from woodshop.reference.patterns import AMERICAN, HivePattern, PatternSize
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import Wording

_ONE_COVER = "one cover on these hives"
_DO = "Give one of them, or the same for both."


def cover_contradictions(
    where: str, table: BoxKeys, makes: Iterable[Make], box: HiveBox, wording: Wording
) -> list[Problem]:
    """Conflicts between the hives and the items under their cover; `makes` are the items for these hives.

    `where` is put before the place of each problem.
    """
    length = wording.length
    found = []
    flat = table.cover == "flat"
    if flat and (table.cover_skirt is not None or table.cover_clearance is not None):
        wanted = "a telescoping cover, because a flat one has no skirt"
        found.append(Problem(f"{where}, cover", "'flat', with a skirt", wanted, "Remove one of them."))
    on_hives = {"skirt": ZERO if flat else table.cover_skirt, "clearance": table.cover_clearance}
    for make in makes:
        own = {name: value for name, value in make.given if isinstance(value, Length)}
        for name, value in on_hives.items():
            if value is not None and name in own and own[name] != value:
                given = f"{length(value)} for the hives, {length(own[name])} for the {make.item.name}"
                found.append(Problem(f"{where}, cover_{name}", given, _ONE_COVER, _DO))
        if table.cover == "telescoping" and own.get("skirt") == ZERO:
            given = f"'telescoping' for the hives, a skirt of 0 for the {make.item.name}"
            found.append(Problem(f"{where}, cover", given, _ONE_COVER, _DO))
        clearance = own.get("clearance", table.cover_clearance)
        for name, side in (("cover_length", box.length), ("cover_width", box.width)):
            if clearance is not None and name in own and own[name] != side + clearance * 2:
                given = f"{length(own[name])}, with {length(clearance)} of clearance at each side of {length(side)}"
                wanted = f"{length(side + clearance * 2)}, or no clearance: {_ONE_COVER}"
                found.append(Problem(f"{where}, {name} of the {make.item.name}", given, wanted, _DO))
    return found


def rim_size(table: HivesTable, box: HiveBox, defaults: list[Default], wording: Wording) -> tuple[Length, Length]:
    """The given outside length and width of rims, quilt boxes and feeding shims, or the sizes of the box."""
    where = table.name or f"{table.frames}-frame hives"
    sizes = []
    for key, given, own in (("rim_length", table.rim_length, box.length), ("rim_width", table.rim_width, box.width)):
        made = wording.made(own)
        if given is None:
            why = "same as the box" if made == own else f"the box, {wording.length(own)}, in whole millimeters"
            defaults.append(Default(where, key, wording.length(made), why))
        sizes.append(given or made)
    return sizes[0], sizes[1]


@dataclass(frozen=True, slots=True)
class _Asked:
    """One group's table, the cover and entrance settings of its items, and the list of defaults."""

    table: HivesTable
    design: Design
    where: str
    defaults: list[Default]
    wording: Wording
    pattern: HivePattern
    measured: MeasuredBox | None = None

    @property
    def makes(self) -> tuple[Make, ...]:
        """The items made for these hives."""
        return tuple(make for make in self.design.makes if not make.hives or self.table.name in make.hives)

    def made(self, kind: TierKind) -> bool:
        """Whether any item for this tier is made for these hives."""
        return any(make.item.place is not None and make.item.place.kind is kind for make in self.makes)

    def given(self, key: str) -> Length | None:
        """The value of this key for items of these hives. Raises InputError if there is more than one value."""
        found = {
            make.item.name: value
            for make in self.makes
            for name, value in make.given
            if name == key and value is not None
        }
        if len(set(found.values())) > 1:
            words = ", ".join(f"{self.wording.length(value)} for the {item}" for item, value in found.items())
            raise InputError(
                Problem(f"{self.where}, cover_{key}", words, "one cover on these hives", "Give the same for all.")
            )
        return next(iter(found.values()), None)

    def listed(self, name: str, row: Fact | PatternSize) -> Length:
        value, length = row.value, row.length
        if isinstance(row, Fact):
            value, length = row.value_in(self.wording.unit), row.length_in(self.wording.unit)
        if row.cite:
            self.defaults.append(Default(self.where, name, value, row.cite))
        return length


def cover_settings(table: HivesTable) -> dict[str, Length]:
    """The cover settings of the hives ("skirt" and "clearance"), as defaults for the items under the cover."""
    found = {}
    if table.cover == "flat":
        found["skirt"] = ZERO
    elif table.cover_skirt is not None:
        found["skirt"] = table.cover_skirt
    if table.cover_clearance is not None:
        found["clearance"] = table.cover_clearance
    return found


def settled_woodenware(
    table: HivesTable,
    design: Design,
    box: HiveBox,
    defaults: list[Default],
    wording: Wording,
    measured: MeasuredBox | None = None,
) -> Woodenware:
    """The user's parts around the hardware; `box` is the top box, and `measured` its owner's sizes.

    Raises InputError for conflicts.
    """
    where = table.name or f"{table.frames}-frame hives"
    asked = _Asked(table, design, where, defaults, wording, pattern_of(table, design.patterns, where), measured)
    found = cover_contradictions(asked.where, table, asked.makes, box, wording)
    if found:
        raise InputError(*found)
    if table.body:
        boxes, depths = _mixed(asked, box)
    else:
        stood = _boxes(asked, box)
        depths = _depths(asked, stood)
        boxes = tuple(
            (each, _frame(asked, each, depth, asked.pattern)) for each, depth in zip(stood, depths, strict=True)
        )
    inner = None if table.inner_cover is None else InnerCover(box.length, box.width, table.inner_cover)
    defaulted = tuple(n for n, depth in enumerate(depths) if depth is None)
    return Woodenware(boxes, _bottom(asked, boxes[0][0]), inner, _cover(asked, box), defaulted)


def _mixed(asked: _Asked, top: HiveBox) -> tuple[tuple[tuple[HiveBox, Frame], ...], tuple[Length | None, ...]]:
    """The boxes of hives with mixed boxes, bottom box first, each with its own frames; and the depths that were given.

    Raises InputError if `boxes` or `frame_depth` is given too.
    """
    table, found = asked.table, []
    for key in ("boxes", "frame_depth", "height"):
        if getattr(table, key) is not None:
            wanted = f"[[hives.body]] alone, which has the {'height' if key == 'boxes' else key} of each box"
            raise InputError(
                Problem(f"{asked.where}, {key}", f"{key} and [[hives.body]]", wanted, "Remove one of them.")
            )
    for n, body in enumerate(table.body):
        box = top
        if n < len(table.body) - 1:
            box, _ = mixed_box(table, n, asked.measured, asked.defaults, asked.wording, asked.design.patterns)
        named = table.model_copy(update={"pattern": body.pattern or table.pattern})
        pattern = pattern_of(named, asked.design.patterns, asked.where)
        found.append((box, _frame(asked, box, body.frame_depth, pattern)))
    return tuple(found), tuple(body.frame_depth for body in table.body)


def _boxes(asked: _Asked, top: HiveBox) -> tuple[HiveBox, ...]:
    """The boxes, bottom box first: the given boxes, or copies of the top box."""
    table, heights = asked.table, asked.table.boxes
    if heights is None:
        least = fact("hive.frames_least").number
        usual = asked.pattern.row("boxes") or fact("hive.boxes")
        row = usual if table.frames >= least else fact("hive.boxes.nucleus")
        asked.defaults.append(
            Default(asked.where, "boxes", f"{row.value}, {asked.wording.length(top.height)} high", row.cite)
        )
        return (top,) * int(row.number)
    last = _height(asked, heights[-1])
    row = fact("box.maker_tolerance")
    if abs(last - top.height) > (ZERO if table.height is not None else row.length):
        high = asked.wording.length
        named = heights[-1] if isinstance(heights[-1], str) else high(heights[-1])
        given = f"{named} as the last, though the box under the board is {high(top.height)} high"
        wanted = "box heights, bottom box first; the last is the box under the board"
        raise InputError(Problem(f"{asked.where}, boxes", given, wanted, "Correct one of them."))
    return tuple(top if each == heights[-1] else replace(top, height=_height(asked, each, True)) for each in heights)


def _height(asked: _Asked, height: Length | str, is_taken: bool = False) -> Length:
    if isinstance(height, Length):
        return height
    size = asked.pattern.size(f"height_{height}")
    if size is None:
        raise InputError(no_body(asked.pattern, height, f"{asked.where}, boxes"))
    if is_taken:
        asked.listed(f"height, {height}", size)
    return size.length


def _depths(asked: _Asked, boxes: tuple[HiveBox, ...]) -> tuple[Length | None, ...]:
    """The frame depth of each box, bottom box first. A single depth applies to boxes as high as the top box."""
    given = asked.table.frame_depth
    if not isinstance(given, tuple):
        return tuple(given if box.height == boxes[-1].height else None for box in boxes)
    if len(given) != len(boxes):
        words = f"{len(given)} for {len(boxes)} boxes"
        wanted = "one for each box, bottom box first, or one for all boxes as high as the top box"
        raise InputError(Problem(f"{asked.where}, frame_depth", words, wanted, "Measure a frame of each box."))
    return given


def _frame(asked: _Asked, box: HiveBox, depth: Length | None, pattern: HivePattern) -> Frame:
    """The frames of a box: as deep as measured or, if not measured, the deepest published ones that fit."""
    if depth is None:
        depth = asked.listed(
            f"frame_depth in a box {asked.wording.length(box.height)} high",
            frame_row(box, pattern, asked.wording),
        )
    elif depth > box.height:
        length = asked.wording.length
        wanted = f"frames that fit in a box {length(box.height)} high"
        raise InputError(Problem(f"{asked.where}, frame_depth", length(depth), wanted, "Measure a frame again."))
    return frame_for(box, depth, pattern, asked.wording)


def _bottom(asked: _Asked, box: HiveBox) -> BottomBoard:
    high = asked.given("entrance_height") or asked.listed(
        "height of the entrance (set for the mouse guard)", fact("guard.entrance_height")
    )
    wide = asked.given("entrance_width")
    if wide is None or wide > box.inside_width:
        wide = box.inside_width
    return BottomBoard(
        box.length, box.width, box.wall, entrance_height=high, entrance_width=wide, screened=asked.made(TierKind.INSERT)
    )


def _cover(asked: _Asked, box: HiveBox) -> Cover:
    """The cover as given for the hives or for the items under it, or the default cover."""
    settings, where = cover_settings(asked.table), asked.where
    skirt = settings["skirt"] if "skirt" in settings else asked.given("skirt")
    is_foreign = asked.pattern.name != AMERICAN
    assumed: tuple[str, ...] = ("skirt",) if is_foreign and skirt is None else ()
    if assumed:
        why = f"no two sources for a cover of the {asked.pattern.name} pattern: cover, cover_skirt and cover_clearance"
        words = "telescoping, of an American hive - NOT MEASURED"
        asked.defaults.append(Default(where, "cover", words, f"common practice, no source ({why})"))
    elif asked.table.cover is None and skirt is None:
        asked.defaults.append(Default(where, "cover", "telescoping", "common practice, no source"))
    if skirt is None:
        skirt = asked.listed("cover_skirt", fact("cover.skirt_depth"))
    board = fact("cover.board").length
    if skirt == ZERO:
        return Cover(box.length, box.width, ZERO, board)
    long, wide = (asked.given(key) for key in ("cover_length", "cover_width"))
    if long is not None and wide is not None:
        return Cover(long, wide, skirt, board, assumed)
    clearance = settings.get("clearance", asked.given("clearance"))
    if clearance is None:
        clearance = asked.listed("cover_clearance", fact("cover.clearance"))
        assumed += ("clearance",) if is_foreign else ()
    return Cover(long or box.length + clearance * 2, wide or box.width + clearance * 2, skirt, board, assumed)
