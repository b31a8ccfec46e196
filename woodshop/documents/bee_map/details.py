"""Sections of a hive on paper: solids by kind, free space by grade, and gaps named in the margin.

Details at half size show the places where parts meet, and every place where a gap is out of range.
"""

import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from woodshop.checks.mesh_state import MeshState, loaded_gaps
from woodshop.drawing.arranging.patterns import Pattern, borders, cut_to, filled, slabs
from woodshop.drawing.pages.plates import points
from woodshop.drawing.values.paper import Box, Mark, Spot, Stroke, Word
from woodshop.drawing.values.style import POINTS_PER_MM, STRONG, clean, wrapped
from woodshop.drawing.values.style import width as text_width
from woodshop.hive.gaps.faces import Gap
from woodshop.hive.gaps.gaps import gathered, measure_gaps
from woodshop.hive.gaps.grading import (
    LOADED,
    ON_WALL,
    BeeSpace,
    Grade,
    GradedGap,
    MeshSag,
    carried_places,
    grade_gap,
    grade_gaps,
)
from woodshop.hive.passages.air import AirPath, air_path
from woodshop.hive.passages.bee_map import GRADES, MapSection, MapSolid, bee_map
from woodshop.hive.passages.doors import Ways, ways_of
from woodshop.hive.passages.inside import Inside
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack
from woodshop.reference.materials import Form
from woodshop.shape.part import Rectangle, Role
from woodshop.units.lengths import Length, inch
from woodshop.units.wording import LengthUnit

_PER_MM = float(POINTS_PER_MM)

PATTERNS: dict[Grade, Pattern] = {
    Grade.TOO_TIGHT: Pattern.BLACK,
    Grade.SLIGHTLY_TIGHT: Pattern.BARS,
    Grade.BEE_SPACE: Pattern.WHITE,
    Grade.SLIGHTLY_WIDE: Pattern.GRID,
    Grade.TOO_WIDE: Pattern.NET,
    Grade.WIDE_BY_DESIGN: Pattern.RINGS,
    Grade.SEALED: Pattern.CROSSES,
}


@dataclass(frozen=True, slots=True)
class Stuff:
    """How a kind of solid is drawn: its name, its pattern and the weight of its outline."""

    what: str
    pattern: Pattern
    weight: float


OURS = Stuff("made for this batch", Pattern.CLOSE_GRAIN, 1.5)
THEIRS = Stuff("existing", Pattern.GRAIN, 0.6)
MESH = Stuff("wire mesh", Pattern.WIRES, 0.4)
SUGAR = Stuff("sugar", Pattern.SPECKS, 0.6)
COMB = Stuff("comb", Pattern.BRICKS, 0.4)
CLOTH = Stuff("cloth", Pattern.BLACK, 0.4)
SHAVINGS = Stuff("shavings", Pattern.CURLS, 0.4)
STUFFS = (OURS, THEIRS, MESH, SUGAR, COMB, CLOTH, SHAVINGS)


def stuff_of(solid: MapSolid) -> Stuff:
    """How a solid is drawn."""
    if solid.material.mesh is not None:
        return MESH
    if solid.role is Role.FILLING or solid.material.form is Form.LOOSE:
        return SHAVINGS if solid.material.kind.layer == "shavings" else SUGAR
    if solid.name == "comb":
        return COMB
    if solid.material.kind.layer == "cloth":
        return CLOTH
    return OURS if solid.own else THEIRS


@dataclass(frozen=True, slots=True)
class Paper:
    """A window of a plane on paper. `scale` is paper size / real size; the window's lower left corner is (0, 0)."""

    window: Rectangle
    scale: float

    def spot(self, u: Length, v: Length) -> Spot:
        """The position on paper, in points of 1/72 in, of a point in the plane."""
        return self._at(u, self.window.u0), self._at(v, self.window.v0)

    def _at(self, place: Length, start: Length) -> float:
        return round((float(place.mm) - float(start.mm)) * _PER_MM * self.scale, 4)

    def box(self, rectangle: Rectangle) -> Box:
        """The position on paper of a rectangle of the plane."""
        return Box(*self.spot(rectangle.u0, rectangle.v0), *self.spot(rectangle.u1, rectangle.v1))

    @property
    def frame(self) -> Box:
        """The window's rectangle on paper."""
        return self.box(self.window)


