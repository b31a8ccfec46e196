"""The named gaps of a plane where they lie in a window of it, with their size and grade in the margin beside it."""

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from woodshop.documents.bee_map.section import Paper
from woodshop.drawing.arranging.patterns import cut_to
from woodshop.drawing.pages.plates import points
from woodshop.drawing.values.fonts import STRONG, clean, wrapped
from woodshop.drawing.values.fonts import width as text_width
from woodshop.drawing.values.paper import Box, Mark, Spot, Stroke, Word
from woodshop.hive.gaps.faces import Gap
from woodshop.hive.gaps.grading import ON_WALL, carried_places
from woodshop.hive.passages.bee_map import MapSection
from woodshop.units.wording import LengthUnit

VALUE, NAME = 12.5, 8.5  # points
MARGIN = 82.0  # the room beside the window
_PAD, _STEP = 3.0, 5.0
_NEAR = 26.0  # points: how far inside a broad gap its mark stands
SAME = 0.01  # points: the depth of sugar is rounded to 1/320 mm where planes are cut
_NOT_SEEN = ("skirt overlap", "upper entrance to skirt", "overhang")  # between faces that do not look at each other


@dataclass(frozen=True, slots=True)
class Found:
    """A gap in a window: the ends of the way across it, on paper."""

    gap: Gap
    start: Spot
    end: Spot

    @property
    def middle(self) -> Spot:
        """Half way across."""
        return (self.start[0] + self.end[0]) / 2, (self.start[1] + self.end[1]) / 2


def find_gaps(gaps: Iterable[Gap], section: MapSection, paper: Paper, to_left: bool) -> list[Found]:
    """Every gap that lies across the window between two of its solids and is just as wide there, each name once a size.

    Of several places the one nearest the margin is taken. Contacts that touch are left out.
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
    """Part and tier of a label: ("top bar", "box 2") of "top bar 1, box 2"."""
    name, _, tier = label.rpartition(", ")
    return re.sub(r" \d+$", "", name), tier


def _between(
    gap: Gap, pair: tuple[Box, Box], size: float, *, level: bool, frame: Box, every: Sequence[Box], to_left: bool
) -> list[Found]:
    """The way from one rectangle up to the other where both look at each other with nothing between them."""
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
        if level:  # a way from left to right: marked at a height where it can be seen
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
    """What of a run is free of every solid that stands in the way across."""
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
    """A gap with its size and grade in the margin; `box` holds its text."""

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
    """As many as find room in the margin, one above the other: gaps out of their limits first, then those not `known`.

    `grade_of` says whether a gap is good, and its grade in words.
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
    """What makes two callouts the same: name and size."""
    return gap.name, str(gap.least)


def _text(gap: Gap, words_of_grade: str, unit: LengthUnit) -> tuple[list[Word], float]:
    """The size in large type, its grade, its name; from y = 0 downwards, and how high it is."""
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
    """The tops of blocks one under the other, each as near as can be to where it is wanted."""
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
    """The way across, its leader to the margin, the words; in a heavy frame where all is not well."""
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
    """White paper under a line, so that it can be seen on black and on patterns."""
    long = ((b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2) ** 0.5 or 1.0
    x, y = (b[1] - a[1]) / long * wide, (a[0] - b[0]) / long * wide
    return Stroke(
        ((a[0] + x, a[1] + y), (b[0] + x, b[1] + y), (b[0] - x, b[1] - y), (a[0] - x, a[1] - y)), 0.0, (), True, "paper"
    )
