"""Checks one group of hives: the mesh under fresh sugar, the strips, the gaps, and missing measurements."""

from collections.abc import Iterator
from dataclasses import replace

from woodshop.checks.hives import HiveGroup, MeasuredHive
from woodshop.checks.mesh_state import MeshState, fresh_mesh, room_left
from woodshop.checks.passages import check_air, check_ways
from woodshop.checks.remedies import (
    CheckContext,
    Remedy,
    given,
    holds_mesh,
    mesh_at,
    new_strips,
    proud_of,
    thinner_strips,
    too_thick_at,
    worked_out_strips,
)
from woodshop.checks.seating import check_seating
from woodshop.design.batch import in_tier, of_board
from woodshop.findings import Finding, Severity
from woodshop.hardware.catalogue import board_names
from woodshop.hardware.registry import BoardPart
from woodshop.hive.gaps.faces import Gap
from woodshop.hive.gaps.grading import loaded_limits
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.woodenware.box import HiveBox
from woodshop.hive.woodenware.cover import Cover
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import LengthUnit


def check_mesh(
    group: HiveGroup, place: str, measured: tuple[tuple[Length, MeasuredHive], ...], whole: CheckContext
) -> Iterator[Finding]:
    """Checks the sag of the mesh under fresh sugar, at the gap over the bars where the mesh leaves the least space."""
    state = group.mesh
    if state is None or not any(gap.kind == "mesh over bars" for _, each in measured for gap in each.gaps):
        return
    said = fresh_mesh(state, whole.wording.of_texts)
    room = state.worst.room
    if room.mm > 0:
        said += f"; {room_left(state, whole.wording.of_texts)}"
    if state.limit is None:
        yield Finding(
            "mesh-unsupported",
            Severity.WARNING,
            place,
            said,
            "strips under the mesh",
            f"common practice, no source; yield {fact('mesh.wire_yield').cite}",
            'Fresh sugar presses the mesh down on the frames. Add "spacer strips" under [[make]], unless you have '
            "strips that fit.",
            new_strips(group, whole),
        )
        return
    if not state.is_over:
        return
    lies = room.mm > 0 and not state.worst.left
    remedy = worked_out_strips(whole, "number") or worked_out_strips(whole, "number", "thickness")
    out = [path.rpartition(".")[2] for path, _ in remedy]
    change = "Use more strips, a stiffer mesh or less sugar, or allow more sag."
    if remedy:
        change = f"Remove {' and '.join(out)}, so that the strips are calculated."
    yield Finding(
        "mesh-sags",
        Severity.ERROR if lies else Severity.WARNING,
        place,
        said,
        f"at most {whole.say(state.limit)} below the strips",
        "common practice, no source",
        f"Bees then lack space under the mesh. {change}",
        remedy,
    )


def check_group(group: HiveGroup, whole: CheckContext) -> list[Finding]:
    """All findings about one group of assembled hives."""
    found = list(_asked_of_the_user(group, whole))
    quilt = in_tier(group.units, TierKind.TOP_BOX)
    screened = quilt.line.item.name if quilt is not None and "screen" in dict(quilt.line.given) else ""
    for place, measured in group.alternatives:
        found += check_mesh(group, place, measured, whole)
        found += _mesh(group, place, measured, whole)
        found += _strips(group, place, measured, whole)
        found += _ceilings(place, measured, whole)
        deepest = measured[0][1]
        found += _looked_through(group, place, deepest)
        found += check_ways(place, deepest, whole.wording, screened)
        found += check_air(place, deepest, whole)
        found += check_seating(group, place, measured, whole)
    return list(dict.fromkeys(found))


def _asked_of_the_user(group: HiveGroup, whole: CheckContext) -> Iterator[Finding]:
    """Reports missing measurements, an assumed cover, and boxes that differ."""
    hives, place = group.hives, group.place
    if not hives.is_gap_measured and any(of_board(group.units, part) for part in (BoardPart.FLOOR, BoardPart.STRIPS)):
        taken = group.alternatives[0][1][0][0]
        yield Finding(
            "gap-not-measured",
            Severity.WARNING,
            place,
            f"the gap over the top bars was not measured; the default is {whole.say(taken)}",
            "the gap under a straightedge, measured on three hives",
            hives.gap_source,
            "The bee space under the mesh depends on this gap. Measure it, then give your own sizes. If you measured "
            f"these three, set gap = {_as_measured(whole.unit)} under these hives.",
        )
    cover = hives.woodenware.cover
    if cover is not None and cover.assumed:
        yield _assumed_cover(cover, hives.woodenware.boxes[-1][0], place, whole)
    row = fact("box.overhang_most")
    if hives.spread / 2 > row.length:
        yield Finding(
            "boxes-differ",
            Severity.WARNING,
            place,
            f"the measured boxes differ by {whole.say(hives.spread)}",
            f"at most {whole.say(row.length * 2)}, {whole.say(row.length)} at each side",
            row.cite,
            "One size of hardware does not fit all of these boxes. Sort the boxes by width, and make hardware for "
            "each size.",
        )


