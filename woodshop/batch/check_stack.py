"""The checks of the stack: box, top bars, strips, mesh and rim put together from placed parts and measured."""

from woodshop.batch.limits import Limits, band_limits
from woodshop.batch.values import Hives, Unit
from woodshop.findings import Finding, Severity
from woodshop.hardware.board import Setting
from woodshop.hive.box import stand
from woodshop.reference.facts import fact
from woodshop.shape.measure import contact_area, gap
from woodshop.shape.part import Assembly, Placed
from woodshop.units import ZERO, Length, inch


def check_stack(group: dict[str, Unit]) -> list[Finding]:
    """Box, top bars, strips, mesh and rim as they will stand; gaps measured between them."""
    some = next(iter(group.values()))
    setting, hives = some.line.setting, some.line.hives
    place = f"{hives.name}, {hives.format}" if hives.name else hives.format
    found: list[Finding] = []
    if not hives.is_gap_measured and ("mesh floor" in group or "spacer strips" in group):
        row = fact("box.gap_over_top_bars")
        found.append(
            Finding(
                "gap-not-measured",
                Severity.WARNING,
                place,
                f"the gap over the top bars was not measured; {row.value} is taken",
                "a straightedge over three hives, and the gap under it",
                row.cite,
                'Measure, and give gap = ["1/4", "1/4", "5/16"] under these hives.',
            )
        )
    found += _spread(hives, place)
    found += _overhangs(group, place)
    if "mesh floor" not in group:
        return found
    floor = group["mesh floor"]
    if "spacer strips" not in group:
        found.append(
            Finding(
                "mesh-unsupported",
                Severity.WARNING,
                place,
                "no spacer strips are made for these hives",
                "strips under the mesh, or the sugar presses it down on the frames",
                "common practice, no source",
                'Add "spacer strips" to what is made, unless strips that fit are at hand.',
            )
        )
    limits = band_limits()
    gaps = hives.gaps or (setting.box.gap,)
    for measured in sorted(set(gaps)):
        found += _check_gap(floor, group.get("spacer strips"), measured, place, limits)
    return found


def _spread(hives: Hives, place: str) -> list[Finding]:
    """Whether the boxes measured differ by more than hardware of one size can hide, half of it at each side."""
    row = fact("box.overhang_most")
    if hives.spread / 2 <= row.length:
        return []
    return [
        Finding(
            "boxes-differ",
            Severity.WARNING,
            place,
            f"the boxes measured differ by {hives.spread}",
            f"at most {row.length * 2}, {row.value} at each side",
            row.cite,
            "Sort the boxes by width, and make hardware for each kind.",
        )
    ]


def _overhangs(group: dict[str, Unit], place: str) -> list[Finding]:
    """How far the walls of what is made to the rim stand off the walls of the box, at each end and side."""
    row = fact("box.overhang_most")
    found = []
    for unit in group.values():
        walls = [p.box for name in ("side", "end", "front end", "back end") for p in unit.assembly.named(name)]
        if not unit.line.item.on_rim or not walls:
            continue
        box = unit.line.setting.box
        for word, axis, size in (("end", 0, box.length), ("side", 1, box.width)):
            over = max(wall.high[axis] for wall in walls) - size
            if abs(over) <= row.length:
                continue
            key = "rim_length" if axis == 0 else "rim_width"
            how = "over" if over > ZERO else "inside"
            least, most = ((size + by * 2).number() for by in (-row.length, row.length))
            found.append(
                Finding(
                    "rim-off-the-edge",
                    Severity.WARNING,
                    place,
                    f"the {unit.line.item.name} stands {abs(over)} {how} the box's edge at each {word}",
                    f"at most {row.value}",
                    row.cite,
                    f"Set {key} to {least} to {most}, or leave it out.",
                )
            )
    return found


def _check_gap(floor: Unit, strips: Unit | None, measured: Length, place: str, limits: Limits) -> list[Finding]:
    setting = floor.line.setting
    box = stand(setting.box.with_gap(measured))
    walls = tuple(p for p in box.placed if p.part.name != "top bar")
    bars = box.named("top bar")
    mesh = _seat(floor.assembly, walls, setting)
    found: list[Finding] = []
    if strips is not None:
        lying = strips.assembly.moved((ZERO, ZERO, bars[0].box.high[2]))
        found += _strips(lying, mesh, bars, setting, measured, place)
    between = gap(bars, mesh.placed)
    if between is not None:
        found += _mesh_over_bars(between, measured, place, limits, setting)
    return found


