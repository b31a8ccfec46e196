"""Checks the air path to the slit under the cover, and the paths of bees and mice."""

from collections.abc import Iterator

from woodshop.checks.hives import HiveGroup, MeasuredHive
from woodshop.checks.remedies import CheckContext, Remedy, higher_rim
from woodshop.findings import Finding, Severity
from woodshop.hive.creatures import OpeningName, PartName, worker
from woodshop.hive.passages.doors import QUILT_FLOOR
from woodshop.hive.stacking.place import TierKind
from woodshop.reference.cautions import cautions
from woodshop.reference.facts import fact
from woodshop.reference.materials import mesh
from woodshop.units.lengths import ZERO
from woodshop.units.wording import Wording

OUT = "out of the hive"
_TIGHT = (
    'Ask what works locally. For a closed top, remove the vent spacers and set holes = "none" for the quilt '
    "box. To compare, add temperatures under [climate]."
)
_OPEN = (
    'Ask what works locally. If you want an open top, add "vent spacers" or a quilt box. '
    "To compare, add temperatures under [climate] in the design."
)


def check_air(place: str, hive: MeasuredHive, whole: CheckContext) -> Iterator[Finding]:
    """Finds dead ends in the air path: a channel that leads nowhere, or sugar packed up to a closed floor."""
    if hive.air is None:
        return
    ends = [end for end in hive.air.dead_ends if end.step != OUT]
    if ends:
        words = "; ".join(f"{end.step}, between {end.between[0]} and {end.between[1]}" for end in ends)
        over = any(end.between[0] == PartName.SUGAR for end in ends)
        cure = higher_rim(whole) if over else ()
        change = "Damp air stays over the bees. "
        change += f"Make the rim taller: height = {cure[0][1]}." if cure else "Remove whatever lies on the mesh there."
        yield Finding(
            "air-dead-end",
            Severity.WARNING,
            place,
            f"the air path is blocked: {words}",
            "an open path from the frames, through the channel and the corner vents, over the sugar and out",
            "geometry",
            change,
            cure,
        )


def check_top_ventilation(groups: tuple[HiveGroup, ...]) -> list[Finding]:
    """Reports whether air leaves at the top of the hives, with the published advice for and against it."""
    gives: list[str] = []
    holds: list[str] = []
    for group in groups:
        for place, measured in group.alternatives:
            air = measured[0][1].air
            if air is None or not any(step.route for step in air.steps):
                continue
            (holds if any(end.step == OUT for end in air.dead_ends) else gives).append(place)
    if not gives and not holds:
        return []
    (row,) = (row for row in cautions("wintering") if "top ventilation" in row.text)
    return [
        Finding(
            "top-ventilation-is-disputed",
            Severity.NOTE,
            "; ".join(places),
            said,
            row.text.rstrip("."),
            row.cite,
            change,
        )
        for places, said, change in (
            (gives, "air can escape at the top of a hive", _TIGHT),
            (holds, "air cannot get out under the cover", _OPEN),
        )
        if places
    ]


_SLIT = OpeningName.SLIT  # it has its own check


def check_ways(place: str, hive: MeasuredHive, wording: Wording, screened: str = "") -> Iterator[Finding]:
    """Finds places that bees must reach but cannot, places that they must not reach but can, and openings for mice.

    `screened` is the item, if any, whose key `screen` chooses the mesh of its vent holes and floor.
    """
    ways = hive.ways
    if ways is None:
        return
    is_close = any(gap.kind == "mesh over bars" and gap.least <= ZERO for gap in hive.gaps)
    shut = [lane for lane in ways.lanes if not (lane.open and lane.down)]
    if shut and not is_close:
        numbers = ", ".join(str(lane.number) for lane in shut)
        lane, is_ = ("lane", "is") if len(shut) == 1 else ("lanes", "are")
        yield Finding(
            "lane-sealed",
            Severity.WARNING,
            place,
            f"{lane} {numbers} between the strips, counted from the front, {is_} too tight for a worker bee or closed "
            "below",
            "lanes wide enough for a worker bee and open down to the frames",
            worker().row.cite,
            "Bees cannot feed there. Raise the mesh, or use fewer strips.",
        )
    missed = [spot.name for spot in ways.spots if spot.should_reach and not spot.reached]
    if missed:
        yield Finding(
            "bees-cannot-reach",
            Severity.ERROR,
            place,
            f"bees cannot get from the frames to: {', '.join(missed)}",
            "a path for a worker bee through mesh, channel and corner vents",
            worker().row.cite,
            "Bees could starve below their food. Look for whatever blocks the path: a strip, fine mesh, sugar up to "
            "the floor above, or mesh on the bars.",
        )
    yield from _where_not(place, hive, wording, screened)


def _where_not(place: str, hive: MeasuredHive, wording: Wording, screened: str) -> Iterator[Finding]:
    ways = hive.ways
    if ways is None:
        return
    theirs = TierKind.INNER_COVER in hive.kinds  # its hole is meant for bees
    inside = [
        spot.name
        for spot in ways.spots
        if spot.should_reach is False and spot.reached and not (theirs and spot.name == "under the cover")
    ]
    outs = [
        each.door
        for each in ways.passed_by("worker")
        if not each.door.for_bees and each.door.name != _SLIT and " on " not in each.door.name
    ]
    if inside or outs:
        fine = mesh("1/8 in").sold(wording.unit)
        lines: Remedy = ()
        change = "Close the opening with 1/8 in mesh or cloth."
        if screened and all(door.screens for door in outs) and all(name == QUILT_FLOOR for name in inside):
            change = f'Set screen = "{fine}" for the {screened}.'
            lines = ((f"make.{screened}.screen", f'"{fine}"'),)
        yield Finding(
            "bees-get-in",
            Severity.ERROR,
            place,
            f"bees can get to: {'; '.join((*inside, *(f'{door.name}, {door.tier}' for door in outs)))}",
            "openings too small for a worker bee",
            worker().row.cite,
            wording.said(f"Bees would be lost there. {change}"),
            lines,
        )
    yield from _mice(place, hive, wording)


def _mice(place: str, hive: MeasuredHive, wording: Wording) -> Iterator[Finding]:
    """Finds openings wide enough even for a mouse that an 8 mm slot is said to stop.

    The upper entrances that we make have their own check. A user's entrance without a guard gets only a note.
    """
    if hive.ways is None:
        return
    row = fact("opening.mouse_slot")
    doors = [each.door for each in hive.ways.passed_by("mouse") if each.door.name != OpeningName.UPPER_ENTRANCE]
    if any(door.name == OpeningName.ENTRANCE for door in doors) and TierKind.ENTRANCE not in hive.kinds:
        yield Finding(
            "mice-at-the-entrance",
            Severity.NOTE,
            place,
            "mice can get in at the bottom board's entrance",
            f"at most {row.worded(wording)} tall, or a guard over the entrance, before cold nights",
            row.cite,
            'A mouse ruins comb all winter. Fit a mouse guard ("mouse guard" under [[make]]) or an entrance reducer.',
        )
    others = [
        f"{door.name}, {door.tier}" for door in doors if door.name != OpeningName.ENTRANCE and " on " not in door.name
    ]
    if others:
        yield Finding(
            "mice-get-in",
            Severity.WARNING,
            place,
            f"mice can get in through: {', '.join(others)}",
            f"openings of at most {row.worded(wording)}, or mesh over them",
            row.cite,
            wording.said("A mouse ruins comb all winter. Close the opening with 1/4 in mesh or finer."),
        )