def section_marks(section: MapSection, paper: Paper, small: bool = False) -> list[Mark]:
    """The marks of a plane inside a window: free space by grade, then solids. If `small` is true, lines are thinner."""
    frame, marks = paper.frame, []
    for grade in GRADES:
        for region in section.with_grade(grade):
            rings = [[paper.spot(*at) for at in ring] for ring in (region.patch.outer, *region.patch.holes)]
            cut = [inner for box in slabs(rings) if (inner := cut_to(box, frame))]
            marks += filled(cut, PATTERNS[grade])
    for solid in section.solids:
        cut = shown(solid, paper)
        if not cut:
            continue
        how = stuff_of(solid)
        marks += filled(cut, how.pattern)
        weight = how.weight * (0.6 if small else 1.0)
        marks += [Stroke(line, weight) for line in borders(cut, frame)]
    return marks


def shown(solid: MapSolid, paper: Paper) -> list[Box]:
    """The part of a solid inside the window."""
    frame = paper.frame
    return [inner for each in solid.rectangles if (inner := cut_to(paper.box(each), frame))]


VALUE, NAME = 12.5, 8.5  # points
MARGIN = 82.0  # the space next to the window
_PAD, _STEP = 3.0, 5.0
_NEAR = 26.0  # points: the distance of a mark from the edge of a wide gap
SAME = 0.01  # points: the depth of sugar is rounded to 1/320 mm where planes are cut
_NOT_SEEN = ("skirt overlap", "upper entrance to skirt", "overhang")  # between faces that do not face each other


@dataclass(frozen=True, slots=True)
class Found:
    """A gap in a window: the ends of a line across it, on paper."""

    gap: Gap
    start: Spot
    end: Spot

    @property
    def middle(self) -> Spot:
        """The middle of the gap."""
        return (self.start[0] + self.end[0]) / 2, (self.start[1] + self.end[1]) / 2


def find_gaps(gaps: Iterable[Gap], section: MapSection, paper: Paper, to_left: bool) -> list[Found]:
    """Every gap that the plane cuts at its true width, between two solids in the window; once for each size.

    If a size occurs at several places, the one closest to the margin (left if `to_left`) is used. Contacts are omitted.
    """
    frame = paper.frame
    solids: dict[tuple[str, str], list[Box]] = {}
    for solid in section.solids:
        solids.setdefault((solid.name, solid.tier), []).extend(paper.box(each) for each in solid.rectangles)
    every = [box for boxes in solids.values() for box in boxes if cut_to(box, frame)]
    best: dict[tuple[str, str], tuple[float, Found]] = {}
    tried: set[tuple[object, ...]] = set()
    given = tuple(gaps)
    sits = carried_places(given)
    for gap in given:
        if gap.axis == section.axis or gap.name in _NOT_SEEN or gap.least.mm <= 0:
            continue
        if gap.name.endswith(ON_WALL) and gap.place in sits:
            continue
        pair = tuple(_part(label) for label in gap.between)
        key = (gap.name, gap.axis, gap.least, pair)
        if key in tried or any(each not in solids for each in pair):
            continue
        tried.add(key)
        level = gap.axis == min(axis for axis in range(3) if axis != section.axis)
        size = points(gap.least) * paper.scale
        for one in solids[pair[0]]:
            for other in solids[pair[1]]:
                for found in _between(gap, (one, other), size, level=level, frame=frame, every=every, to_left=to_left):
                    away = found.middle[0] if to_left else -found.middle[0]
                    name = (gap.name, str(gap.least))
                    if name not in best or away < best[name][0] - 1e-6:
                        best[name] = (away, found)
    return [found for _, found in best.values()]