def _assumed_cover(cover: Cover, box: HiveBox, place: str, whole: CheckContext) -> Finding:
    """The finding about hives whose cover was not measured, and whose pattern has no published cover."""
    clear = whole.wording.range(((cover.length - box.length) / 2, (cover.width - box.width) / 2))
    sizes = {"skirt": f"skirt {whole.say(cover.skirt)} deep", "clearance": f"clearance {clear} at each side"}
    names = " and the ".join(cover.assumed)
    size = ", ".join(sizes[name] for name in cover.assumed)
    rows = {"skirt": fact("cover.skirt_depth"), "clearance": fact("cover.clearance")}
    return Finding(
        "cover-not-measured",
        Severity.NOTE,
        place,
        f"the {names} of the cover not measured; an American cover is assumed: {size}",
        "the skirt and the clearance of your own cover",
        "; ".join(dict.fromkeys(rows[name].cite for name in cover.assumed)),
        "Your cover may differ. A deeper skirt may hide vent holes or an upper entrance. A tighter cover may not go "
        "over the rim. A shallower skirt, raised by vent spacers or by insulation, may leave the joint below it open. "
        "Measure the depth of the skirt inside, and how much wider the cover is inside than the box. Set cover_skirt "
        "under these hives, and cover_clearance to half of the difference. For a cover without a skirt, "
        'set cover = "flat".',
    )


def _as_measured(unit: LengthUnit) -> str:
    """Three gaps as text for a design file in this unit."""
    return '["1/4", "1/4", "5/16"]' if unit == "in" else '["6", "6.5", "7"]'


def _mesh(
    group: HiveGroup, place: str, measured: tuple[tuple[Length, MeasuredHive], ...], whole: CheckContext
) -> Iterator[Finding]:
    """Checks the gap between mesh and top bars at its minimum and its maximum."""
    lanes = [(gap, each) for gap, hive in measured for each in hive.gaps if each.kind == "mesh over bars"]
    if not lanes:
        return
    low = min(lanes, key=lambda lane: lane[1].least)
    high = max(lanes, key=lambda lane: lane[1].most)
    lifted = max(proud_of(hive) for gap, hive in measured if gap == high[0])
    yield from _mesh_near_bars(group, place, low, whole)
    yield from _far(place, high, lifted, whole)


def _mesh_near_bars(group: HiveGroup, place: str, lane: tuple[Length, Gap], whole: CheckContext) -> Iterator[Finding]:
    """Checks the smallest gap below the mesh.

    It may be as small as the lower end of the margin, because bees pass up through the mesh.
    """
    (gap, measured), row, state = lane, fact("bee_space.tightest"), group.mesh
    between = left = measured.least
    sag = ZERO
    if state is not None and between > ZERO:
        mesh = state.nearest
        gap, between, left = mesh.gap, mesh.room, mesh.over_bars(state.limit)
        sag = between - left
    grade = loaded_limits(whole.limits).grade(left if between > ZERO else between)
    if grade.is_good:
        return
    value = f"{whole.say(between)} between mesh and top bars (gap {whole.say(gap)})"
    if sag:
        value += f", and {whole.say(max(left, ZERO))} once the mesh sags {whole.say(sag)}"
        value += _to_strips(state, whole)
    thicker = worked_out_strips(whole, "thickness") if between >= whole.limits.mesh_least else ()
    cure = None if thicker else mesh_at(whole)
    change = (
        "Remove the strips' thickness, so that thicker strips hold the mesh higher." if thicker else _raise(cure, whole)
    )
    yield Finding(
        "mesh-near-bars",
        grade.severity,
        place,
        value,
        f"at least {row.worded(whole.wording)} between the strips",
        row.cite,
        change,
        thicker or (() if cure is None else cure[1]),
    )


def _to_strips(state: MeshState | None, whole: CheckContext) -> str:
    """A description of how far the mesh must sag to rest on the strips, or "" if it already touches them."""
    if state is None or not state.nearest.clear or not any(state.nearest.fresh.carries):
        return ""
    return f" (the strips are {whole.say(state.nearest.clear)} below it)"


