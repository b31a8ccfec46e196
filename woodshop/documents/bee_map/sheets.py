"""The bee-space map of one hive as set-out marks: the whole hive small, plans from above, the key, the details."""

from collections.abc import Sequence
from dataclasses import dataclass

from woodshop.documents.bee_map.details import HiveMap, behind, detail_callouts, detail_sheet
from woodshop.documents.bee_map.section import CLOTH, PATTERNS, STUFFS, Paper, section_marks
from woodshop.documents.bee_map.words import span
from woodshop.drawing.arranging.patterns import Pattern, borders, filled
from woodshop.drawing.pages.plates import points
from woodshop.drawing.values.fonts import REGULAR, STRONG, clean, wrapped
from woodshop.drawing.values.paper import Box, Mark, Sheet, Stroke, Word, centred, sheet_of
from woodshop.hive.gaps.grading import BeeSpace, Grade
from woodshop.hive.passages.bee_map import GRADES, MapSection
from woodshop.hive.passages.inside import Z
from woodshop.shape.part import Rectangle
from woodshop.units.wording import LengthUnit

FULL = 520.0  # points: as wide as A4 and Letter both have between their margins
_GUTTER = 8.0
_KEY = 142.0
_SMALL, _TITLE, _LETTER = 8.5, 10.0, 13.0
_SCALES = (8, 10, 12, 16, 20, 24)  # paper is so many times smaller
_MOST_HIGH = 250.0


def overview(hive: HiveMap, unit: LengthUnit) -> tuple[Sheet, int]:
    """The hive cut along and across, from above, with the key beside it; and how many times smaller it is."""
    stands = [each for name in ("through a top bar", "through a strip") if (each := hive.section(name))]
    stands = stands or [each for each in hive.sections if each.axis != Z][:1]
    lies = [each for each in hive.sections if each.axis == Z]
    names = 61.0
    room = FULL - _KEY - _GUTTER
    times = next((n for n in _SCALES if _fits(stands, lies, 1 / n, room - names)), _SCALES[-1])
    scale = 1 / times
    marks: list[Mark] = []
    x = 0.0
    for n, section in enumerate(stands):
        paper = Paper(section.window, scale)
        drawn = [*section_marks(section, paper, small=True), *_frames(hive, section, paper)]
        drawn.append(_under(section.name, paper.frame))
        marks += [mark.moved(x, 0.0) for mark in drawn]
        x += paper.frame.right
        if n == 0:
            marks += [mark.moved(x, 0.0) for mark in _tiers(hive, section, paper)]
            x += names
    y = -_SMALL - 14.0
    x = 0.0
    for section in lies:
        paper = Paper(section.window, scale)
        drawn = [*section_marks(section, paper, small=True), _under(f"{section.name}; front at left", paper.frame)]
        drawn += _lanes(hive, section, paper)
        marks += [mark.moved(x, y - _SMALL - 6.0 - paper.frame.top) for mark in drawn]
        x += paper.frame.right + _GUTTER
    left = sheet_of(marks)
    key = key_sheet(hive.space, unit, _KEY)
    top = left.box.top
    moved = key.moved(FULL - _KEY - key.box.left, top - key.box.top)
    return sheet_of([*marks, *moved.marks]), times


def _fits(stands: Sequence[MapSection], lies: Sequence[MapSection], scale: float, room: float) -> bool:
    def wide(sections: Sequence[MapSection]) -> float:
        return sum(points(s.window.u1 - s.window.u0) * scale for s in sections) + _GUTTER * max(len(sections) - 1, 0)

    high = max((points(s.window.v1 - s.window.v0) * scale for s in stands), default=0.0)
    return wide(stands) <= room and wide(lies) <= room + 60 and high <= _MOST_HIGH


def _under(text: str, frame: Box) -> Word:
    return Word(clean(text[:1].upper() + text[1:]), frame.left, frame.bottom - _SMALL - 3.0, size=_SMALL, strong=True)


def _frames(hive: HiveMap, section: MapSection, paper: Paper) -> list[Mark]:
    """Where the details lie: of every plane that looks the same way."""
    marks: list[Mark] = []
    seen: set[Rectangle] = set()
    for detail in hive.details:
        if detail.section.axis != section.axis:
            continue
        b = paper.box(detail.window)
        shift = 9.0 * (detail.window in seen)
        seen.add(detail.window)
        if not shift:
            corners = ((b.left, b.bottom), (b.right, b.bottom), (b.right, b.top), (b.left, b.top))
            marks.append(Stroke(corners, 0.8, (3.0, 1.5), closed=True))
        x = b.left + 6.0 + shift if detail.to_left else b.right - 6.0 - shift
        word = centred(detail.letter, x, b.top - 6.5, 9.0, strong=True)
        marks += [behind(word), word]
    return marks


def _tiers(hive: HiveMap, section: MapSection, paper: Paper) -> list[Mark]:
    """The names of what stands one on the other, to the right of the hive; those that lie close move apart."""
    right, wanted = 0.0, []
    for tier in hive.stack.tiers:
        lows, highs = ([getattr(p.box, end)[2] for p in tier.placed] for end in ("low", "high"))
        if lows:
            low, high = (paper.spot(section.window.u0, v)[1] for v in (min(lows), max(highs)))
            wanted.append(((low + high) / 2, tier.name))
    wanted.sort(reverse=True)
    marks: list[Mark] = []
    tops, limit = [], float("inf")
    for y, _ in wanted:
        limit = min(y, limit - _SMALL * 1.15)
        tops.append(limit)
    floor = paper.frame.bottom + 2.0
    for n in range(len(tops) - 1, -1, -1):
        tops[n] = max(tops[n], floor)
        floor = tops[n] + _SMALL * 1.15
    for (y, name), at in zip(wanted, tops, strict=True):
        marks.append(Stroke(((right + 1.0, y), (right + 7.0, at)), 0.4))
        marks.append(Word(clean(name), right + 8.0, at - _SMALL * 0.33, size=_SMALL))
    return marks


