"""Where bees come and where they must not, and mice: walked through the hives as they will stand."""

from woodshop.checks.measured.hives import MeasuredHive
from woodshop.findings import Finding, Severity
from woodshop.hive.creatures import worker
from woodshop.hive.stacking.place import TierKind
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO
from woodshop.units.wording import Wording

_SLIT = "slit under the cover"  # it has a check of its own


def check_ways(place: str, hive: MeasuredHive, wording: Wording) -> list[Finding]:
    """Where bees do not come, and where they come that must not; and mice."""
    ways, found = hive.ways, []
    if ways is None:
        return []
    near = any(gap.kind == "mesh over bars" and gap.least <= ZERO for gap in hive.gaps)
    shut = [lane for lane in ways.lanes if not (lane.open and lane.down)]
    if shut and not near:
        numbers = ", ".join(str(lane.number) for lane in shut)
        found.append(
            Finding(
                "lane-shut",
                Severity.WARNING,
                place,
                f"lane {numbers} between the strips, from the front: no worker finds room, or gets down between frames",
                "lanes that open down between the frames",
                worker().row.cite,
                "Raise the mesh, or use fewer strips.",
            )
        )
    missed = [spot.name for spot in ways.spots if spot.wanted and not spot.reached]
    if missed:
        found.append(
            Finding(
                "bees-cannot-reach",
                Severity.ERROR,
                place,
                f"bees do not get from the frames to: {', '.join(missed)}",
                "a way for a worker through mesh, channel and corner vents",
                worker().row.cite,
                "Look what lies across the way: strips, a mesh too fine, sugar up to the floor above, or a mesh that "
                "lies on the bars.",
            )
        )
    found += _where_not(place, hive, wording)
    return found


def _where_not(place: str, hive: MeasuredHive, wording: Wording) -> list[Finding]:
    ways, found = hive.ways, []
    if ways is None:
        return []
    theirs = TierKind.INNER_COVER in hive.kinds  # its hole is there for bees to pass
    inside = [
        spot.name
        for spot in ways.spots
        if spot.wanted is False and spot.reached and not (theirs and spot.name == "under the cover")
    ]
    outs = [
        f"{each.door.name}, {each.door.tier}"
        for each in ways.doors
        if each.lets_out and not each.door.for_bees and each.door.name != _SLIT and " on " not in each.door.name
    ]
    if inside or outs:
        found.append(
            Finding(
                "bees-get-in",
                Severity.ERROR,
                place,
                f"bees get to: {', '.join((*inside, *outs))}",
                "closed to bees: less than a worker passes",
                worker().row.cite,
                wording.quoted("Close it with mesh of 1/8 in, or cloth."),
            )
        )
    return [*found, *_mice(place, hive, wording)]


def _mice(place: str, hive: MeasuredHive, wording: Wording) -> list[Finding]:
    """Doors that even the mouse passes which the slot of 8 mm is said to hold; our own entrances have their own check.

    An entrance without a guard is the user's to close: a note.
    """
    if hive.ways is None:
        return []
    row, found = fact("opening.mouse_slot"), []
    doors = [each.door for each in hive.ways.passed_by("mouse") if each.door.name != "upper entrance"]
    if any(door.name == "entrance" for door in doors) and TierKind.ENTRANCE not in hive.kinds:
        found.append(
            Finding(
                "mice-at-the-entrance",
                Severity.NOTE,
                place,
                "the entrance of the bottom board is open to mice",
                f"{wording.quoted(row.value)} high at most, or a guard in front of it, before the nights turn cold",
                row.cite,
                'Reduce it, or add "mouse guard" to what is made.',
            )
        )
    others = [f"{door.name}, {door.tier}" for door in doors if door.name != "entrance" and " on " not in door.name]
    if others:
        found.append(
            Finding(
                "mice-get-in",
                Severity.WARNING,
                place,
                f"open to mice: {', '.join(others)}",
                f"at most {wording.quoted(row.value)}, or mesh over it",
                row.cite,
                wording.quoted("Close it with mesh of 1/4 in or finer."),
            )
        )
    return found
