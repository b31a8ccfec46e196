"""Which parts of a hive's planes are drawn at half size: where things meet, and wherever a gap is not well."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from functools import cached_property

from woodshop.checks.mesh_state import MeshState, loaded_gaps
from woodshop.documents.bee_map.callouts import Callout, Found, called, callout_marks, callouts, find_gaps
from woodshop.documents.bee_map.section import Paper, section_marks, shown
from woodshop.drawing.values.paper import Box, Mark, Sheet, Stroke, Word, centred, sheet_of
from woodshop.hive.gaps.faces import Gap
from woodshop.hive.gaps.gaps import gathered, measure_gaps
from woodshop.hive.gaps.grading import LOADED, BeeSpace, GradedGap, MeshSag, grade_gap, grade_gaps
from woodshop.hive.passages.air import AirPath, air_path
from woodshop.hive.passages.bee_map import MapSection, MapSolid, bee_map
from woodshop.hive.passages.doors import Ways, ways_of
from woodshop.hive.passages.inside import Inside
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.stacking.stack import Stack
from woodshop.shape.part import Rectangle
from woodshop.units.lengths import Length, inch
from woodshop.units.wording import LengthUnit

X, Y, Z = 0, 1, 2
HALF = 0.5  # paper over real: a gap of 1/4 in is 3 mm wide on paper
WIDE = inch("4 3/4")  # of a window, real size
HIGH, MIDDLE, LOW, LEAST = (inch(text) for text in ("4 1/4", "3 3/4", "3", "2 1/2"))
_EDGE = inch("3/8")  # what a window shows of the air outside a wall
_UNDER = inch("2 1/4")  # what a window shows below the top bars
_MOST_EXTRA = 4
_LABEL = 8.5
_FRAME = (5.0, 2.0, 1.0, 2.0)


@dataclass(frozen=True, kw_only=True)
class HiveMap:
    """A hive with all that is drawn and said of it; `places` are the groups of hives that stand just so.

    `others` are the gaps of made things that come out otherwise where another measured gap is over the top bars.
    `mesh` tells what fresh sugar does to the mesh; "" where there is none.
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
        """The plane of that name."""
        return next((each for each in self.sections if each.name == name), None)

    @cached_property
    def details(self) -> "tuple[Detail, ...]":
        """What is drawn at half size, lettered."""
        return tuple(replace(each, letter=chr(ord("A") + n)) for n, each in enumerate(_chosen(self)))

    @cached_property
    def graded(self) -> tuple[GradedGap, ...]:
        """Every gap, gathered by name and place, with its grade; and what fresh sugar leaves over the bars."""
        gaps = gathered(self.gaps)
        return grade_gaps((*gaps, *loaded_gaps(gaps, self.state)), self.space, self._sag(self.gaps))

    @cached_property
    def others_graded(self) -> tuple[GradedGap, ...]:
        """The gaps that come out otherwise, with their grades."""
        return tuple(grade_gap(gap, self.space, self._sag((gap,))) for gap in self.others)

    def _sag(self, gaps: tuple[Gap, ...]) -> MeshSag:
        return MeshSag() if self.state is None else self.state.sag_in(gaps)

    def grade(self, gap: Gap) -> tuple[bool, str]:
        """Whether a gap between two parts is good, and its grade; a mesh also as fresh sugar makes it sag."""
        grade = grade_gap(gap, self.space, self._sag(self.gaps)).grade
        if grade.is_good and gap.kind == "mesh over bars":
            for row in self.graded:
                if row.gap.name == LOADED and not row.grade.is_good:
                    return False, f"{row.grade} once it sags"
        return grade.is_good, grade

    def shown(self, detail: "Detail") -> list[Found]:
        """The named gaps that a detail shows; found once."""
        key = (detail.section.name, detail.window, detail.to_left)
        if key not in self._shown:
            self._shown[key] = find_gaps(self.gaps, detail.section, detail.paper, detail.to_left)
        return self._shown[key]


def measured_hive(
    stack: Stack, places: tuple[str, ...], space: BeeSpace, state: MeshState | None = None, others: tuple[Gap, ...] = ()
) -> HiveMap:
    """A hive cut, measured and walked through."""
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
    """A window of a plane at half size; its words stand in the margin to the left, or to the right."""

    title: str
    section: MapSection
    window: Rectangle
    to_left: bool
    letter: str = ""

    @property
    def paper(self) -> Paper:
        """How it comes on paper."""
        return Paper(self.window, HALF)


