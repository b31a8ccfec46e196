"""Checks how parts rest on each other: overhangs, gaps over walls, the cover's skirt, and vent holes behind it."""

from collections.abc import Iterator

from woodshop.checks.hives import HiveGroup, MeasuredHive
from woodshop.checks.remedies import CheckContext, Remedy, given, hives_key, quilt_height, taller_rim
from woodshop.design.batch import in_tier
from woodshop.findings import Finding, Severity
from woodshop.hardware.registry import Item
from woodshop.hive.creatures import OpeningName, worker, worker_width
from woodshop.hive.gaps.faces import GapName
from woodshop.hive.gaps.seating import Seat
from woodshop.hive.stacking.place import TierKind
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import LengthUnit

_ENDS = ("front", "back")
_ITS_SIZES = "Change the sizes given for this item."


def check_seating(
    group: HiveGroup, place: str, measured: tuple[tuple[Length, MeasuredHive], ...], whole: CheckContext
) -> Iterator[Finding]:
    """Checks how the parts of one hive rest on each other, at the smallest gap, where parts are lifted the most."""
    hive = measured[0][1]
    for seat in hive.seats:
        if seat.own:
            yield from [*_overhangs(group, place, seat, whole), *_leaks(group, place, seat, whole)]
            yield from _wood_off_wood(place, seat, whole)
    yield from _cover(group, place, hive, whole)
    yield from _cover_lifted(place, hive, whole)
    yield from _notch(place, hive, whole)
    yield from _vent_holes(group, place, hive, whole)


def _overhangs(group: HiveGroup, place: str, seat: Seat, whole: CheckContext) -> Iterator[Finding]:
    row, sized = fact("box.overhang_most"), _is_sized_by_rim(group, seat.tier)
    setting = next(iter(group.units.values())).line.setting
    for word, key, size, sides in (
        ("end", "rim_length", setting.box.length, _ENDS),
        ("side", "rim_width", setting.box.width, ("left", "right")),
    ):
        over = max((by for side, by in seat.overhangs if side in sides), key=abs, default=ZERO)
        if abs(over) <= row.length:
            continue
        how = (
            f"overhangs the {_under(seat)} by {whole.say(over)}"
            if over > ZERO
            else f"stops {whole.say(-over)} short of the {_under(seat)}'s edge"
        )
        least, most = ((size + by * 2).number(whole.unit) for by in (-row.length, row.length))
        yield Finding(
            "rim-off-the-edge",
            Severity.WARNING,
            place,
            f"the {_made(group, seat.tier)} {how} at each {word}",
            f"at most {whole.say(row.length)}",
            row.cite,
            "A ledge catches rain. "
            + (f"Set {key} between {least} and {most}, or remove the line." if sized else _ITS_SIZES),
            ((hives_key(group, key), ""),) if sized else (),
        )


def _items(group: HiveGroup, tier: str) -> list[Item]:
    """The items for these hives that together form a tier."""
    made = (unit.line.item for unit in group.units.values())
    return [item for item in made if item.place is not None and item.place.name == tier]


def _made(group: HiveGroup, tier: str) -> str:
    """The name of the item that gives a tier its walls."""
    return next((item.place.made_of[0] for item in _items(group, tier) if item.place and item.place.made_of), tier)


def _is_sized_by_rim(group: HiveGroup, tier: str) -> bool:
    """Whether rim_length and rim_width set the outside of a tier."""
    return any(item.on_rim for item in _items(group, tier))


def _under(seat: Seat) -> str:
    return "box" if seat.on.startswith("box") else seat.on


def _leaks(group: HiveGroup, place: str, seat: Seat, whole: CheckContext) -> Iterator[Finding]:
    """Finds stretches of wall with no wood below, through which air and bees can get in.

    Skips a tier that is lifted.
    """
    if seat.lifted > ZERO or not seat.leaks:
        return
    who, high = worker(), max(leak.height for leak in seat.leaks)
    walks = high >= who.size
    sides, made = ", ".join(dict.fromkeys(leak.side for leak in seat.leaks)), _made(group, seat.tier)
    lines = tuple(
        (hives_key(group, key), "")
        for key, at in (("rim_length", _ENDS), ("rim_width", ("left", "right")))
        if _is_sized_by_rim(group, seat.tier) and any(by for side, by in seat.overhangs if side in at)
    )
    yield Finding(
        "rim-leaves-a-way",
        Severity.ERROR if walks else Severity.WARNING,
        place,
        f"the {made} leaves a gap {whole.say(high)} high at its {sides}",
        "contact all around" + (f"; a worker bee fits through {worker_width(whole.wording.of_texts)}" if walks else ""),
        who.row.cite,
        f"{'Robbers' if walks else 'Wind'} can get in. "
        + (
            f"Make the {made} the size of the box: remove rim_width and rim_length."
            if lines
            else f"Find out what holds the {made} up."
        ),
        lines,
    )


def _wood_off_wood(place: str, seat: Seat, whole: CheckContext) -> Iterator[Finding]:
    if not seat.remark:
        return
    row = fact("wire_bottom.lift")
    yield Finding(
        "wood-off-wood",
        Severity.NOTE,
        place,
        f"the rim sits on its mesh: wires and staples lift it up to {whole.say(row.length)} off the box",
        "wood on wood, if possible",
        row.cite,
        'Bees seal the slit with propolis. Drive every staple home, or set mounting = "flush rabbet".',
    )