def _part(label: str) -> tuple[str, str]:
    """The part and the tier in a label: ("top bar", "box 2") for "top bar 1, box 2"."""
    name, _, tier = label.rpartition(", ")
    return re.sub(r" \d+$", "", name), tier


def _between(
    gap: Gap, pair: tuple[Box, Box], size: float, *, level: bool, frame: Box, every: Sequence[Box], to_left: bool
) -> list[Found]:
    """The gap between two rectangles that face each other with nothing between them."""
    one, other = (_turned(box) if level else box for box in pair)
    if abs(other.bottom - one.top - size) > SAME or size <= 0:
        return []
    whole = _turned(frame) if level else frame
    low, high = max(one.left, other.left, whole.left), min(one.right, other.right, whole.right)
    if low >= high or one.top < whole.bottom or other.bottom > whole.top:
        return []
    found = []
    for start, end in _free(low, high, (one.top, other.bottom), every, level):
        room = end - start
        if level:  # a passage from left to right, marked at a height where it is visible
            at = end - min(room / 2, _NEAR / 2)
            found.append(Found(gap, (one.top, at), (other.bottom, at)))
        else:
            at = start + min(room / 2, _NEAR) if to_left else end - min(room / 2, _NEAR)
            found.append(Found(gap, (at, one.top), (at, other.bottom)))
    return found


def _turned(box: Box) -> Box:
    return Box(box.bottom, box.left, box.top, box.right)


def _free(
    low: float, high: float, across: tuple[float, float], every: Sequence[Box], level: bool
) -> list[tuple[float, float]]:
    """The parts of the range from `low` to `high` that are not blocked by any solid."""
    runs = [(low, high)]
    for box in every:
        each = _turned(box) if level else box
        if each.bottom >= across[1] - 1e-6 or each.top <= across[0] + 1e-6:
            continue
        runs = [
            part
            for a, b in runs
            for part in ((a, min(b, each.left)), (max(a, each.right), b))
            if part[1] - part[0] > 1e-6
        ]
    return runs


@dataclass(frozen=True, slots=True)
class Callout:
    """A label in the margin for a gap, with its size and grade; `box` is the box around its text."""

    found: Found
    is_good: bool
    words: tuple[Word, ...]
    box: Box


def callouts(
    found: Sequence[Found],
    grade_of: Callable[[Gap], tuple[bool, str]],
    unit: LengthUnit,
    *,
    frame: Box,
    to_left: bool,
    known: frozenset[tuple[str, str]],
) -> list[Callout]:
    """The callouts that fit in the margin, one above another: gaps out of limits first, then gaps not yet `known`.

    `grade_of` says whether a gap is good, and its grade in words. `to_left` puts them in the left margin.
    """
    judged = [(each, *grade_of(each.gap)) for each in found]
    judged.sort(key=lambda each: (each[1], called(each[0].gap) in known, not each[0].gap.own, each[0].gap.name))
    chosen: list[tuple[Found, bool, list[Word], float]] = []
    room = frame.top - frame.bottom
    for each, good, grade in judged:
        words, high = _text(each.gap, grade, unit)
        if high + _STEP <= room:
            chosen.append((each, good, words, high))
            room -= high + _STEP
    chosen.sort(key=lambda each: -each[0].middle[1])
    tops = _stacked([(each.middle[1] + high / 2, high) for each, _, _, high in chosen], frame)
    left = frame.left - MARGIN if to_left else frame.right + 8.0
    done = []
    for (each, good, words, high), top in zip(chosen, tops, strict=True):
        placed = tuple(word.moved(left + _PAD, top) for word in words)
        done.append(Callout(each, good, placed, Box(left, top - high, left + MARGIN - 8.0, top)))
    return done


def called(gap: Gap) -> tuple[str, str]:
    """The key of a callout. Callouts with the same name and size have the same key."""
    return gap.name, str(gap.least)


