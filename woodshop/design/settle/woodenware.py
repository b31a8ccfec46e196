"""Settles the user's woodenware: boxes with their frames, bottom board, inner cover, cover."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from woodshop.design.design_file import Design, Make
from woodshop.design.measured_files import MeasuredBox
from woodshop.design.schema import Default
from woodshop.design.tables import BoxKeys, HivesTable
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Woodenware
from woodshop.hive.woodenware.bottom import BottomBoard
from woodshop.hive.woodenware.box import Frame, HiveBox, bar_of, frame_for, frame_row
from woodshop.hive.woodenware.cover import Cover, InnerCover
from woodshop.reference import boxes
from woodshop.reference.facts import Fact, fact, group
from woodshop.reference.patterns import AMERICAN, MEASURES, NATIONAL, HivePattern, PatternSize, patterns
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import Wording, nearest

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


def measured_contradictions(
    where: str, table: BoxKeys, measured: MeasuredBox | None, nominal: Length | None, wording: Wording
) -> list[Problem]:
    """Sizes in the design that conflict with the measured sizes; `where` is put before the place of each problem.

    `nominal` is the nominal height of a named size.
    """
    if measured is None:
        return []
    found = []
    mark, length = wording.mark, wording.length
    off = max(measured.spread, mark)
    height = table.height if isinstance(table.height, Length) else None
    for key, given in (("width", table.width), ("length", table.length), ("wall", table.wall), ("height", height)):
        size: Length | None = getattr(measured, key)
        if given is not None and size is not None and abs(given - size) > off:
            found.append(_not_measured(where, key, length(given), wording.on_tape(size), measured))
    if (
        nominal is not None
        and measured.height is not None
        and abs(nominal - measured.height) > max(off, fact("box.maker_tolerance").length)
    ):
        given_words = f"{table.height}, {length(nominal)} high"
        found.append(_not_measured(where, "height", given_words, length(measured.height.up_to(mark)), measured))
    gaps = table.gap if isinstance(table.gap, tuple) else () if table.gap is None else (table.gap,)
    if gaps and set(gaps) != set(measured.gaps):
        words = [", ".join(map(length, each)) for each in (gaps, measured.gaps)]
        found.append(_not_measured(where, "gap", words[0], words[1], measured))
    return found


def _not_measured(where: str, key: str, given: str, wanted: str, measured: MeasuredBox) -> Problem:
    wanted = f"{wanted}, as measured for {measured.name!r}"
    return Problem(f"{where}, {key}", given, wanted, "Remove the line, or correct the measured-box file.")


def pattern_of(table: BoxKeys, own: Sequence[HivePattern], where: str) -> HivePattern:
    """The pattern of these hives: one of the design's `own`, or a published one.

    `where` names the hives in the message. Raises InputError for another name.
    """
    known = {pattern.name: pattern for pattern in (*patterns(), *own)}
    if table.pattern in known:
        return known[table.pattern]
    names = ", ".join(known)
    do = did_you_mean(table.pattern, known, "Or describe your boxes in a [[pattern]]. See: woodshop patterns.")
    raise InputError(Problem(f"{where}, pattern", repr(table.pattern), f"one of {names}", do))


def settled_box(
    table: HivesTable,
    measured: MeasuredBox | None,
    defaults: list[Default],
    wording: Wording,
    own: Sequence[HivePattern] = (),
) -> tuple[HiveBox, tuple[Length, ...]]:
    """The box and the measured gaps over its top bars; if there are none, the default was used.

    `own` are the patterns that the design describes. Sizes in the design must be within the measured range. Measured
    sizes override the table. Averages are rounded to the nearest mark on the tape. Raises InputError if the frames do
    not fit in the box, or for all sizes that neither the design nor the pattern has.
    """
    where = table.name or f"{table.frames}-frame hives"
    pattern = pattern_of(table, own, where)
    sizes = _Sizes(table, measured, where, pattern=pattern, defaults=defaults, wording=wording)
    nominal = sizes.nominal(table.height).length if isinstance(table.height, str) else None
    found = measured_contradictions(where, table, measured, nominal, wording)
    if found:
        raise InputError(*found)
    width, length, wall = sizes.width(), sizes.length(), sizes.wall()
    gaps = table.gap if isinstance(table.gap, tuple) else () if table.gap is None else (table.gap,)
    if not gaps and measured is not None:
        gaps = measured.gaps
    gap = sizes.gap(gaps, _is_at_bottom(table, gaps, sizes))
    end_wall = sizes.end_wall_of(length)
    rest = sizes.rest(length - end_wall * 2)
    height = sizes.height()
    sizes.ask_for_frames()
    if sizes.missing:
        raise InputError(sizes.request())
    box = HiveBox(
        _name(table, width, wording),
        table.frames,
        length,
        width=width,
        height=height,
        wall=wall,
        gap=min(gaps) if gaps else gap,
        rest=rest,
        bar=bar_of(pattern),
        inner=end_wall - wall,
    )
    if pattern.name == AMERICAN and "pattern" not in table.model_fields_set:
        _is_american(table, box, where, wording)
    _sane(box, pattern, where, wording)
    return box, gaps


def _is_at_bottom(table: HivesTable, gaps: tuple[Length, ...], sizes: "_Sizes") -> bool:
    """Whether the top bars are level with the top of the box, so that the bee space is below the frames."""
    if table.bee_space is None:
        side = sizes.pattern.bee_space
        sizes.defaults.append(Default(sizes.where, "bee_space", side, f"from the {table.pattern} pattern"))
        return side == "bottom"
    least = fact("bee_space.tightest")
    if table.bee_space == "bottom" and gaps and min(gaps) >= least.length:
        given = f"'bottom', with a gap of {sizes.wording.length(min(gaps))} over the top bars"
        wanted = 'bars level with the box edge, or bee_space = "top"'
        raise InputError(Problem(f"{sizes.where}, bee_space", given, wanted, "Check where the space is."))
    return table.bee_space == "bottom"


def rim_size(table: HivesTable, box: HiveBox, defaults: list[Default], wording: Wording) -> tuple[Length, Length]:
    """The given outside length and width of rims, quilt boxes and feeding shims, or the sizes of the box."""
    where = table.name or f"{table.frames}-frame hives"
    sizes = []
    for key, given, own in (("rim_length", table.rim_length, box.length), ("rim_width", table.rim_width, box.width)):
        if given is None:
            defaults.append(Default(where, key, wording.length(own), "same as the box"))
        sizes.append(given or own)
    return sizes[0], sizes[1]


def _name(table: HivesTable, width: Length, wording: Wording) -> str:
    """The name of the box: the inches in its trade name, or its measured size in the unit of the design."""
    if table.pattern != AMERICAN:
        return f"{table.pattern} {table.frames}-frame"
    known = table.frames in boxes.FRAMES and width in boxes.box_widths(table.frames)
    if known:
        return f"{table.frames}-frame {width.number()}"
    size = width.text("mm") if wording.unit == "mm" else width.number()
    return f"{table.frames}-frame {size} measured"


_ASKED = dict(MEASURES) | {
    "width": "outside width of a box with that many frames",
    "gap": "from a straightedge across the box down to the top bars; goes under [[hives]]",
    "height": "height of a box",
    "frame_depth": "from the top of a frame's top bar to its lower edge",
}


class _Sizes:
    """Finds the source of each size of a box, lists the defaults that are used, and the sizes that are `missing`.

    A missing size is 0 until `request` asks for it.
    """

    def __init__(
        self,
        table: HivesTable,
        measured: MeasuredBox | None,
        where: str,
        *,
        pattern: HivePattern,
        defaults: list[Default],
        wording: Wording,
    ) -> None:
        self.table, self.measured, self.where, self.defaults, self.wording = table, measured, where, defaults, wording
        self.pattern, self.missing = pattern, dict[str, None]()
        self._needed: dict[str, Length] = {}

    def _given(self, name: str) -> Length | None:
        given: Length | None = getattr(self.table, name)
        measured: Length | None = None if self.measured is None else getattr(self.measured, name)
        return given or (None if measured is None else nearest(measured, self.wording.mark))

    def listed(self, name: str, size: PatternSize) -> Length:
        """The size; as a default, unless the user measured it."""
        if size.cite:
            self.defaults.append(Default(self.where, name, size.value, size.cite))
        return size.length

    def _needs(self, name: str) -> Length:
        """The size of the pattern, listed once, or 0 if it is missing."""
        if name not in self._needed:
            size = self.pattern.size(name, self.table.frames)
            if size is None:
                self.missing[name] = None
            self._needed[name] = ZERO if size is None else self.listed(name.replace("_", " "), size)
        return self._needed[name]

    def _outside(self, name: str) -> Length | None:
        size = self.pattern.size(name, self.table.frames)
        return self._given(name) or (None if size is None else self.listed(name, size))

    def width(self) -> Length:
        """The outside width. Raises InputError if no American box with that number of frames is published."""
        found = self._outside("width")
        if found is not None:
            return found
        if self.pattern.name == AMERICAN:
            kinds = ", ".join(map(str, boxes.FRAMES))
            raise InputError(
                Problem(
                    f"{self.where}, width",
                    f"no width, for a box of {self.table.frames} frames",
                    f"the outside width; only boxes of {kinds} frames have a default",
                    "Measure the box across its front, and give width.",
                )
            )
        if self.pattern.frames and self.table.frames not in self.pattern.frames:
            self.missing["width"] = None
            return ZERO
        return self._needs("inside_width") + self.wall() * 2

    def wall(self) -> Length:
        """The thickness of the side walls."""
        return self._given("wall") or self._needs("wall")

    def length(self) -> Length:
        """The outside length."""
        return self._outside("length") or self._needs("inside_length") + self._end_wall() * 2

    def _end_wall(self) -> Length:
        """The thickness of the front and back wall. An American box has four equal walls."""
        if self.pattern.name == AMERICAN:
            return self.wall()
        measured = "end_wall" in self.pattern.own
        return (None if measured else self._given("wall")) or self._needs("end_wall")

    def end_wall_of(self, length: Length) -> Length:
        """The thickness of the front and back wall of a box with this outside length.

        If the inside length is measured or fixed, the walls have the rest.
        """
        fixed = "inside_length" in self.pattern.own and self.table.length is not None
        if fixed or self.pattern.name == NATIONAL:
            return (length - self._needs("inside_length")) / 2
        return self._end_wall()

    def rest(self, inside: Length) -> Length:
        """How far the frame rest reaches into an end wall, for the distance `inside` between these walls."""
        play = self.pattern.size("end_play")
        if play is not None and "rest" not in self.pattern.own:
            return (self._needs_frame("top_bar_length") - inside) / 2 + play.length
        return self._needs_frame("rest")

    def gap(self, gaps: tuple[Length, ...], is_at_bottom: bool) -> Length:
        """The default gap over the top bars, listed if no gap was measured."""
        row = fact("box.national_gap" if is_at_bottom else "box.gap_over_top_bars")
        size: PatternSize | None = PatternSize(row.length, row.value, row.cite)
        if not is_at_bottom and self.pattern.name != NATIONAL:
            size = self.pattern.size("gap")
        if gaps:
            return min(gaps)
        if size is None:
            self.missing["gap"] = None
            return ZERO
        self.defaults.append(Default(self.where, "gap over the top bars", f"{size.value} - NOT MEASURED", size.cite))
        return size.length

    def nominal(self, body: str) -> PatternSize:
        """The height of the box that the pattern calls by this name. Raises InputError if it has none."""
        size = self.pattern.size(f"height_{body}")
        if size is None:
            raise InputError(_no_body(self.pattern, body, f"{self.where}, height"))
        return size

    def height(self) -> Length:
        """The height of the box under the board: the given height, that of the last given box, or the measured one."""
        asked = self.table.height
        if asked is None and self.table.boxes is not None:
            asked = self.table.boxes[-1]
        if isinstance(asked, Length):
            return asked
        measured = self._given_height()
        if measured is not None:
            return measured
        body = asked or self.pattern.bodies[0]
        if asked is None and self.pattern.size(f"height_{body}") is None:
            self.missing["height"] = None
            return ZERO
        return self.listed(f"height, {body}", self.nominal(body))

    def _given_height(self) -> Length | None:
        size = None if self.measured is None else self.measured.height
        return None if size is None else nearest(size, self.wording.mark)

    def _needs_frame(self, name: str) -> Length:
        """A size of the frames or their rest. The two patterns known by name are listed by that."""
        if self.pattern.name not in (AMERICAN, NATIONAL):
            return self._needs(name)
        size = self.pattern.size(name)
        return ZERO if size is None else size.length

    def ask_for_frames(self) -> None:
        """Lists the sizes of the frames, and notes those that are missing."""
        first = list(MEASURES).index("top_bar_length")
        for name in list(MEASURES)[first:]:
            self._needs_frame(name)
        if self.pattern.size("end_bar_below") is not None:
            self._needs_frame("end_bar_below")
            self._needs_frame("end_bar_shoulder")
        depths = [self.pattern.size(f"frame_depth_{body}") for body in self.pattern.bodies]
        if self.table.frame_depth is None and not any(depths):
            self.missing["frame_depth"] = None

    def request(self) -> Problem:
        """A problem that lists every missing size in the order of the tape."""
        names = sorted(self.missing, key=list(_ASKED).index)
        return Problem(
            f"{self.where}, pattern",
            f"{self.pattern.name!r}, without {', '.join(names)}",
            "; ".join(f"{name}: {_ASKED[name]}" for name in names),
            "Measure these, and write them in a [[pattern]] with your own name"
            + (f" and like = {self.pattern.name!r}" if not self.pattern.own else "")
            + ". See: woodshop patterns.",
        )


def _no_body(pattern: HivePattern, body: str, where: str) -> Problem:
    known = [each for each in pattern.bodies if pattern.size(f"height_{each}") is not None]
    wanted = f"a length, or a box of the {pattern.name} pattern: {', '.join(known)}" if known else "a length"
    return Problem(where, repr(body), wanted, "Measure the box, and give its height.")


def _is_american(table: HivesTable, box: HiveBox, where: str, wording: Wording) -> None:
    """Checks that boxes without a pattern have the sizes of the American one.

    Raises InputError if not: no box is graded with the frames of another pattern.
    """
    length, off = wording.length, fact("box.maker_tolerance").length
    ask = (
        "If it is right, say which pattern your boxes have: woodshop patterns. For other boxes, measure one and write "
        f'a [[pattern]]: woodshop new --measure. For American boxes, write pattern = "{AMERICAN}".'
    )
    inside = [row.length for row in group("box.inside_length")]
    if box.inside_length < min(inside) - off or box.inside_length > max(inside) + off:
        given = f"no pattern, and {length(box.inside_length)} inside from front to back"
        wanted = f"a pattern; an American box has {length(max(inside))} there"
        raise InputError(Problem(f"{where}, pattern", given, wanted, ask))
    depths = [boxes.frame_depth(name) for name in ("deep", "medium", "shallow")]
    asked = table.frame_depth if isinstance(table.frame_depth, tuple) else (table.frame_depth,)
    for depth in asked:
        if (
            depth is not None
            and min(depths) - off < depth <= box.height
            and all(abs(depth - each) > off for each in depths)
        ):
            given = f"no pattern, and frames {length(depth)} deep"
            wanted = f"a pattern; American frames are {', '.join(length(each) for each in depths)} deep"
            raise InputError(Problem(f"{where}, pattern", given, wanted, ask))


def _sane(box: HiveBox, pattern: HivePattern, where: str, wording: Wording) -> None:
    """Checks that the frames fit in the box. If they do not, one of the sizes is wrong."""
    length = wording.length
    again = "Measure it again. If the frames have another pattern, name it: woodshop patterns."
    if box.inside_length >= box.bar.length:
        what = f"{length(box.inside_length)} inside, so a {length(box.bar.length)} top bar falls through"
        raise InputError(Problem(f"{where}, length", what, f"a box that {pattern.name} frames fit in", again))
    if box.inside_length + box.rest * 2 < box.bar.length:
        what = f"{length(box.length)} outside, too short for a {length(box.bar.length)} top bar"
        raise InputError(Problem(f"{where}, length", what, f"a box that {pattern.name} frames fit in", again))
    end_bar = pattern.size("end_bar_width")
    needed = box.bar.spacing * (box.frames - 1) + max(box.bar.width, ZERO if end_bar is None else end_bar.length)
    if box.inside_width < needed:
        what = f"{length(box.inside_width)} inside"
        wanted = f"at least {length(needed)} for {box.frames} frames"
        raise InputError(Problem(f"{where}, width", what, wanted, "Give the outside width, and check the frames."))
    if box.inside_width >= box.bar.spacing * (box.frames + 2):
        what = f"{length(box.inside_width)} inside, room for two frames more"
        raise InputError(Problem(f"{where}, width", what, f"a box for {box.frames} frames", "Measure it again."))
    if box.rest >= box.end_wall:
        what = f"walls {length(box.end_wall)} thick, cut through by the {length(box.rest)} frame rest"
        raise InputError(Problem(f"{where}, wall", what, f"walls of more than {length(box.rest)}", "Measure it again."))
    if box.gap + box.bar.thickness >= box.height:
        raise InputError(
            Problem(
                f"{where}, gap",
                length(box.gap),
                "a gap much smaller than the height of the box",
                "Measure down from the edge.",
            )
        )


@dataclass(frozen=True, slots=True)
class _Asked:
    """One group's table, the cover and entrance settings of its items, and the list of defaults."""

    table: HivesTable
    design: Design
    where: str
    defaults: list[Default]
    wording: Wording
    pattern: HivePattern

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
        if row.cite:
            self.defaults.append(Default(self.where, name, row.value, row.cite))
        return row.length


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
    table: HivesTable, design: Design, box: HiveBox, defaults: list[Default], wording: Wording
) -> Woodenware:
    """The user's parts around the hardware; `box` is the top box. Raises InputError for conflicts."""
    where = table.name or f"{table.frames}-frame hives"
    asked = _Asked(table, design, where, defaults, wording, pattern_of(table, design.patterns, where))
    found = cover_contradictions(asked.where, table, asked.makes, box, wording)
    if found:
        raise InputError(*found)
    stood = _boxes(asked, box)
    depths = _depths(asked, stood)
    boxes = tuple((each, _frame(asked, each, depth)) for each, depth in zip(stood, depths, strict=True))
    inner = None if table.inner_cover is None else InnerCover(box.length, box.width, table.inner_cover)
    defaulted = tuple(n for n, depth in enumerate(depths) if depth is None)
    return Woodenware(boxes, _bottom(asked, boxes[0][0]), inner, _cover(asked, box), defaulted)


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
        raise InputError(_no_body(asked.pattern, height, f"{asked.where}, boxes"))
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


def _frame(asked: _Asked, box: HiveBox, depth: Length | None) -> Frame:
    """The frames of a box: as deep as measured or, if not measured, the deepest published ones that fit."""
    if depth is None:
        depth = asked.listed(
            f"frame_depth in a box {asked.wording.length(box.height)} high",
            frame_row(box, asked.pattern, asked.wording),
        )
    elif depth > box.height:
        length = asked.wording.length
        wanted = f"frames that fit in a box {length(box.height)} high"
        raise InputError(Problem(f"{asked.where}, frame_depth", length(depth), wanted, "Measure a frame again."))
    return frame_for(box, depth, asked.pattern, asked.wording)


def _bottom(asked: _Asked, box: HiveBox) -> BottomBoard:
    high = asked.given("entrance_height") or asked.listed("height of the entrance", fact("guard.entrance_height"))
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
