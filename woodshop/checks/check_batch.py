"""Runs all checks of a batch: assembles its units and hives, measures them, and reports findings."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace

from woodshop.checks.boxes import check_boxes
from woodshop.checks.cold import check_cold, cold_tops
from woodshop.checks.for_sale import check_prices, check_screws
from woodshop.checks.heights import check_density, check_height
from woodshop.checks.hives import HiveGroup, measure_hives
from woodshop.checks.kept import Kept
from woodshop.checks.passages import check_top_ventilation
from woodshop.checks.remedies import CheckContext, given, higher_rim, notch_room, quilt_height
from woodshop.checks.shop_book import check_book
from woodshop.checks.stack import check_group
from woodshop.checks.variation import check_moves, moved_hives
from woodshop.design.batch import Batch, Unit
from woodshop.design.make_units import make_units
from woodshop.design.settle.settle import fits_box
from woodshop.engineering.tolerance import load_arrays
from woodshop.findings import Finding, Report, Severity, gather
from woodshop.hardware.board import Setting
from woodshop.hardware.registry import BoardPart
from woodshop.hive.creatures import OpeningName, PartName
from woodshop.hive.gaps.grading import bee_space
from woodshop.hive.stacking.place import TierKind
from woodshop.reference.facts import fact
from woodshop.reference.limits import DEFAULT_BAND
from woodshop.reference.materials import mesh, passages
from woodshop.shape.part import Cuboid, Placed, Role, overlaps
from woodshop.units.lengths import ZERO, Length, inch, lengths_in
from woodshop.units.wording import INCHES, Wording, with_article

_PLACED = (Role.MADE, Role.BOUGHT, Role.EXISTING)


def check_hives(
    units: tuple[Unit, ...],
    band: str = DEFAULT_BAND,
    wording: Wording = INCHES,
    progress: Callable[[str], None] | None = None,
    kept: Kept | None = None,
) -> tuple[tuple[Finding, ...], tuple[HiveGroup, ...]]:
    """All findings about these units, and the measurements of their hives.

    `band` names the published band of bee space; `wording` prints quantities. `progress` receives a line before each
    long step. Hives whose measurements are in `kept` are not measured again. Raises InputError for parts that cannot be
    assembled, and KeyError for an unknown band.
    """
    groups = measure_hives(units, progress, kept)
    whole = CheckContext(groups, bee_space(band, wording.unit), wording, fits_box)
    found: list[Finding] = []
    for each in units:
        found += check_alone(each, whole)
    for group in groups:
        found += check_group(group, whole)
    return (*found, *_check_blocks(units), *check_boxes(whole), *check_top_ventilation(groups)), groups


# ---- a unit on its own ---------------------------------------------------------------------------


def check_alone(unit: Unit, whole: CheckContext) -> Iterator[Finding]:
    """All findings about one unit, before it goes on a hive."""
    yield from _fits_itself(unit)
    yield from check_height(unit)
    item = unit.line.item
    if item.board_part in _OF_BOARD:
        yield from _OF_BOARD[item.board_part](unit, whole)
    if item.place is not None and item.place.kind is TierKind.TOP_BOX:
        yield from _check_quilt(unit, whole)
    if unit.line.item.check is not None:
        yield from unit.line.item.check(unit.line.setting, unit.assembly, unit.line.address)


def _fits_itself(unit: Unit) -> list[Finding]:
    return [
        Finding(
            "parts-overlap",
            Severity.ERROR,
            unit.line.address,
            f"{one.part.name} and {other.part.name} overlap by {float(volume.cubic_inches):.3f} cu in",
            "no overlap",
            "geometry",
            "The parts cannot be put together. Change the sizes of this item until the parts no longer overlap.",
        )
        for one, other, volume in overlaps(unit.as_designed.with_role(*_PLACED))  # made parts must not overlap
        if not one.role is other.role is Role.EXISTING  # the user's own: seating reports a cover that is too small
    ]


def _check_rim(unit: Unit, whole: CheckContext) -> list[Finding]:
    setting, place = unit.line.setting, unit.line.address
    return [*_sugar_height(unit, whole), *_notch(unit, whole), *check_density(setting, place)]


def _sugar_height(unit: Unit, whole: CheckContext) -> Iterator[Finding]:
    """Checks the space above the packed sugar, measured from the sugar in place to the top of the rim."""
    setting = unit.line.setting
    top = max(p.box.high[2] for p in unit.assembly.named("side"))
    room = top - max(p.box.high[2] for p in unit.assembly.named(PartName.SUGAR))
    least = setting.board.head_room
    if room >= least:
        return
    severity = Severity.ERROR if room < ZERO else Severity.WARNING
    needed = setting.needed_height.up_to(setting.mark)
    yield Finding(
        "sugar-too-high",
        severity,
        unit.line.address,
        f"{setting.say(room)} of space over the sugar in {with_article(setting.say(setting.height))} rim"
        if room >= ZERO
        else f"the sugar reaches {setting.say(-room)} above the top of {with_article(setting.say(setting.height))} rim",
        f"at least {setting.say(least)} of head room",
        "fondant board, head_room",
        f"Bees must be able to walk over the sugar. Make the rim at least {setting.say(needed)} high, or pack less "
        f"than {setting.wording.mass(setting.sugar)} of sugar.",
        higher_rim(whole),
    )


def _notch(unit: Unit, whole: CheckContext) -> Iterator[Finding]:
    """Checks the upper entrance in the front end: whether workers and mice pass, and how other parts meet it."""
    setting, place = unit.line.setting, unit.line.address
    (end,) = unit.assembly.named("front end")
    cuts = zip(end.part.cuts, end.hollows, strict=True)
    hollow = next(hollow for cut, hollow in cuts if cut.name == OpeningName.UPPER_ENTRANCE)
    wide, high = hollow.size(1), hollow.size(2)
    above = end.box.high[2] - hollow.high[2]
    yield from _passes(setting, place, wide, high, whole)
    yield from _in_the_rim(setting, place, hollow, above, whole)
    yield from _block(setting, place, wide, whole)


def _passes(setting: Setting, place: str, wide: Length, high: Length, whole: CheckContext) -> Iterator[Finding]:
    slot, easy = fact("opening.mouse_slot"), fact("opening.worker_easy")
    if min(high, wide) < easy.length:
        size = given(easy.length.up_to(setting.mark), whole.unit)
        small = [key for key, each in (("notch_width", wide), ("notch_height", high)) if each < easy.length]
        keys = " and ".join(small)
        yield Finding(
            "entrance-too-low",
            Severity.ERROR,
            place,
            f"the upper entrance is {setting.say(wide)} wide and {setting.say(high)} tall",
            f"at least {easy.worded(setting.wording)} each way",
            easy.cite,
            f"A worker bee cannot get through. Set {keys} to {setting.say(easy.length.up_to(setting.mark))} or more.",
            tuple((f"board.{key}", size) for key in reversed(small)),
        )
    if high > slot.length:
        most = inch("5/16") if whole.unit == "in" else slot.length
        yield Finding(
            "entrance-lets-mice-in",
            Severity.WARNING if high < inch("1/2") else Severity.ERROR,
            place,
            f"the upper entrance is {setting.say(high)} tall",
            f"at most 5/16 in ({slot.value})",
            slot.cite,
            f"Mice can get in. Set notch_height to {given(most, whole.unit)}, or bend a strip of mesh over the "
            "entrance.",
            (("board.notch_height", given(most, whole.unit)),),
        )


def _in_the_rim(setting: Setting, place: str, hollow: Cuboid, above: Length, whole: CheckContext) -> Iterator[Finding]:
    low = hollow.low[2]
    if low < setting.mesh_top and setting.board.mounting != "stapled under":
        yield Finding(
            "entrance-below-mesh",
            Severity.ERROR,
            place,
            f"the entrance starts {setting.say(low)} above the lower edge of the rim, and the mesh is at "
            f"{setting.say(setting.mesh_top)}",
            "an entrance above the mesh",
            "geometry",
            "Bees would come in below the mesh, not at the sugar. Set notch_rise to "
            f"{setting.say(setting.mesh_top.up_to(setting.mark))} or more, or remove the line.",
            (("board.notch_rise", ""), *notch_room(whole, setting.mark)),
        )
    least = fact("rim.wood_over_notch")
    if above < least.length:
        lines = notch_room(whole, setting.mark, free=setting.board.notch_rise is not None)
        yield Finding(
            "entrance-weakens-rim",
            Severity.ERROR if above <= ZERO else Severity.WARNING,
            place,
            f"{setting.say(max(above, ZERO))} of wood above the entrance",
            f"at least {least.worded(setting.wording)}",
            least.cite,
            "The wood over the entrance could break. Lower the entrance, or make the rim taller, by "
            f"{setting.say(least.length - above)}.",
            lines,
        )


def _block(setting: Setting, place: str, across: Length, whole: CheckContext) -> Iterator[Finding]:
    channel = setting.voids[0]
    wide = channel.y1 - channel.y0
    if across <= wide:
        return
    yield Finding(
        "block-misses-entrance",
        Severity.ERROR,
        place,
        f"the packing block covers {setting.say(wide)} of an entrance {setting.say(across)} wide",
        "a block at least as wide as the entrance",
        "geometry",
        f"Sugar would get into the entrance. Set notch_width to {setting.say(wide)} or less, or set "
        'channel = "along the front".',
        (("board.notch_width", given(wide.down_to(setting.mark), whole.unit)),),
    )


def _check_floor(unit: Unit, whole: CheckContext) -> Iterator[Finding]:
    """Checks how far the mesh extends onto the wood of the rim, and whether bees can pass through the mesh."""
    setting, place = unit.line.setting, unit.line.address
    sheet, inside = unit.assembly.named("mesh")[0], setting.inside
    ends = min(inside.x0 - sheet.box.low[0], sheet.box.high[0] - inside.x1)
    sides = min(inside.y0 - sheet.box.low[1], sheet.box.high[1] - inside.y1)
    least, kind = min(ends, sides), setting.mesh
    yield from _stops_bees(setting, sheet, place)
    row, groove = fact("wire_bottom.landing_least"), setting.board.mounting == "saw groove"
    reaches = (
        on_wood - (long - kind.wire - kind.pitch * ((long - kind.wire) // kind.pitch)) / 2 - kind.wire
        for on_wood, long in ((ends, sheet.box.size(0)), (sides, sheet.box.size(1)))
    )
    bare = not groove and min(reaches) <= ZERO
    if least < row.length or bare:
        yield Finding(
            "mesh-lands-short",
            Severity.NOTE if groove and least > ZERO else Severity.WARNING if least > ZERO else Severity.ERROR,
            place,
            f"the mesh rests on {setting.say(least)} of wood"
            + (", and none of the wires along the wood lies on it" if bare else ""),
            f"at least {row.worded(setting.wording)}" + (", if the groove is deep enough" if groove else ""),
            row.cite,
            "A groove holds the mesh all around. Check that every wire is in the groove."
            if groove
            else "The weight of the sugar could pull the mesh off. Set landing to "
            f"{given(inch('3/8'), whole.unit)}, or make the rabbet wider.",
        )
    off = [note for note in sheet.part.notes if note.startswith("cut off the wire")]
    if off:
        yield Finding(
            "mesh-off-wire",
            Severity.NOTE,
            place,
            "; ".join(off),
            "a cut along a wire",
            "common practice, no source",
            "The cut ends are sharp. Snip to the line, then file the ends or fold them under.",
        )


def _stops_bees(setting: Setting, sheet: Placed, place: str) -> Iterator[Finding]:
    """Reports mesh that workers cannot pass through, according to any source, unless it has large enough passages."""
    against = [said for said in passages(setting.board.mesh) if said.who == "worker" and not said.passes]
    cut = [min(box.size(0), box.size(1)) for box in sheet.hollows]
    if not against or any(clear >= fact("opening.worker_easy").length for clear in cut):
        return
    wide, fine = (mesh(each).sold(setting.unit) for each in ("1/2 in", "1/4 in"))
    yield Finding(
        "mesh-stops-bees",
        Severity.ERROR,
        place,
        f"a wire bottom of {setting.mesh.sold(setting.wording.of_texts)} mesh",
        "a mesh that worker bees can get through",
        against[0].row.cite,
        f'Bees would starve under their sugar. Set mesh to "{wide}" or "{fine}", or set passages = "at the openings".',
        (("board.mesh", f'"{wide}"'),),
    )


def _check_quilt(unit: Unit, whole: CheckContext) -> Iterator[Finding]:
    """Checks that the vent holes in the walls are above the shavings."""
    lows = [low for p in unit.assembly.with_role(Role.MADE) for low in _holes(p)]
    shavings = max(p.box.high[2] for p in unit.assembly.named("shavings"))
    if not lows or min(lows) >= shavings:
        return
    low = min(lows)
    high = quilt_height(whole, unit)
    wall = unit.assembly.named("side")[0].box.size(2)
    lines = ((f"make.{unit.line.item.name}.height", given(high, whole.unit)),)
    yield Finding(
        "vent-in-shavings",
        Severity.WARNING,
        unit.line.address,
        f"the vent holes start {whole.say(low)} above the lower edge, and the shavings reach {whole.say(shavings)}",
        "holes above the shavings",
        "common practice, no source",
        f"Shavings would block the holes. Fill only to {whole.say(low)}, or make the box {whole.say(high - wall)} "
        f"taller: height = {lines[0][1]}.",
        lines,
    )


def _holes(placed: Placed) -> list[Length]:
    pairs = zip(placed.part.cuts, placed.hollows, strict=True)
    return [h.low[2] for cut, h in pairs if cut.name == OpeningName.VENT_HOLE]


def _check_blocks(units: tuple[Unit, ...]) -> Iterator[Finding]:
    """Reports boards that are packed here while no packing blocks are made."""
    parts = {unit.line.item.board_part for unit in units}
    packed = [
        unit
        for unit in units
        if unit.line.item.board_part in _OF_BOARD and unit.line.count and unit.line.hives.board_form == "packed"
    ]
    if not packed or BoardPart.BLOCKS in parts:
        return
    setting = packed[0].line.setting
    size = f"{setting.say(setting.board.block_width)} x {setting.say(setting.board.block_length)}"
    yield Finding(
        "no-packing-blocks",
        Severity.NOTE,
        f"boards for {' and '.join(dict.fromkeys(unit.line.fits for unit in packed))}",
        f"boards are packed around {len(setting.voids)} blocks, and this batch makes none",
        f"{len(setting.voids)} packing blocks for each person who packs",
        "common practice, no source",
        'Without blocks, sugar fills the entrance channel and the corner vents. Make them ("packing blocks" under '
        f"[[make]]), or use blocks that you have, {size} and taller than the rim.",
    )


_OF_BOARD: dict[BoardPart | None, Callable[[Unit, CheckContext], Iterable[Finding]]] = {
    BoardPart.RIM: _check_rim,
    BoardPart.FLOOR: _check_floor,
}


def check_batch(batch: Batch) -> tuple[tuple[Unit, ...], Report]:
    """The units of a batch, with their findings."""
    units, report, _ = measured_batch(batch)
    return units, report


def measured_batch(
    batch: Batch, progress: Callable[[str], None] | None = None
) -> tuple[tuple[Unit, ...], Report, tuple[HiveGroup, ...]]:
    """The units, their findings, and the measured hives. `progress` receives a line of text before each long step."""
    with lengths_in(batch.wording.of_texts):
        units = make_units(batch)
        return units, *check_made(batch, units, progress)


def check_made(
    batch: Batch, units: tuple[Unit, ...], progress: Callable[[str], None] | None = None, *, prices: bool = True
) -> tuple[Report, tuple[HiveGroup, ...]]:
    """The findings about these units, and the measurements of the hives.

    If `prices` is true, prices are checked too. `progress` receives a line of text before each long step.
    """
    load_arrays()
    fit = check_fit(batch, units, progress, prices=prices)
    return gather(fit.report.findings, check_variation(batch, units, progress)), fit.groups


@dataclass(frozen=True, slots=True)
class Fit:
    """The units of a batch, its measured hives, and all findings except those about how sizes vary."""

    units: tuple[Unit, ...]
    groups: tuple[HiveGroup, ...]
    report: Report


def fit_of(batch: Batch, kept: Kept | None = None) -> Fit:
    """The units and hives of a batch and their findings, except how sizes vary, which takes longer.

    Only what is not in `kept` is measured. With the findings of `check_variation` the report is that of `check_batch`.
    Raises InputError for parts that cannot be made or assembled.
    """
    with lengths_in(batch.wording.of_texts):
        return check_fit(batch, make_units(batch), kept=kept)


def check_fit(
    batch: Batch,
    units: tuple[Unit, ...],
    progress: Callable[[str], None] | None = None,
    *,
    prices: bool = True,
    kept: Kept | None = None,
) -> Fit:
    """As `fit_of`, for units that are made already. `prices` and `progress` are as in `check_made`."""
    with lengths_in(batch.wording.of_texts):
        found, groups = check_hives(units, batch.conditions.band, batch.wording, progress, kept)
        cold = check_cold(cold_tops(units, batch.conditions.climate, kept), batch.wording)
        more = (*check_screws(units), *check_prices(batch), *check_book(batch)) if prices else ()
        return Fit(units, groups, gather(_worded((*found, *cold, *more), batch.wording)))


def check_variation(
    batch: Batch, units: tuple[Unit, ...], progress: Callable[[str], None] | None = None
) -> tuple[Finding, ...]:
    """The findings about how the sizes of these units vary. `progress` is as in `check_made`."""
    tolerances, conditions = batch.conditions.tolerances, batch.conditions
    if tolerances is None:
        return ()
    load_arrays()
    with lengths_in(batch.wording.of_texts):
        moved = moved_hives(units, tolerances, bee_space(conditions.band, batch.unit), progress=progress)
        return _worded(check_moves(moved, batch.wording), batch.wording)


def _worded(found: Iterable[Finding], wording: Wording) -> tuple[Finding, ...]:
    """The findings with metric sizes beside what their sources say, in a metric design."""
    if not wording.is_metric:
        return tuple(found)
    say = wording.quoted

    def changed(text: str) -> str:
        """The text with metric sizes, but for values between quotes, which are written into a file as they stand."""
        return '"'.join(part if n % 2 else say(part) for n, part in enumerate(text.split('"')))

    return tuple(
        replace(each, limits=say(each.limits), source=say(each.source), change=changed(each.change)) for each in found
    )