def _raise(cure: tuple[Length, Remedy] | None, whole: CheckContext) -> str:
    if cure is None:
        return (
            "Bees have too little space to walk. No single mesh height suits all of these hives, so sort the hives by "
            "gap and make the boards of each group in a design of its own."
        )
    lines = _written(cure[1])
    height, groove = whole.say(cure[0]), "groove_height" in lines
    where = f"{'in a groove' if groove else 'in a rabbet'} {height} above the rim's lower edge"
    return f"Bees have too little space to walk. Raise the mesh, {where}: {lines}."


def _written(lines: Remedy) -> str:
    """Design lines as text."""
    return ", ".join(f"{path.rpartition('.')[2]} = {value}" for path, value in lines if value)


def _far(place: str, lane: tuple[Length, Gap], lifted: Length, whole: CheckContext) -> Iterator[Finding]:
    """Finds a gap that bees would fill with burr comb.

    If strips lift the mesh (by `lifted`), the advice is to make the strips thinner first.
    """
    (gap, measured), limits = lane, whole.limits
    between = measured.most
    grade = limits.limits.grade(between)
    if between <= limits.most:
        return
    over = between - limits.most
    raised = between - gap
    change = f"Bees fill a wider space with burr comb. Lower the mesh by {whole.say(over)}"
    lines: Remedy = ()
    cure = mesh_at(whole) if raised > ZERO else None
    if lifted > ZERO:
        change = f"The strips lift the mesh {whole.say(lifted)}, so first make the strips that much thinner."
    elif cure is not None:
        lines, thinner = _with_strips(whole, cure[1], cure[0])
        change += f": {_written(cure[1])}.{thinner}"
    elif raised < over:
        change = (
            "Bees fill a wider space with burr comb, and no mounting puts the mesh below the edge of the box. Put a "
            f"strip {whole.say(over - max(raised, ZERO))} thick under the frames, in the frame rests, or measure again."
        )
    elif raised > ZERO:
        under, thinner = _with_strips(whole, (("board.mounting", '"stapled under"'),), ZERO)
        change += f': mounting = "stapled under".{thinner}'
        flat = [
            (other, replace(each, board=replace(each.board, mounting="stapled under"))) for other, each in whole.boards
        ]
        if all(holds_mesh(other, each, whole) for other, each in flat):
            lines = under
    yield Finding(
        "mesh-far-from-bars",
        grade.severity,
        place,
        f"{whole.say(between)} between mesh and top bars (gap {whole.say(gap)})",
        f"at most {whole.say(limits.most)} (warning to {whole.say(limits.widest)})",
        limits.cite,
        change,
        lines,
    )


def _with_strips(whole: CheckContext, lines: Remedy, rise: Length) -> tuple[Remedy, str]:
    """The lines that put the mesh at this height, and a sentence to add to the advice, or "".

    If the strips would lift mesh at this height, both say to remove the setting for strip thickness.
    """
    if not too_thick_at(whole, rise):
        return lines, ""
    said = " Remove the strips' thickness too, because the strips must then be thinner."
    return (*lines, (_thickness(), "")), said


def _strips(
    group: HiveGroup, place: str, measured: tuple[tuple[Length, MeasuredHive], ...], whole: CheckContext
) -> Iterator[Finding]:
    """Checks the strips: the mesh above them, the bars below them, and the voids that must stay open."""
    gap, hive = measured[0]
    proud = proud_of(hive)
    if proud > ZERO:
        yield _proud(place, gap, hive, proud, whole)
    for strip in hive.strips:
        for name, by in strip.under:
            yield Finding(
                "strip-under-void",
                Severity.ERROR,
                place,
                f"strip {strip.number} lies under the {name}",
                "strips clear of the channel and the corner vents",
                "common practice, no source",
                "It blocks the bees' path up. Move the strip "
                f"{whole.say(abs(by))} {'back' if by > ZERO else 'forward'}, use fewer strips, or turn the packing "
                "blocks.",
            )
    if any(not strip.carried for strip in hive.strips):
        yield Finding(
            "strip-on-nothing",
            Severity.ERROR,
            place,
            "a strip does not rest on any top bar",
            "strips that rest on the top bars",
            "geometry",
            "That strip carries nothing. Check the frames and the gap over the top bars.",
        )


def _thickness() -> str:
    """The path, in a design file, of the setting for strip thickness."""
    return f"make.{board_names(BoardPart.STRIPS)[0]}.thickness"