def _cover(group: HiveGroup, place: str, hive: MeasuredHive, whole: CheckContext) -> Iterator[Finding]:
    """Finds a cover that is too small for the walls below, so that its skirt rests on them."""
    if not hive.skirt_on:
        return
    short = {side: by for side, by in (hive.fit.clearance if hive.fit else ()) if by < ZERO}
    by = min(short.values(), default=ZERO)
    row, setting = fact("cover.clearance"), next(iter(group.units.values())).line.setting
    lines: Remedy = tuple(
        (hives_key(group, key), "")
        for axis, key in ((0, "rim_length"), (1, "rim_width"))
        if setting.overhang[axis] > ZERO
    )
    what = ", ".join(_made(group, name) for name in hive.skirt_on)
    much = f" by {whole.say(abs(by))} on each side" if short else ""
    yield Finding(
        "cover-too-small",
        Severity.ERROR,
        place,
        f"the cover is too small for the {what}{much}",
        f"{whole.say(row.length)} of clearance at each side",
        row.cite,
        f"The cover will not go over the hive. Make the rim {whole.say(abs(by) * 2)} smaller across, or delete "
        "rim_length and rim_width, if you set them."
        if lines
        else "The cover will not go over the hive. Measure the inside of the cover again, and correct cover_clearance, "
        "or cover_length and cover_width.",
        lines,
    )


def _cover_lifted(place: str, hive: MeasuredHive, whole: CheckContext) -> Iterator[Finding]:
    """Finds a cover or spacers that rest on something higher than the walls, which leaves a slit all around."""
    lifts = [gap.least for gap in hive.gaps if gap.name in (GapName.COVER_ON_WALL, GapName.SPACER_ON_WALL)]
    if not hive.cover_on or not lifts or min(lifts) <= ZERO:
        return
    who, lifted = worker(), min(lifts)
    yield Finding(
        "cover-off-the-walls",
        Severity.ERROR if lifted >= who.size else Severity.WARNING,
        place,
        f"{' and '.join(hive.cover_on)} {'hold' if len(hive.cover_on) > 1 else 'holds'} the cover "
        f"{whole.say(lifted)} off the walls",
        f"a cover that sits on walls or spacers; a worker bee fits through {worker_width(whole.wording.of_texts)}",
        who.row.cite,
        f"Wind{' and robbers' if lifted >= who.size else ''} can get in. Lower the part that holds the cover up, or "
        f"make the walls taller, by {whole.say(lifted)}.",
    )


def _notch(place: str, hive: MeasuredHive, whole: CheckContext) -> Iterator[Finding]:
    """Finds a cover's skirt that hangs in front of the upper entrance.

    Also reports whether workers can still get through, under the edge of the skirt and between skirt and wall.
    """
    notch = hive.notch
    if notch is None or notch.clear >= ZERO or hive.ways is None:
        return
    who, covered = worker(), abs(notch.clear)
    shut = not any(who.name in door.passed_by for door in hive.ways.door(OpeningName.UPPER_ENTRANCE))
    behind = [gap.least for gap in hive.gaps if gap.place.endswith("cover over board, front")]
    lines = taller_rim(whole)
    yield Finding(
        "skirt-over-entrance",
        Severity.ERROR if shut else Severity.NOTE,
        place,
        f"the cover's skirt hides {whole.say(min(covered, notch.height))} of an upper entrance "
        f"{whole.say(notch.height)} high, so {whole.say(notch.left)} is open under it"
        + (f", and {whole.say(behind[0])} behind it" if behind else ""),
        f"at least {worker_width(whole.wording.of_texts)} open for a worker bee, and preferably no skirt in front",
        who.row.cite,
        f"Bees cannot get out. Make the rim {whole.say(covered)} taller (height = {lines[0][1]}), or raise the cover."
        if shut
        else "Bees have little space to get out. Push the cover forward so that its skirt clears the entrance, or "
        f"raise it by {whole.say(covered)} on vent spacers.",
        lines,
    )


def _vent_holes(group: HiveGroup, place: str, hive: MeasuredHive, whole: CheckContext) -> Iterator[Finding]:
    """Finds vent holes of a quilt box that the skirt hides, and reports the area that is still open."""
    hidden = [hole for hole in hive.holes if hole.hidden > ZERO]
    if not hidden:
        return
    breathing = sum(hole.breathing for hole in hive.holes)
    most, row = max(hole.hidden for hole in hidden), fact("cover.skirt_depth")
    covered = whole.wording.range(hole.hidden for hole in hidden)
    lines: Remedy = ()
    quilt = in_tier(group.units, TierKind.TOP_BOX)
    change = "Less damp air can get out. Use smaller holes, or raise the cover."
    if quilt is not None:
        wall = quilt.assembly.named("side")[0].box.size(2)
        high = quilt_height(whole, quilt, most)
        lines = ((f"make.{quilt.line.item.name}.height", given(high, whole.unit)),)
        change = (
            f"Less damp air can get out. Make the box {whole.say(high - wall)} taller (height = {lines[0][1]}), or use "
            "smaller holes."
        )
    yield Finding(
        "vent-under-skirt",
        Severity.ERROR if all(hole.hidden == hole.diameter for hole in hive.holes) else Severity.WARNING,
        place,
        f"the cover's skirt hides {covered} of the {whole.say(hidden[0].diameter)} vent holes, leaving "
        f"{_of_area(breathing, sum(hole.area for hole in hive.holes), whole.wording.of_texts)} open, screens not "
        "counted",
        "holes below the skirt",
        row.cite,
        change,
        lines,
    )


def _of_area(part: float, area: float, unit: LengthUnit) -> str:
    """An area and the larger area that it is part of, as text. Both are given in square inches.

    >>> _of_area(1.5, 3.14159, "in"), _of_area(1.5, 3.14159, "mm")
    ('1.50 of 3.14 sq in', '9.7 of 20.3 cm\u00b2')
    """
    if unit == "mm":
        return f"{part * 6.4516:.1f} of {area * 6.4516:.1f} cm\u00b2"
    return f"{part:.2f} of {area:.2f} sq in"
