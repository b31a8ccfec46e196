"""What is said of the gaps, ways and openings of a hive: grades in plain words, and the rows of the tables."""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from woodshop.checks.measured.mesh_state import LoadedMesh
from woodshop.hive.gaps.gaps import Gap
from woodshop.hive.passages.air import AirPath
from woodshop.hive.passages.bee_map import Grade
from woodshop.hive.passages.creatures import worker, worker_width
from woodshop.hive.passages.ways import Ways
from woodshop.reference.limits import Band
from woodshop.units.lengths import ZERO, Length

WORDS: dict[Grade, str] = {
    "tight": "too tight",
    "nearly tight": "nearly too tight",
    "bee space": "bee space",
    "nearly wide": "nearly too wide",
    "wide": "too wide",
    "meant wide": "wide on purpose",
    "shut": "closed to bees",
}
ON_WALL = " on wall"
_WORST: tuple[Grade, ...] = ("tight", "wide", "nearly tight", "nearly wide", "bee space", "meant wide", "shut")


@dataclass(frozen=True, slots=True)
class Scale:
    """What gaps are graded by: a published band, the margins beside it that are a warning, and the mesh as fresh sugar
    makes it sag, at each gap over the top bars."""

    band: Band
    amber: tuple[Length, Length]
    mesh: tuple[LoadedMesh, ...] = ()

    def loaded(self, gap: Gap) -> LoadedMesh | None:
        """The mesh that hung at that gap before it sagged, the one that leaves least; None where there is no sugar."""
        hung = (each for each in self.mesh if gap.least <= each.room <= gap.most)
        return min(hung, key=lambda each: each.left, default=None)

    def grade(self, size: Length) -> Grade:
        """The grade of a way that bees use. What is exactly a limit lies within it."""
        if self.band.holds(size):
            return "bee space"
        if size < self.band.least:
            return "nearly tight" if size >= self.amber[0] else "tight"
        return "nearly wide" if size <= self.amber[1] else "wide"


def span(least: Length, most: Length, unit: str) -> str:
    """From the least to the most, once where they are the same.

    >>> from woodshop.units.lengths import inch
    >>> span(inch("1/4"), inch("3/8"), "in"), span(inch("1/4"), inch("1/4"), "in")
    ('1/4 to 3/8 in', '1/4 in')
    """
    return least.text(unit) if least == most else f"{least.number(unit)} to {most.text(unit)}"


@dataclass(frozen=True, slots=True)
class Verdict:
    """What is said of a gap: whether all is well with it, its grade, in words, what is wanted, whose word it is."""

    good: bool
    grade: Grade | None
    words: str
    wanted: str
    source: str


def verdict(gap: Gap, scale: Scale, unit: str) -> Verdict:
    """A gap against its limits: bees' ways by the band; mesh over bars by its own rule; the rest by what it is for."""
    cite = scale.band.cite
    if gap.kind == "bees' way":
        grade = min((scale.grade(gap.least), scale.grade(gap.most)), key=_WORST.index)
        words = _by_how_much(WORDS[grade], gap, (scale.band.least, scale.band.most), unit)
        return Verdict(grade == "bee space", grade, words, span(scale.band.least, scale.band.most, unit), cite)
    if gap.kind == "mesh over bars":
        limits = (scale.amber[0], scale.band.most)
        wanted = f"{span(*limits, unit)} under mesh"
        if gap.least < limits[0]:
            words = "mesh touches the bars" if gap.least <= ZERO else "mesh too near the bars"
            return Verdict(False, "tight", _by_how_much(words, gap, limits, unit), wanted, cite)
        mesh = scale.loaded(gap)
        if mesh is not None and not mesh.left:
            return Verdict(False, "tight", f"mesh sags {mesh.sag.text(unit)} and lies on the bars", wanted, cite)
        if mesh is not None and mesh.left < limits[0]:
            words = f"too near the bars once it sags {mesh.sag.text(unit)}: {mesh.left.text(unit)} left"
            return Verdict(False, "nearly tight", words, wanted, cite)
        grade = scale.grade(gap.most) if gap.most > limits[1] else "bee space"
        words = "clear" if grade == "bee space" else _by_how_much(WORDS[grade], gap, limits, unit)
        return Verdict(grade == "bee space", grade, words, wanted, cite)
    if gap.kind == "mesh on strip":
        return _on_strip(gap, scale, unit)
    if gap.kind == "shut":
        row = worker()
        wanted = f"under {worker_width(unit)}"
        if gap.most < row.size:
            return Verdict(True, "shut", "closed to bees", wanted, row.row.cite)
        return Verdict(False, scale.grade(gap.most), "open to bees", wanted, row.row.cite)
    if gap.kind == "declared":
        good = gap.least >= ZERO
        return Verdict(good, "meant wide" if good else None, "meant so" if good else "short", "as made", "")
    if gap.least < ZERO:
        short = span(-gap.most if gap.most < ZERO else ZERO, -gap.least, unit)
        return Verdict(False, None, f"falls short by {short}", "nothing between", "")
    if gap.name == "strip to mesh" and gap.most > ZERO and scale.mesh and all(mesh.rests for mesh in scale.mesh):
        return Verdict(True, None, "carries it once it sags", "nothing between", "")
    good = gap.most == ZERO
    return Verdict(good, None, "touches" if good else "stands off", "nothing between", "")