def _proud(place: str, gap: Length, hive: MeasuredHive, proud: Length, whole: CheckContext) -> Finding:
    allowed, thick = fact("strip.proud_most"), max(strip.thickness for strip in hive.strips)
    lifts = proud > allowed.length
    thinner = thinner_strips(whole)
    cure: Remedy = ()
    if thinner is not None:
        text = given(thinner, whole.unit)
        cure = ((_thickness(), text),)
        change = f"Make the strips {whole.say(thick - thinner)} thinner: thickness = {text}"
    else:
        change = "Do not make strips for these hives"
    raised = mesh_at(whole, ZERO if thinner is None else thick)
    if raised is not None:
        lines = raised[1]
        change += f", or raise the mesh: {_written(lines)}"
        if thinner is None:
            cure = (*lines, (_thickness(), ""))
        elif not _holds(whole, thinner):
            cure = lines
    elif not _holds(whole, thinner):
        cure = ()
    return Finding(
        "strip-lifts-rim" if lifts else "strip-bows-mesh",
        Severity.ERROR if lifts else Severity.WARNING,
        place,
        f"strips {whole.say(thick)} thick in a gap of {whole.say(gap)} push the mesh up {whole.say(proud)}",
        f"strips no thicker than the gap; up to {allowed.worded(whole.wording)} more only bows the mesh",
        allowed.cite,
        f"The strips {'lift the rim and let in wind' if lifts else 'strain the mesh'}. {change}.",
        cure,
    )


def _holds(whole: CheckContext, thickness: Length | None) -> bool:
    """Whether strips of this thickness leave bees enough space over the bars in all hives with strips."""
    boards = [(group, setting) for group, setting in whole.boards if of_board(group.units, BoardPart.STRIPS)]
    return all(holds_mesh(group, setting, whole, thickness) for group, setting in boards)


def _looked_through(group: HiveGroup, place: str, hive: MeasuredHive) -> Iterator[Finding]:
    """Finds items with a part that closes the hive but is not named as a ceiling in the item's `Place`.

    The check uses the placed parts, because their sizes are not known when an item is registered.
    """
    for tier, parts in hive.looked_through:
        places = [(name, unit.line.item.place) for name, unit in group.units.items()]
        names = [name for name, declared in places if declared is not None and declared.name == tier]
        yield Finding(
            "ceiling-not-declared",
            Severity.ERROR,
            place,
            f"{' and '.join(names)}: its {', '.join(parts)} over the frames closes the hive, and gaps are measured "
            "past it",
            "a part that closes the hive named as a ceiling",
            "geometry",
            "This is a fault in how the item is programmed, not in your design. Please report it. (Developers: in the "
            f"item's Place, set ceiling = {parts!r} and a ceiling_name, so that gaps are measured up to it.)",
        )


def _ceilings(place: str, measured: tuple[tuple[Length, MeasuredHive], ...], whole: CheckContext) -> Iterator[Finding]:
    """Checks the gaps for bees next to our items, such as under a quilt box or a feeder, except gaps next to mesh.

    An item that lifts the user's own cover does not make a gap tighter, so a tight gap there counts as the user's own.
    """
    limits = whole.limits
    ways = [(gap, each) for gap, hive in measured for each in hive.gaps if each.kind == "bees' way" and each.own]
    for name in dict.fromkeys(each.name for _, each in ways):
        alike = [(gap, each) for gap, each in ways if each.name == name]
        low, high = min(alike, key=lambda way: way[1].least), max(alike, key=lambda way: way[1].most)
        for (gap, way), wide in ((low, False), (high, True)):
            size, by = (way.most if wide else way.least), way.lifted_by
            off = size - limits.most if wide else limits.least - size
            if off <= ZERO or (by and not wide):
                continue
            why = "Bees fill a wider gap with comb" if wide else "Bees close a tighter gap with propolis"
            change = f"Raise the frames, or lower the part above them, by {whole.say(off)}."
            if by:
                change = f"The {by} lifts the cover. Make the {by} {whole.say(off)} lower, or remove it."
            elif not wide:
                change = f"Put a shim {whole.say(off)} high on the box to raise the part above."
            yield Finding(
                "too-wide" if wide else "too-tight",
                limits.limits.grade(size).severity,
                place,
                f"{name}: {whole.say(size)} (gap {whole.say(gap)})",
                whole.wording.quoted(limits.words),
                limits.cite,
                f"{why}. {change}",
            )
