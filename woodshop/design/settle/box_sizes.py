"""Settles one box of the user's hives: its sizes from the design, from its owner's measurements or from its pattern."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from woodshop.design.measured_files import MeasuredBox
from woodshop.design.schema import Default
from woodshop.design.tables import BoxKeys, HivesTable
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.hive.woodenware.box import HiveBox, bar_of
from woodshop.reference import boxes
from woodshop.reference.facts import fact, group
from woodshop.reference.patterns import AMERICAN, MEASURES, NATIONAL, HivePattern, PatternSize, patterns
from woodshop.units.lengths import ZERO, Length, size_name
from woodshop.units.wording import Wording, nearest


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
    asked = table.pattern.title() if table.pattern.islower() else table.pattern
    do = did_you_mean(asked, known, "Or describe your boxes in a [[pattern]]. See: woodshop patterns.")
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
    if table.body:
        return mixed_box(table, -1, measured, defaults, wording, own)
    pattern = pattern_of(table, own, where)
    sizes = _Sizes(table, measured, where, pattern=pattern, defaults=defaults, wording=wording)
    nominal = sizes.nominal(table.height) if isinstance(table.height, str) else None
    found = measured_contradictions(where, table, measured, None if nominal is None else nominal.length, wording)
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


def mixed_box(
    table: HivesTable,
    n: int,
    measured: MeasuredBox | None,
    defaults: list[Default],
    wording: Wording,
    own: Sequence[HivePattern],
) -> tuple[HiveBox, tuple[Length, ...]]:
    """The box `n` of hives with mixed boxes, and the gaps measured over its top bars.

    A box of the hives' pattern has their width, whatever the number of its frames.
    """
    where, body = table.name or f"{table.frames}-frame hives", table.body[n]
    place = f"{where}, body number {n % len(table.body) + 1}"
    plain = table.model_copy(update={"body": (), "boxes": None})
    update: dict[str, Any] = {"height": body.height, "frame_depth": body.frame_depth, "name": place}
    has_other = body.pattern is not None and body.pattern != table.pattern
    if has_other:
        update |= {
            "frames": body.frames or table.frames,
            "pattern": body.pattern,
            "width": None,
            "length": None,
            "wall": None,
            "bee_space": None,
        }
    if body.gap is not None or has_other:
        update |= {"gap": body.gap}
    box, gaps = settled_box(plain.model_copy(update=update), None if has_other else measured, defaults, wording, own)
    frames, spacing = body.frames or table.frames, body.spacing or box.bar.spacing
    if body.followers and body.follower is None:
        given, wanted = f"{body.followers}, without follower", "the thickness of a follower board"
        raise InputError(Problem(f"{place}, followers", given, wanted, "Measure it, and give follower."))
    box = replace(
        box,
        frames=frames,
        bar=replace(box.bar, spacing=spacing),
        followers=body.followers,
        follower=body.follower or ZERO,
        has_own_gap=body.gap is not None or has_other,
    )
    _has_room(box, pattern_of(plain.model_copy(update=update), own, place), place, wording)
    return box, gaps


def _has_room(box: HiveBox, pattern: HivePattern, place: str, wording: Wording) -> None:
    """Checks that the frames and follower boards of a mixed box fit between its sides.

    Raises InputError if not.
    """
    end_bar = pattern.size("end_bar_width")
    wide = max(box.bar.width, ZERO if end_bar is None else end_bar.length)
    if box.bar.spacing < wide:
        given, wanted = wording.length(box.bar.spacing), f"at least {wording.length(wide)}, the width of a frame"
        raise InputError(Problem(f"{place}, spacing", given, wanted, "Measure it from middle to middle."))
    beside = box.bar.spacing if box.followers else wide
    needed = box.bar.spacing * (box.frames - 1) + max(beside, wide) + box.follower * box.followers
    if box.inside_width < needed:
        given = f"{box.frames} frames {wording.length(box.bar.spacing)} apart"
        given += f" and {box.followers} follower boards" if box.followers else ""
        wanted = f"at most {wording.length(box.inside_width)} from side to side; these need {wording.length(needed)}"
        raise InputError(Problem(f"{place}, frames", given, wanted, "Count them, and measure the spacing."))


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


def _name(table: HivesTable, width: Length, wording: Wording) -> str:
    """The name of the box: the inches in its trade name, in a metric design whole millimeters; or its measured size."""
    if table.pattern != AMERICAN:
        return f"{table.pattern} {table.frames}-frame"
    known = table.frames in boxes.FRAMES and width in boxes.box_widths(table.frames)
    if known:
        return boxes.box_name(table.frames, width, wording.unit)
    size = size_name(width, "mm") if wording.unit == "mm" else width.number()
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
            return (self._needs_frame("top_bar_length") - inside) / 2 + self._needs_frame("end_play")
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

    def nominal(self, body: str) -> PatternSize | None:
        """The height of the box that the pattern calls by this name, or None if it is not known.

        Raises InputError if the pattern has no such box.
        """
        size = self.pattern.size(f"height_{body}")
        if size is None and body not in self.pattern.bodies:
            raise InputError(no_body(self.pattern, body, f"{self.where}, height"))
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
        size = self.nominal(body)
        if size is None:
            self.missing["height"] = None
            return ZERO
        return self.listed(f"height, {body}", size)

    def _given_height(self) -> Length | None:
        size = None if self.measured is None else self.measured.height
        return None if size is None else nearest(size, self.wording.mark)

    def _needs_frame(self, name: str) -> Length:
        """A size of the frames or their rest. Those of the American pattern are not listed one by one."""
        if self.pattern.name != AMERICAN:
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


def no_body(pattern: HivePattern, body: str, where: str) -> Problem:
    """The problem of a kind of box, `body`, that a pattern does not have; `where` is its place in the design."""
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