def _on_strip(gap: Gap, scale: Scale, unit: str) -> Verdict:
    """How high a strip holds the mesh that rests on it: so high that what sags between leaves bees their room."""
    if not scale.mesh or not all(mesh.rests for mesh in scale.mesh):
        return Verdict(True, None, "the mesh does not rest on it", "no limit", "")
    between = max(mesh.between for mesh in scale.mesh)
    wanted = f"{scale.amber[0].text(unit)} and the {between.text(unit)} it sags between"
    good = gap.least - between >= scale.amber[0]
    words = "clear" if good else "too low: the mesh on it comes too near the bars"
    return Verdict(good, None if good else "nearly tight", words, wanted, scale.band.cite)


def _by_how_much(words: str, gap: Gap, limits: tuple[Length, Length], unit: str) -> str:
    under, over = limits[0] - gap.least, gap.most - limits[1]
    if under > ZERO and under >= over:
        return f"{words}, by {under.text(unit)}"
    return f"{words}, by {over.text(unit)}" if over > ZERO else words


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
    """Gaps of one name and one size at several places, as one row of the table."""

    gap: Gap
    place: str
    verdict: Verdict


def gap_rows(gaps: Iterable[Gap], scale: Scale, unit: str) -> tuple[GapRow, ...]:
    """Every gap but contacts that touch, alike ones together; what is not well first, then what our own things make.

    `gaps` are gathered ones.
    """
    given = tuple(gaps)
    off = astray(given)
    alike: dict[tuple[object, ...], list[Gap]] = {}
    for gap in given:
        if gap.kind != "contact" or gap in off:
            alike.setdefault((gap.name, gap.kind, gap.least, gap.most, gap.own), []).append(gap)
    rows = [
        GapRow(group[0], joined_places(gap.place for gap in group), verdict(group[0], scale, unit))
        for group in alike.values()
    ]
    return tuple(sorted(rows, key=lambda row: (row.verdict.good, not row.gap.own)))


def carried(gaps: Iterable[Gap]) -> frozenset[str]:
    """Where a wall bears on the one beneath, or on mesh or cloth that lies on it: what else is there may stand off."""
    return frozenset(gap.place for gap in gaps if gap.name.endswith(ON_WALL) and not gap.least and not gap.most)


def astray(gaps: Iterable[Gap]) -> list[Gap]:
    """The contacts that do not touch, where nothing else carries; overhangs are told elsewhere."""
    given = [gap for gap in gaps if gap.kind == "contact" and gap.name != "overhang"]
    sits = carried(given)
    return [gap for gap in given if (gap.least or gap.most) and not (gap.name.endswith(ON_WALL) and gap.place in sits)]


def contact_line(gaps: Iterable[Gap]) -> str:
    """How many contacts touch as they should."""
    given = [gap for gap in gaps if gap.kind == "contact" and gap.name != "overhang"]
    fine = len(given) - len(astray(given))
    rest = "" if fine == len(given) else "; the rest stand in the table"
    return f"{fine} of {len(given)} things that should touch do, or rest on what does{rest}."


def other_lines(others: Iterable[Gap], scale: Scale, unit: str) -> tuple[str, ...]:
    """What comes out otherwise on hives with another measured gap over the top bars."""
    rows = [row for row in gap_rows(others, scale, unit) if row.gap.kind != "declared"]
    words = dict.fromkeys(
        f"{row.gap.name} {span(row.gap.least, row.gap.most, unit)} ({row.verdict.words})" for row in rows
    )
    return (f"Where the gap over the top bars was measured otherwise: {'; '.join(words)}.",) if words else ()


def overhang_line(gaps: Iterable[Gap], unit: str) -> str:
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
        lines.append(f"Bees {'do not get' if spot.wanted else 'get'} to: {spot.name}; wanted: the other way.")
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


def air_rows(path: AirPath, unit: str) -> tuple[tuple[str, str, str], ...]:
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


def air_line(path: AirPath, unit: str) -> str:
    """The air path in a line: the area of each step, the smallest again at the end, and where it ends if it does."""
    steps = ", ".join(f"{step.name} {step.clear.text(unit)}" for step in path.steps)
    beside = "".join(f"; beside it {step.name} {step.clear.text(unit)}" for step in path.beside)
    ends = "".join(f" DEAD END: {end.step}, between {' and '.join(end.between)}." for end in path.dead_ends)
    least = path.smallest
    return f"Air, from the entrance up: {steps}{beside}. Smallest: {least.name}, {least.clear.text(unit)}.{ends}"