def _text(gap: Gap, words_of_grade: str, unit: LengthUnit) -> tuple[list[Word], float]:
    """The text of a callout, from y = 0 downward: size in large type, grade, name; and its height."""
    room = MARGIN - 8.0 - 2 * _PAD
    words, y = [], -_PAD - VALUE * 0.8
    size = clean(gap.least.text(unit))
    words.append(Word(size, 0.0, y, size=VALUE, strong=True))
    grade = clean(words_of_grade)
    if text_width(size, VALUE, STRONG) + 5 + text_width(grade, NAME, STRONG) <= room:
        words.append(Word(grade, text_width(size, VALUE, STRONG) + 5, y, size=NAME, strong=True))
        y -= NAME * 1.25
    else:
        for line in wrapped(grade, NAME, room, STRONG):
            y -= NAME * 1.2
            words.append(Word(line, 0.0, y, size=NAME, strong=True))
        y -= NAME * 1.2
    for n, line in enumerate(wrapped(gap.name, NAME, room)):
        y -= NAME * 1.15 if n else 0.0
        words.append(Word(line, 0.0, y, size=NAME))
    return words, -y + NAME * 0.25 + _PAD


def _stacked(wanted: list[tuple[float, float]], frame: Box) -> list[float]:
    """The tops of blocks placed one below another, each as close as possible to its wanted position."""
    tops, limit = [], frame.top
    for top, high in wanted:
        at = min(top, limit)
        tops.append(at)
        limit = at - high - _STEP
    floor = frame.bottom
    for n in range(len(tops) - 1, -1, -1):
        tops[n] = max(tops[n], floor + wanted[n][1])
        floor = tops[n] + _STEP
    return tops


def callout_marks(callout: Callout, to_left: bool) -> list[Mark]:
    """The line across the gap, its leader to the margin, and its text, which is in a heavy frame if out of range."""
    found, box = callout.found, callout.box
    near = (box.right if to_left else box.left, (box.top + box.bottom) / 2)
    marks: list[Mark] = [_halo(found.middle, near, 1.2), _halo(found.start, found.end, 2.4)]
    marks.append(Stroke((found.middle, near), 0.5))
    marks.append(Stroke((found.start, found.end), 1.3))
    level = found.start[1] == found.end[1]
    for x, y in (found.start, found.end):
        marks.append(Stroke(((x, y - 3), (x, y + 3)) if level else ((x - 3, y), (x + 3, y)), 1.3))
    if not callout.is_good:
        corners = ((box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top))
        marks.append(Stroke(corners, 1.8, closed=True))
    return [*marks, *callout.words]


def _halo(a: Spot, b: Spot, wide: float) -> Stroke:
    """White paper under a line, so that it is visible on black and on patterns."""
    long = ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5 or 1.0
    x, y = (b[1] - a[1]) / long * wide, (a[0] - b[0]) / long * wide
    return Stroke(
        ((a[0] + x, a[1] + y), (b[0] + x, b[1] + y), (b[0] - x, b[1] - y), (a[0] - x, a[1] - y)), 0.0, (), True, "paper"
    )


X, Y, Z = 0, 1, 2
HALF = 0.5  # paper size over real size: a gap of 1/4 in is 3 mm wide on paper
WIDE = inch("4 3/4")  # the width of a window, in real size
HIGH, MIDDLE, LOW, LEAST = (inch(text) for text in ("4 1/4", "3 3/4", "3", "2 1/2"))
_EDGE = inch("3/8")  # the width of air outside a wall that a window shows
_UNDER = inch("2 1/4")  # the height below the top bars that a window shows
_MOST_EXTRA = 4


