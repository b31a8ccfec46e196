"""The bee-space map of one hive, as text and as drawings: the whole hive, views from above, details, the legend."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from woodshop.documents.bee_map.details import (
    CLOTH,
    PATTERNS,
    STUFFS,
    Callout,
    Detail,
    HiveMap,
    Paper,
    callout_marks,
    detail_callouts,
    section_marks,
    shown,
)
from woodshop.drawing.arranging.patterns import Pattern, borders, filled
from woodshop.drawing.pages.plates import points
from woodshop.drawing.values.paper import Box, Mark, Sheet, Stroke, Word, centred, sheet_of
from woodshop.drawing.values.style import REGULAR, STRONG, clean, width, wrapped
from woodshop.hive.creatures import worker_width
from woodshop.hive.gaps.faces import Gap
from woodshop.hive.gaps.grading import FITTING, BeeSpace, GapLimits, Grade, GradedGap
from woodshop.hive.passages.air import AirPath
from woodshop.hive.passages.bee_map import GRADES, MapSection, MapSolid
from woodshop.hive.passages.doors import Ways
from woodshop.hive.passages.inside import Z
from woodshop.shape.part import Rectangle
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import LengthUnit, wording_of

_LABEL = 8.5
_FRAME = (5.0, 2.0, 1.0, 2.0)


def span(least: Length, most: Length, unit: LengthUnit) -> str:
    """A range as text; one value if both ends are equal.

    >>> from woodshop.units.lengths import inch
    >>> span(inch("1/4"), inch("3/8"), "in"), span(inch("1/4"), inch("1/4"), "in")
    ('1/4 to 3/8 in', '1/4 in')
    """
    return least.text(unit) if least == most else f"{least.number(unit)} to {most.text(unit)}"


def limits_text(limits: GapLimits, unit: LengthUnit) -> str:
    """The limits in the unit of the design, and their note if they have one."""
    if limits.under:
        return f"under {worker_width(unit)}"
    note = f" {limits.note}" if limits.note else ""
    if limits.least is not None and limits.most is not None:
        return f"{span(limits.least, limits.most, unit)}{note}"
    if limits.least:
        return f"{limits.least.text(unit)} or more{note}"
    return wording_of(unit).quoted(limits.words)


def grade_text(row: GradedGap, unit: LengthUnit) -> str:
    """The grade of a gap, and how far it is out of range."""
    if row.grade in (Grade.OVERLAPS, Grade.BEHIND_SKIRT):
        return f"{row.grade}, by {(ZERO - row.gap.least).text(unit)}"
    off = max(row.limits.off(row.gap.least), row.limits.off(row.gap.most))
    return row.grade if row.grade.is_good or off == ZERO else f"{row.grade}, by {off.text(unit)}"


def joined_places(places: Iterable[str]) -> str:
    """Places in their shortest form: "box 1: left, right; box 2".

    >>> joined_places(["box 1, left", "box 1, right", "box 2, left", "box 2, right"])
    'box 1, box 2: left, right'
    >>> joined_places(["box 2, lane 1", "box 2, lane 2", "box 2, lane 3"])
    'box 2: lanes 1 to 3'
    """
    ends: dict[str, list[str]] = {}
    for place in dict.fromkeys(places):
        head, _, end = place.partition(", ")
        ends.setdefault(head, []).append(end)
    heads: dict[str, list[str]] = {}
    for head, tails in ends.items():
        heads.setdefault(_listed([tail for tail in tails if tail]), []).append(head)
    return "; ".join(f"{', '.join(names)}: {tail}" if tail else ", ".join(names) for tail, names in heads.items())


def _listed(tails: list[str]) -> str:
    words: dict[str, list[int]] = {}
    for tail in tails:
        found = re.fullmatch(r"(lane|strip|spacer) (\d+)(, (?:left|right|front|back))?", tail)
        if found is None:
            return "all around" if set(tails) == {"front", "back", "left", "right"} else ", ".join(tails)
        words.setdefault(found[1], []).append(int(found[2]))
    parts = []
    for word, numbers in words.items():
        first, last = min(numbers), max(numbers)
        parts.append(f"{word} {first}" if first == last else f"{word}s {first} to {last}")
    return ", ".join(parts)


@dataclass(frozen=True, slots=True)
class GapRow:
    """Gaps with one name, one size and one grade at several places, as one row of the table."""

    gap: Gap
    place: str
    graded: GradedGap


def gap_rows(graded: Iterable[GradedGap]) -> tuple[GapRow, ...]:
    """All gaps except good contacts, with identical ones combined: gaps out of limits first, then gaps at our items."""
    alike: dict[tuple[object, ...], list[GradedGap]] = {}
    for row in graded:
        gap = row.gap
        if gap.name != "overhang" and row.grade not in FITTING:
            alike.setdefault((gap.name, gap.kind, gap.least, gap.most, gap.own, row.grade), []).append(row)
    rows = [GapRow(same[0].gap, joined_places(row.gap.place for row in same), same[0]) for same in alike.values()]
    return tuple(sorted(rows, key=lambda row: (row.graded.grade.is_good, not row.gap.own)))


def contact_line(graded: Iterable[GradedGap]) -> str:
    """A sentence with the number of good contacts."""
    grades = [row.grade for row in graded if row.gap.kind == "contact" and row.gap.name != "overhang"]
    fine = sum(grade in FITTING for grade in grades)
    rest = "" if fine == len(grades) else f"; the table lists the other {len(grades) - fine}"
    return f"{fine} of the {len(grades)} required contacts are made, directly or through another part{rest}."


def other_lines(others: Iterable[GradedGap], unit: LengthUnit) -> tuple[str, ...]:
    """Sentences about how gaps differ at the other measured top-bar gaps."""
    rows = [row for row in gap_rows(others) if row.gap.kind != "declared"]
    words = dict.fromkeys(
        f"{row.gap.name} {span(row.gap.least, row.gap.most, unit)} ({grade_text(row.graded, unit)})" for row in rows
    )
    return (f"At the other gaps measured over the top bars: {'; '.join(words)}.",) if words else ()


def overhang_line(gaps: Iterable[Gap], unit: LengthUnit) -> str:
    """A sentence about how far walls overhang the walls below."""
    alike: dict[tuple[Length, Length], list[str]] = {}
    for gap in gaps:
        if gap.name == "overhang" and (gap.least or gap.most):
            alike.setdefault((gap.least, gap.most), []).append(gap.place)
    if not alike:
        return "Seen from above, every wall is in line with the wall under it."
    words = [f"{span(least, most, unit)} ({joined_places(places)})" for (least, most), places in alike.items()]
    return f"Overhang of walls over the walls below (minus: set in): {'; '.join(words)}."


def way_lines(ways: Ways) -> tuple[str, ...]:
    """Sentences about the lanes over the bars, and about places that bees should reach or must not reach."""
    lines = []
    if ways.lanes:
        shut = [str(lane.number) for lane in ways.lanes if not (lane.open and lane.down)]
        count = len(ways.lanes)
        word = "Lanes over the bars, numbered from the front: "
        if shut:
            lines.append(f"{word}lane {', '.join(shut)} of {count} does not open down between the frames.")
        else:
            lines.append(f"{word}all {count} open down between the frames.")
        up = [f"lane {lane.number} to {' and '.join(lane.up)}" for lane in ways.lanes if lane.up]
        lines.append(f"Ways up through the mesh: {'; '.join(up)}." if up else "No lane leads up past the sugar.")
    amiss = [spot for spot in ways.spots if spot.amiss]
    for spot in amiss:
        lines.append(
            f"Bees {'cannot get to, but should' if spot.should_reach else 'get to, but should not'}: {spot.name}."
        )
    if not amiss and ways.spots:
        reached = "; ".join(spot.name for spot in ways.spots if spot.reached)
        kept = "; ".join(spot.name for spot in ways.spots if not spot.reached)
        lines.append(f"Bees get to: {reached}." + (f" They are kept from: {kept}." if kept else ""))
    return tuple(lines)


def door_lines(ways: Ways) -> tuple[str, ...]:
    """Sentences about the creatures that can pass each opening; identical openings share one sentence."""
    alike: dict[tuple[str, tuple[str, ...]], int] = {}
    for each in ways.doors:
        key = (each.door.name, each.passed_by)
        alike[key] = alike.get(key, 0) + 1
    said = {
        key: ("joint of " if " on " in key[0] else "") + key[0] + (f" ({count})" if count > 1 else "")
        for key, count in alike.items()
    }
    lines = [f"Who can pass the {words}: {', '.join(key[1])}." for key, words in said.items() if key[1]]
    shut = [words for key, words in said.items() if not key[1]]
    return (*lines, *((f"Closed to bees and mice: {'; '.join(shut)}.",) if shut else ()))


def air_rows(path: AirPath, unit: LengthUnit) -> tuple[tuple[str, str, str], ...]:
    """The rows of the air path: step, clear area, and the parts around it. The smallest area is marked."""
    rows = []
    for step in path.steps:
        where = f"{step.limited_by} ({step.where})" if step.where not in step.name else step.limited_by
        if step is path.smallest:
            where = f"SMALLEST on the widest path: {where}" if step.route else f"SMALLEST: {where}"
        rows.append((step.name, step.clear.text(unit), where))
    rows += [(f"beside it: {step.name}", step.clear.text(unit), step.limited_by) for step in path.beside]
    rows += [(f"DEAD END: {end.step}", "0", f"between {end.between[0]} and {end.between[1]}") for end in path.dead_ends]
    return tuple(rows)


def air_line(path: AirPath, unit: LengthUnit) -> str:
    """The air path in one line: the area of each step, the smallest area, and any dead end."""
    steps = ", ".join(f"{step.name} {step.clear.text(unit)}" for step in path.steps)
    beside = "".join(f"; beside it {step.name} {step.clear.text(unit)}" for step in path.beside)
    ends = "".join(f" DEAD END: {end.step}, between {' and '.join(end.between)}." for end in path.dead_ends)
    least = path.smallest
    return f"Air, from the entrance up: {steps}{beside}. Smallest: {least.name}, {least.clear.text(unit)}.{ends}"


FULL = 520.0  # points: the width between the margins on both A4 and Letter
_GUTTER = 8.0
_KEY = 142.0
_SMALL, _TITLE, _LETTER = 8.5, 10.0, 13.0
_SCALES = (8, 10, 12, 16, 20, 24)  # real size over paper size
_MOST_HIGH = 250.0


def overview(hive: HiveMap, unit: LengthUnit) -> tuple[Sheet, int]:
    """The drawing of the whole hive, in sections from the side and from above, with the legend; and its scale."""
    stands = [each for name in ("through a top bar", "through a strip") if (each := hive.section(name))]
    stands = stands or [each for each in hive.sections if each.axis != Z][:1]
    lies = [each for each in hive.sections if each.axis == Z]
    names = max(61.0, 12.0 + max(width(clean(tier.name), _SMALL, REGULAR) for tier in hive.stack.tiers))
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
    """Frames that show where the details are, on every plane parallel to theirs."""
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
    """The names of the tiers, to the right of the hive. Names too close to each other are moved apart."""
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
    """The numbers of the lanes in the plane over the bars."""
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
    """The legend, `wide` points wide: patterns of grades (with limits) and of solids, and the source of the limits."""
    marks: list[Mark] = [Word("Free space, by its width", 0.0, -_TITLE, size=_TITLE, strong=True)]
    y = -_TITLE - 6.0
    for grade in GRADES:
        y = _entry(marks, y, wide, look=(PATTERNS[grade], 0.5), words=(grade, grade_limits(grade, space, unit)))
    marks.append(Word("Parts", 0.0, y - _TITLE, size=_TITLE, strong=True))
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
    """Adds a pattern swatch with its text; returns the position of the next swatch."""
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
    """A text with the limits of a grade of free space."""
    low, high = space.tightest, space.widest
    return {
        Grade.TOO_TIGHT: f"under {low.text(unit)}: bees fill it with propolis",
        Grade.SLIGHTLY_TIGHT: f"{low.number(unit)} to under {space.least.text(unit)}",
        Grade.BEE_SPACE: f"{span(space.least, space.most, unit)}: bees leave it open",
        Grade.SLIGHTLY_WIDE: f"over {space.most.number(unit)}, to {high.text(unit)}",
        Grade.TOO_WIDE: f"over {high.text(unit)}: bees build comb in it",
        Grade.WIDE_BY_DESIGN: "space that is meant to be there",
        Grade.SEALED: "closed to bees",
    }[grade]


@dataclass(frozen=True, slots=True)
class DrawnMap:
    """The map of a hive on paper: the small drawing, its scale, and the letter, title and marks of each detail."""

    hive: HiveMap
    unit: LengthUnit
    small: Sheet
    times: int
    details: tuple[tuple[str, str, Sheet], ...]


def draw_map(hive: HiveMap, unit: LengthUnit) -> DrawnMap:
    """The map of a hive, with sizes in this unit. The corner of each detail's window is at (0, 0)."""
    small, times = overview(hive, unit)
    made = detail_callouts(hive, unit)
    details = tuple((each.letter, each.title, detail_sheet(each, made[each.letter])) for each in hive.details)
    return DrawnMap(hive, unit, small, times, details)


def row_of(details: Sequence[tuple[str, str, Sheet]]) -> Sheet:
    """One or two details side by side, each below its title, on a sheet of full width."""
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


def detail_sheet(detail: Detail, made: list[Callout]) -> Sheet:
    """A detail with its frame, callouts and names, without its title."""
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
    """The name of each kind of solid, in its largest clear area."""
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
    """The name of a solid in a drawing. Walls are named for the tier to which they belong."""
    if solid.rim:
        return solid.rim + (" skirt" if solid.name.startswith("skirt") else "")
    return solid.name