def _seat(floor: Assembly, walls: tuple[Placed, ...], setting: Setting) -> Assembly:
    """The mesh as it lies once the rim sits on the box: lowered until mesh or rim touches the walls."""
    top = max(p.box.high[2] for p in walls)
    hangs_below = min(ZERO, setting.mesh_low)
    return floor.moved((ZERO, ZERO, top - hangs_below))


def _strips(
    lying: Assembly, mesh: Assembly, bars: tuple[Placed, ...], setting: Setting, measured: Length, place: str
) -> list[Finding]:
    found: list[Finding] = []
    clear = gap(lying.placed, mesh.placed)
    thick = lying.placed[0].part.thickness
    if clear is not None and clear < ZERO:
        proud = ZERO - clear
        allowed = fact("strip.proud_most")
        lifts = proud > allowed.length
        thinner = (thick - proud).down_to(setting.mark)
        higher = (max(setting.mesh_low, ZERO) + proud + setting.mesh.wire * 2).up_to(setting.mark)
        found.append(
            Finding(
                "strip-lifts-rim" if lifts else "strip-bows-mesh",
                Severity.ERROR if lifts else Severity.WARNING,
                place,
                f"strips {thick} thick in a gap of {measured} stand {proud} proud of the mesh",
                "strips no thicker than the gap and the mesh's height in the rim together"
                if lifts
                else f"none proud; up to {allowed.value} only bows the mesh",
                allowed.cite,
                (f"Make the strips {thinner} thick" if thinner > ZERO else "Leave the strips out")
                + (
                    f', or raise the mesh: mounting = "flush rabbet", rabbet_height = "{higher.number()}".'
                    if setting.board.mounting != "saw groove"
                    else ", or raise the groove."
                ),
            )
        )
    for strip in lying.placed:
        for void in setting.voids:
            if strip.box.meet(void.over(strip.box.low[2], strip.box.high[2])):
                found.append(
                    Finding(
                        "strip-under-void",
                        Severity.ERROR,
                        place,
                        f"a strip lies under the {void.name}",
                        "strips clear of the channel and the corner vents",
                        "common practice, no source",
                        "Use fewer strips, or turn the packing blocks.",
                    )
                )
    if not all(any(contact_area(bar, strip).mm2 for bar in bars) for strip in lying.placed):
        found.append(
            Finding(
                "strip-on-nothing",
                Severity.ERROR,
                place,
                "a strip lies on no top bar",
                "every strip carried by the bars",
                "geometry",
                "Check the frames and the gap that were given.",
            )
        )
    return found


def _mesh_over_bars(between: Length, measured: Length, place: str, limits: Limits, setting: Setting) -> list[Finding]:
    """The lanes between the strips: mesh over top bars. Bees pass up through the mesh, so its own rule holds."""
    least = fact("bee_space.amber_least")
    if between < least.length:
        severity = Severity.ERROR if between <= ZERO else Severity.WARNING
        raised = (max(setting.mesh_low, ZERO) + least.length - between + setting.mesh.wire * 2).up_to(inch("1/16"))
        return [
            Finding(
                "mesh-near-bars",
                severity,
                place,
                f"{between} between mesh and top bars (gap {measured})",
                f"at least {least.value} between the strips",
                least.cite,
                f'Raise the mesh: mounting = "flush rabbet", rabbet_height = "{raised.number()}" or more.',
            )
        ]
    if between <= limits.most:
        return []
    severity = Severity.WARNING if between <= limits.amber_most else Severity.ERROR
    return [
        Finding(
            "mesh-far-from-bars",
            severity,
            place,
            f"{between} between mesh and top bars (gap {measured})",
            f"at most {limits.most} (warning to {limits.amber_most})",
            limits.cite,
            f"Lower the mesh by {(between - limits.most).up_to(inch('1/16'))}: burr comb is built in a wider space.",
        )
    ]
