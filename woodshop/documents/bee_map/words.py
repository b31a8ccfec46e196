"""What is said of the gaps, ways and openings of a hive: grades in plain words, and the rows of the tables."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from woodshop.hive.creatures import worker_width
from woodshop.hive.gaps.faces import Gap
from woodshop.hive.gaps.grading import FITTING, GapLimits, Grade, GradedGap
from woodshop.hive.passages.air import AirPath
from woodshop.hive.passages.doors import Ways
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import LengthUnit, wording_of


def span(least: Length, most: Length, unit: LengthUnit) -> str:
    """From the least to the most, once where they are the same.

    >>> from woodshop.units.lengths import inch
    >>> span(inch("1/4"), inch("3/8"), "in"), span(inch("1/4"), inch("1/4"), "in")
    ('1/4 to 3/8 in', '1/4 in')
    """
    return least.text(unit) if least == most else f"{least.number(unit)} to {most.text(unit)}"


def limits_text(limits: GapLimits, unit: LengthUnit) -> str:
    """Limits in the unit of the design, with what they include."""
    if limits.under:
        return f"under {worker_width(unit)}"
    note = f" {limits.note}" if limits.note else ""
    if limits.least is not None and limits.most is not None:
        return f"{span(limits.least, limits.most, unit)}{note}"
    if limits.least:
        return f"{limits.least.text(unit)} or more{note}"
    return wording_of(unit).quoted(limits.words)


def grade_text(row: GradedGap, unit: LengthUnit) -> str:
    """The grade of a gap, and how far it is off."""
    if row.grade is Grade.OVERLAPS:
        return f"{row.grade}, by {(ZERO - row.gap.least).text(unit)}"
    off = max(row.limits.off(row.gap.least), row.limits.off(row.gap.most))
    return row.grade if row.grade.is_good or off == ZERO else f"{row.grade}, by {off.text(unit)}"


def joined_places(places: Iterable[str]) -> str:
    """Places as short as they can be said: "box 1: left, right; box 2".

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
            return "all round" if set(tails) == {"front", "back", "left", "right"} else ", ".join(tails)
        words.setdefault(found[1], []).append(int(found[2]))
    parts = []
    for word, numbers in words.items():
        first, last = min(numbers), max(numbers)
        parts.append(f"{word} {first}" if first == last else f"{word}s {first} to {last}")
    return ", ".join(parts)


@dataclass(frozen=True, slots=True)
class GapRow:
    """Gaps of one name, one size and one grade at several places, as one row of the table."""

    gap: Gap
    place: str
    graded: GradedGap


def gap_rows(graded: Iterable[GradedGap]) -> tuple[GapRow, ...]:
    """Every gap but contacts that are as they should be, alike ones together: gaps out of their limits first, then
    those at our own things."""
    alike: dict[tuple[object, ...], list[GradedGap]] = {}
    for row in graded:
        gap = row.gap
        if gap.name != "overhang" and row.grade not in FITTING:
            alike.setdefault((gap.name, gap.kind, gap.least, gap.most, gap.own, row.grade), []).append(row)
    rows = [GapRow(same[0].gap, joined_places(row.gap.place for row in same), same[0]) for same in alike.values()]
    return tuple(sorted(rows, key=lambda row: (row.graded.grade.is_good, not row.gap.own)))


def contact_line(graded: Iterable[GradedGap]) -> str:
    """How many contacts touch as they should."""
    grades = [row.grade for row in graded if row.gap.kind == "contact" and row.gap.name != "overhang"]
    fine = sum(grade in FITTING for grade in grades)
    rest = "" if fine == len(grades) else "; the rest stand in the table"
    return f"{fine} of {len(grades)} things that should touch do, or rest on what does{rest}."


def other_lines(others: Iterable[GradedGap], unit: LengthUnit) -> tuple[str, ...]:
    """What comes out otherwise on hives with another measured gap over the top bars."""
    rows = [row for row in gap_rows(others) if row.gap.kind != "declared"]
    words = dict.fromkeys(
        f"{row.gap.name} {span(row.gap.least, row.gap.most, unit)} ({grade_text(row.graded, unit)})" for row in rows
    )
    return (f"Where the gap over the top bars was measured otherwise: {'; '.join(words)}.",) if words else ()


def overhang_line(gaps: Iterable[Gap], unit: LengthUnit) -> str:
    """How far walls stand out over those beneath."""
    alike: dict[tuple[Length, Length], list[str]] = {}
    for gap in gaps:
        if gap.name == "overhang" and (gap.least or gap.most):
            alike.setdefault((gap.least, gap.most), []).append(gap.place)
    if not alike:
        return "Seen from above, every wall lies in line with the wall under it."
    words = [f"{span(least, most, unit)} ({joined_places(places)})" for (least, most), places in alike.items()]
    return f"Overhang of walls over those beneath (with a minus: it falls short): {'; '.join(words)}."


def way_lines(ways: Ways) -> tuple[str, ...]:
    """Lanes over the bars, places bees should reach or must not, and the doors with who passes them."""
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
        lines.append(f"Bees {'do not get' if spot.should_reach else 'get'} to: {spot.name}; wanted: the other way.")
    if not amiss and ways.spots:
        reached = "; ".join(spot.name for spot in ways.spots if spot.reached)
        kept = "; ".join(spot.name for spot in ways.spots if not spot.reached)
        lines.append(f"Bees get to: {reached}." + (f" They are kept from: {kept}." if kept else ""))
    return tuple(lines)


def door_lines(ways: Ways) -> tuple[str, ...]:
    """Who passes each door, like ones together."""
    alike: dict[tuple[str, tuple[str, ...]], int] = {}
    for each in ways.doors:
        key = (each.door.name, each.passed_by)
        alike[key] = alike.get(key, 0) + 1
    said = {key: key[0] + (f" ({count})" if count > 1 else "") for key, count in alike.items()}
    lines = [f"Who can pass the {words}: {', '.join(key[1])}." for key, words in said.items() if key[1]]
    shut = [words for key, words in said.items() if not key[1]]
    return (*lines, *((f"Nobody passes: {'; '.join(shut)}.",) if shut else ()))


def air_rows(path: AirPath, unit: LengthUnit) -> tuple[tuple[str, str, str], ...]:
    """The air path: step, clear area, what bounds it; the smallest said so."""
    rows = []
    for step in path.steps:
        where = f"{step.limited_by} ({step.where})" if step.where not in step.name else step.limited_by
        if step is path.smallest:
            where = f"SMALLEST of the roomiest way: {where}" if step.route else f"SMALLEST: {where}"
        rows.append((step.name, step.clear.text(unit), where))
    rows += [(f"beside it: {step.name}", step.clear.text(unit), step.limited_by) for step in path.beside]
    rows += [(f"DEAD END: {end.step}", "0", f"between {end.between[0]} and {end.between[1]}") for end in path.dead_ends]
    return tuple(rows)


def air_line(path: AirPath, unit: LengthUnit) -> str:
    """The air path in a line: the area of each step, the smallest again at the end, and where it ends if it does."""
    steps = ", ".join(f"{step.name} {step.clear.text(unit)}" for step in path.steps)
    beside = "".join(f"; beside it {step.name} {step.clear.text(unit)}" for step in path.beside)
    ends = "".join(f" DEAD END: {end.step}, between {' and '.join(end.between)}." for end in path.dead_ends)
    least = path.smallest
    return f"Air, from the entrance up: {steps}{beside}. Smallest: {least.name}, {least.clear.text(unit)}.{ends}"