def _window(u: Length, v: Length, high: Length = LOW, *, back: bool = False) -> Rectangle:
    """A window that begins at u, or with `back` ends there; v is its lower edge."""
    return Rectangle(u - WIDE, v, u, v + high) if back else Rectangle(u, v, u + WIDE, v + high)


def _chosen(hive: HiveMap) -> list[Detail]:
    """The places where things meet; then the first place of each gap that is not well and is in none of these."""
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
    """A window about the first place where a plane shows a gap."""
    for section in hive.sections:
        if section.axis == Z:
            continue
        paper = Paper(section.window, HALF)
        for found in find_gaps([gap], section, paper, True):
            wide = section.window.u1 - section.window.u0
            u, v = (_near(at, paper) for at in found.middle)
            mid_u, mid_v = section.window.u0 + u - WIDE / 2, section.window.v0 + v - LEAST / 2
            is_left = u < wide / 2
            return Detail(f"Also: {gap.name}", section, _window(mid_u, mid_v, LEAST), is_left)
    return None


def _near(at: float, paper: Paper) -> Length:
    """The sixteenth of an inch nearest to a place on paper."""
    return inch("1/16") * round(at / 72 / paper.scale * 16)


def gaps_in(hive: HiveMap, detail: Detail) -> list[Found]:
    """The named gaps that a detail shows."""
    return hive.shown(detail)


def detail_callouts(hive: HiveMap, unit: LengthUnit) -> dict[str, list[Callout]]:
    """What stands beside each detail, by its letter; a gap that an earlier one names gives way to others."""
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


def detail_sheet(detail: Detail, made: list[Callout]) -> Sheet:
    """A detail with its frame, its words and the names of what it shows; without its title."""
    paper = detail.paper
    frame = paper.frame
    marks = section_marks(detail.section, paper)
    beside = [mark for each in made for mark in callout_marks(each, detail.to_left)]
    marks += _names(detail, beside)
    corners = (
        (frame.left, frame.bottom),
        (frame.right, frame.bottom),
        (frame.right, frame.top),
        (frame.left, frame.top),
    )
    marks.append(Stroke(corners, 0.7, _FRAME, closed=True))
    return sheet_of([*marks, *beside])


def _names(detail: Detail, beside: list[Mark]) -> list[Mark]:
    """The name of each kind of solid, in the largest piece of it where nothing else stands."""
    rooms: dict[str, list[Box]] = {}
    for solid in detail.section.solids:
        rooms.setdefault(name_of(solid), []).extend(shown(solid, detail.paper))
    lines = [(mark.points[n], mark.points[n + 1]) for mark in beside if isinstance(mark, Stroke)
             for n in range(len(mark.points) - 1)]  # fmt: skip
    marks: list[Mark] = []
    for name, boxes in rooms.items():
        for box in sorted(boxes, key=lambda b: -(b.right - b.left) * (b.top - b.bottom)):
            word = _fitting(name, box, lines)
            if word is not None:
                marks += [behind(word), word]
                break
    return marks


def _fitting(name: str, box: Box, lines: list[tuple[tuple[float, float], tuple[float, float]]]) -> Word | None:
    middle = ((box.left + box.right) / 2, (box.bottom + box.top) / 2)
    for turn in (False, True):
        for part in (0.5, 0.25, 0.75):
            x, y = (
                middle
                if part == 0.5
                else (
                    (middle[0], box.bottom + (box.top - box.bottom) * part)
                    if turn
                    else (box.left + (box.right - box.left) * part, middle[1])
                )
            )
            word = centred(name, x, y, _LABEL, turn=turn)
            b = word.box.grown(1.2)
            inside = box.left <= b.left and b.right <= box.right and box.bottom <= b.bottom and b.top <= box.top
            if inside and not any(b.crossed_by(*line) for line in lines):
                return word
    return None


def behind(word: Word) -> Stroke:
    """White paper behind a word."""
    b = word.box.grown(1.0)
    corners = ((b.left, b.bottom), (b.right, b.bottom), (b.right, b.top), (b.left, b.top))
    return Stroke(corners, 0.0, closed=True, fill="paper")


def name_of(solid: MapSolid) -> str:
    """A solid as it is called in a drawing: walls by what they are walls of."""
    if solid.rim:
        return solid.rim + (" skirt" if solid.name.startswith("skirt") else "")
    return solid.name