def _lanes(hive: HiveMap, section: MapSection, paper: Paper) -> list[Mark]:
    """The numbers of the lanes where they lie in the plane over the bars."""
    marks: list[Mark] = []
    for lane in hive.ways.lanes:
        if lane.box.low[Z] <= section.at < lane.box.high[Z]:
            u, v = (lane.box.low[0] + lane.box.high[0]) / 2, (lane.box.low[1] + lane.box.high[1]) / 2
            words = [centred(f"lane {lane.number}", *paper.spot(u, v), _SMALL, strong=True, turn=True)]
            if not (lane.open and lane.down):
                words = [centred(f"lane {lane.number}: not open", *paper.spot(u, v), _SMALL, strong=True, turn=True)]
            marks += [behind(words[0]), *words]
    return marks


def key_sheet(space: BeeSpace, unit: LengthUnit, wide: float) -> Sheet:
    """Every pattern with what it means: grades with their limits, then what solids are; and whose band it is."""
    marks: list[Mark] = [Word("Free space, by its width", 0.0, -_TITLE, size=_TITLE, strong=True)]
    y = -_TITLE - 6.0
    for grade in GRADES:
        y = _entry(marks, y, wide, look=(PATTERNS[grade], 0.5), words=(grade, grade_limits(grade, space, unit)))
    marks.append(Word("What stands there", 0.0, y - _TITLE, size=_TITLE, strong=True))
    y -= _TITLE + 6.0
    for stuff in STUFFS:
        pattern = Pattern.BLACK if stuff is CLOTH else stuff.pattern
        y = _entry(
            marks, y, wide, look=(pattern, stuff.weight), words=(stuff.what, ""), low=9.0 if stuff is not CLOTH else 2.5
        )
    limits = span(space.least, space.most, unit)
    source = (
        f"Under mesh that bees pass, {space.mesh_least.text(unit)} over the bars is enough. "
        f'Bee space: the band "{space.name}", {limits}. {space.cite}.'
    )
    for line in wrapped(source, _SMALL, wide):
        y -= _SMALL * 1.2
        marks.append(Word(line, 0.0, y, size=_SMALL))
    return sheet_of(marks)


def _entry(
    marks: list[Mark], y: float, wide: float, *, look: tuple[Pattern, float], words: tuple[str, str], low: float = 20.0
) -> float:
    """A swatch with its words beside it; where the next one begins."""
    lines = [(line, True) for line in wrapped(words[0], _SMALL, wide - 38, STRONG)]
    lines += [(line, False) for line in wrapped(words[1], _SMALL, wide - 38, REGULAR) if line]
    high = max(low, 10.0)
    box = Box(0.0, y - (high + low) / 2, 32.0, y - (high - low) / 2)
    marks += filled([box], look[0])
    marks += [Stroke(line, look[1]) for line in borders([box], box.grown(1))]
    at = y
    for line, strong in lines:
        at -= _SMALL * 1.15
        marks.append(Word(line, 38.0, at + 1.0, size=_SMALL, strong=strong))
    return min(y - high, at - 1.0) - 5.0


def grade_limits(grade: Grade, space: BeeSpace, unit: LengthUnit) -> str:
    """The limits of a grade of free space in words."""
    low, high = space.amber_least, space.amber_most
    return {
        Grade.TOO_TIGHT: f"under {low.text(unit)}: bees fill it with propolis",
        Grade.SLIGHTLY_TIGHT: f"{low.number(unit)} to under {space.least.text(unit)}",
        Grade.BEE_SPACE: f"{span(space.least, space.most, unit)}: bees leave it open",
        Grade.SLIGHTLY_WIDE: f"over {space.most.number(unit)}, to {high.text(unit)}",
        Grade.TOO_WIDE: f"over {high.text(unit)}: bees build comb in it",
        Grade.WIDE_BY_DESIGN: "room that is meant to be there",
        Grade.SEALED: "no bee gets there",
    }[grade]


@dataclass(frozen=True, slots=True)
class DrawnMap:
    """A hive's map set out on paper: the hive small, how many times smaller, each detail's letter, title and marks."""

    hive: HiveMap
    unit: LengthUnit
    small: Sheet
    times: int
    details: tuple[tuple[str, str, Sheet], ...]


def draw_map(hive: HiveMap, unit: LengthUnit) -> DrawnMap:
    """A hive's map, sizes in that unit; a detail has the corner of its window at (0, 0)."""
    small, times = overview(hive, unit)
    made = detail_callouts(hive, unit)
    details = tuple((each.letter, each.title, detail_sheet(each, made[each.letter])) for each in hive.details)
    return DrawnMap(hive, unit, small, times, details)


def row_of(details: Sequence[tuple[str, str, Sheet]]) -> Sheet:
    """One detail, or two side by side, under their titles, over the whole width."""
    marks: list[Mark] = []
    wide = (FULL - _GUTTER) / 2
    for n, (letter, title, drawn) in enumerate(details):
        x = n * (wide + _GUTTER)
        frame_left = -drawn.box.left
        marks += drawn.moved(x + frame_left if drawn.box.left < -9 else x + 1.0, 0.0).marks
        marks.append(Word(letter, x + 1.0, drawn.box.top + 4.0, size=_LETTER, strong=True))
        marks.append(Word(clean(title), x + 15.0, drawn.box.top + 4.0, size=_TITLE, strong=True))
    sheet = sheet_of(marks)
    return Sheet(sheet.marks, Box(0.0, sheet.box.bottom, FULL, sheet.box.top))