@dataclass(frozen=True, kw_only=True)
class HiveMap:
    """A hive with the data for all its drawings and text. `places` lists the groups of hives that are identical to it.

    `others` are gaps of made items that are different at other measured gaps over the top bars. `mesh` describes the
    mesh under fresh sugar; it is "" if there is no mesh.
    """

    stack: Stack
    places: tuple[str, ...]
    space: BeeSpace
    state: MeshState | None
    sections: tuple[MapSection, ...]
    gaps: tuple[Gap, ...]
    ways: Ways
    air: AirPath
    others: tuple[Gap, ...] = ()
    mesh: str = ""
    _shown: dict[tuple[object, ...], list[Found]] = field(default_factory=dict, compare=False, repr=False)

    def section(self, name: str) -> MapSection | None:
        """The plane with this name."""
        return next((each for each in self.sections if each.name == name), None)

    @cached_property
    def details(self) -> "tuple[Detail, ...]":
        """The details at half size, with their letters."""
        return tuple(replace(each, letter=chr(ord("A") + n)) for n, each in enumerate(_chosen(self)))

    @cached_property
    def graded(self) -> tuple[GradedGap, ...]:
        """Every gap, combined by name and place, with its grade; and the space over the bars with fresh sugar."""
        gaps = gathered(self.gaps)
        return grade_gaps((*gaps, *loaded_gaps(gaps, self.state)), self.space, self._sag(self.gaps))

    @cached_property
    def others_graded(self) -> tuple[GradedGap, ...]:
        """The gaps that are different at other measured top-bar gaps, with their grades."""
        return tuple(grade_gap(gap, self.space, self._sag((gap,))) for gap in self.others)

    def _sag(self, gaps: tuple[Gap, ...]) -> MeshSag:
        return MeshSag() if self.state is None else self.state.sag_in(gaps)

    def grade(self, gap: Gap) -> tuple[bool, str]:
        """Whether a gap between two parts is good, and its grade, which allows for the mesh's sag under fresh sugar."""
        grade = grade_gap(gap, self.space, self._sag(self.gaps)).grade
        if grade.is_good and gap.kind == "mesh over bars":
            for row in self.graded:
                if row.gap.name == LOADED and not row.grade.is_good:
                    return False, f"{row.grade} once it sags"
        return grade.is_good, grade

    def shown(self, detail: "Detail") -> list[Found]:
        """The named gaps in a detail, cached."""
        key = (detail.section.name, detail.window, detail.to_left)
        if key not in self._shown:
            self._shown[key] = find_gaps(self.gaps, detail.section, detail.paper, detail.to_left)
        return self._shown[key]


def measured_hive(
    stack: Stack, places: tuple[str, ...], space: BeeSpace, state: MeshState | None = None, others: tuple[Gap, ...] = ()
) -> HiveMap:
    """The sections, measurements and bee passages of a hive, for the hives in `places`."""
    inside = Inside(stack)
    sections = bee_map(stack, space, inside)
    ways, air = ways_of(stack, inside), air_path(stack, inside)
    return HiveMap(
        stack=stack,
        places=places,
        space=space,
        state=state,
        sections=sections,
        gaps=measure_gaps(stack),
        ways=ways,
        air=air,
        others=others,
    )


@dataclass(frozen=True, slots=True)
class Detail:
    """A window of a plane at half size, with its text in the left or right margin."""

    title: str
    section: MapSection
    window: Rectangle
    to_left: bool
    letter: str = ""

    @property
    def paper(self) -> Paper:
        """The placement of the detail on paper."""
        return Paper(self.window, HALF)


def _window(u: Length, v: Length, high: Length = LOW, *, back: bool = False) -> Rectangle:
    """A window with its left edge at `u` or, if `back` is true, its right edge; its lower edge is at `v`."""
    return Rectangle(u - WIDE, v, u, v + high) if back else Rectangle(u, v, u + WIDE, v + high)


def _chosen(hive: HiveMap) -> list[Detail]:
    """Details of the places where parts meet, then of gaps out of range that those details do not show."""
    found = list(_usual(hive))
    named = {called(each.gap) for detail in found for each in gaps_in(hive, detail)}
    extra = 0
    for gap in hive.gaps:
        if extra == _MOST_EXTRA:
            break
        if called(gap) in named or gap.kind == "contact" or hive.grade(gap)[0]:
            continue
        detail = _around(hive, gap)
        if detail is not None:
            found.append(detail)
            named |= {called(each.gap) for each in gaps_in(hive, detail)}
            extra += 1
    return found


def _usual(hive: HiveMap) -> Iterator[Detail]:
    stack, box = hive.stack, hive.stack.top_box
    walls = [placed.box for placed in box.named("box side", "box end")]
    front, back = min(b.low[X] for b in walls), max(b.high[X] for b in walls)
    left, low = min(b.low[Y] for b in walls), min(b.low[Z] for b in walls)
    over = max(placed.box.high[Z] for placed in (*box.named("top bar"), *box.named("box side")))
    bar, channel, vent = (hive.section(name) for name in ("through a top bar", "entrance channel", "corner vent"))
    strip, between = hive.section("through a strip"), hive.section("between two frames")
    if channel is not None:
        yield Detail("Front: entrance channel", channel, _window(front - _EDGE, over - inch("1 1/4"), HIGH), True)
    if vent is not None:
        yield Detail("Back: corner vent", vent, _window(back + _EDGE, over - inch("1 1/4"), HIGH, back=True), False)
    if bar is not None:
        yield Detail("Front: along a top bar", bar, _window(front - _EDGE, over - _UNDER, MIDDLE), True)
    if strip is not None:
        yield Detail("Left side: along a strip", strip, _window(left - _EDGE, over - _UNDER, MIDDLE), False)
    elif between is not None:
        yield Detail(
            "Back: between two frames", between, _window(back + _EDGE, over - _UNDER, MIDDLE, back=True), False
        )
    if bar is None:
        return
    if len(stack.of(TierKind.BOX)) > 1:
        yield Detail("Front: between the boxes", bar, _window(front - _EDGE, low - inch("1 3/4")), True)
    bottom = [placed.box for tier in stack.of(TierKind.BOTTOM) for placed in tier.named("floor", "screen")]
    if bottom:
        ground = min(b.low[Z] for b in bottom) - inch("1/2")
        guard = [placed.box.low[X] for tier in stack.of(TierKind.ENTRANCE) for placed in tier.placed]
        yield Detail("Front: floor and entrance", bar, _window(min(guard, default=front) - _EDGE, ground), True)
    cover = [placed.box for tier in stack.of(TierKind.COVER) for placed in tier.placed]
    if cover:
        at, top = max(b.high[X] for b in cover) + _EDGE, max(b.high[Z] for b in cover) + inch("1/4")
        yield Detail("Back: under the cover", bar, _window(at, top - LEAST, LEAST, back=True), False)


def _around(hive: HiveMap, gap: Gap) -> Detail | None:
    """A window around the first place where a plane shows a gap."""
    for section in hive.sections:
        if section.axis == Z:
            continue
        paper = Paper(section.window, HALF)
        for found in find_gaps([gap], section, paper, True):
            wide = section.window.u1 - section.window.u0
            u, v = (_to_sixteenth(at, paper) for at in found.middle)
            mid_u, mid_v = section.window.u0 + u - WIDE / 2, section.window.v0 + v - LEAST / 2
            is_left = u < wide / 2
            return Detail(f"Also: {gap.name}", section, _window(mid_u, mid_v, LEAST), is_left)
    return None


def _to_sixteenth(at: float, paper: Paper) -> Length:
    """The length nearest to a position on paper, in sixteenths of an inch."""
    return inch("1/16") * round(at / 72 / paper.scale * 16)


def gaps_in(hive: HiveMap, detail: Detail) -> list[Found]:
    """The named gaps in a detail."""
    return hive.shown(detail)


def detail_callouts(hive: HiveMap, unit: LengthUnit) -> dict[str, list[Callout]]:
    """The callouts of each detail, keyed by its letter. Gaps named in an earlier detail have lower priority."""
    known: set[tuple[str, str]] = set()
    done: dict[str, list[Callout]] = {}
    for detail in hive.details:
        frame = detail.paper.frame
        made = callouts(
            gaps_in(hive, detail), hive.grade, unit, frame=frame, to_left=detail.to_left, known=frozenset(known)
        )
        known |= {called(each.found.gap) for each in made}
        done[detail.letter] = made
    return done
