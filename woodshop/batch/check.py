"""The checks: the stack put together from placed parts and measured, and what a keeper would ask before cutting."""

from itertools import pairwise

from woodshop.batch.check_stack import check_stack
from woodshop.batch.values import Unit
from woodshop.engineering.sag import mesh_sag
from woodshop.findings import Finding, Severity
from woodshop.hardware.board import Setting
from woodshop.hardware.spacer_strips import wet_load
from woodshop.reference.facts import fact
from woodshop.reference.mesh import passages
from woodshop.shape.measure import overlaps
from woodshop.shape.part import Placed, Role
from woodshop.units import ZERO, Length, inch

_PLACED = (Role.MADE, Role.BOUGHT, Role.EXISTING)


def check_units(units: tuple[Unit, ...]) -> tuple[Finding, ...]:
    """Every finding about these units, each alone and in the stack of its hives."""
    found: list[Finding] = []
    for unit in units:
        found += _fits_itself(unit)
        if unit.line.item.name in _ALONE:
            found += _ALONE[unit.line.item.name](unit)
        if unit.line.item.check is not None:
            found += unit.line.item.check(unit.line.setting, unit.assembly, unit.line.address)
    for group in _stacks(units):
        found += check_stack(group)
    return tuple(found)


def _stacks(units: tuple[Unit, ...]) -> list[dict[str, Unit]]:
    """The units of each group of hives, by item, that are stacked on one box."""
    groups: dict[str, dict[str, Unit]] = {}
    for unit in units:
        if unit.line.item.per == "hive":
            groups.setdefault(unit.line.hives.name, {})[unit.line.item.name] = unit
    return list(groups.values())


# ---- a thing by itself --------------------------------------------------------------------------


def _fits_itself(unit: Unit) -> list[Finding]:
    return [
        Finding(
            "parts-overlap",
            Severity.ERROR,
            unit.line.address,
            f"{one.part.name} and {other.part.name} claim the same {float(volume.cubic_inches):.3f} cu in",
            "nothing shared",
            "geometry",
            "Change the sizes that were given for this item; the finding goes when both have room.",
        )
        for one, other, volume in overlaps(unit.assembly.with_role(*_PLACED))
    ]


def _check_rim(unit: Unit) -> list[Finding]:
    setting, place = unit.line.setting, unit.line.address
    found = [*_sugar_stands(unit), *_notch(setting, place), *_density(setting, place)]
    if setting.board.mounting == "stapled under":
        row = fact("mesh_floor.lift")
        found.append(
            Finding(
                "wood-off-wood",
                Severity.NOTE,
                place,
                f"wire and staple crowns hold the rim about {row.value} off the box",
                "wood on wood where it can be had",
                row.cite,
                'Drive every crown home; mounting = "flush rabbet" seats wood on wood.',
            )
        )
    return found


def _sugar_stands(unit: Unit) -> list[Finding]:
    """The room above the packed sugar, measured on the placed rim and sugar."""
    setting = unit.line.setting
    top = max(p.box.high[2] for p in unit.assembly.named("side"))
    room = top - max(p.box.high[2] for p in unit.assembly.named("packed sugar"))
    wanted = setting.board.head_room
    if room >= wanted:
        return []
    severity = Severity.ERROR if room < ZERO else Severity.WARNING
    needed = setting.needed_height.up_to(setting.mark)
    return [
        Finding(
            "sugar-too-high",
            severity,
            unit.line.address,
            f"{room} over the sugar in a {setting.height} rim",
            f"at least {wanted} of head room",
            "fondant board, head_room",
            f"Make the rim at least {needed} high, or pack less than {setting.sugar}.",
        )
    ]


def _notch(setting: Setting, place: str) -> list[Finding]:
    board = setting.board
    found = []
    slot, easy = fact("opening.mouse_slot"), fact("opening.worker_easy")
    if min(board.notch_height, board.notch_width) < easy.length:
        found.append(
            Finding(
                "entrance-too-low",
                Severity.ERROR,
                place,
                f"upper entrance {board.notch_width} x {board.notch_height}",
                f"at least {easy.value} both ways, for a worker",
                easy.cite,
                f"Set notch_height to {easy.length.up_to(setting.mark)} or more.",
            )
        )
    if board.notch_height > slot.length:
        mouse = inch("1/2")
        found.append(
            Finding(
                "entrance-lets-mice-in",
                Severity.WARNING if board.notch_height < mouse else Severity.ERROR,
                place,
                f"upper entrance {board.notch_height} high",
                f"at most 5/16 in ({slot.value})",
                slot.cite,
                'Set notch_height to "5/16", or bend a strip of mesh over the entrance.',
            )
        )
    if setting.notch_rise < setting.mesh_top and board.mounting != "stapled under":
        found.append(
            Finding(
                "entrance-below-mesh",
                Severity.ERROR,
                place,
                f"the entrance begins {setting.notch_rise} above the lower edge, the mesh lies at {setting.mesh_top}",
                "an entrance above the mesh, or bees go in under it",
                "geometry",
                f"Set notch_rise to {setting.mesh_top.up_to(setting.mark)} or more, or leave it out.",
            )
        )
    above = setting.height - setting.notch_rise - board.notch_height
    least = fact("rim.wood_over_notch")
    if above < least.length:
        found.append(
            Finding(
                "entrance-weakens-rim",
                Severity.ERROR if above <= ZERO else Severity.WARNING,
                place,
                f"{above} of wood above the entrance",
                f"at least {least.value}",
                least.cite,
                "Lower the entrance, or make the rim taller.",
            )
        )
    channel = setting.voids[0]
    wide = channel.y1 - channel.y0
    if board.notch_width > wide:
        found.append(
            Finding(
                "block-misses-entrance",
                Severity.ERROR,
                place,
                f"the block covers {wide} of an entrance {board.notch_width} wide",
                "a block at least as wide as the entrance, or sugar is packed into it",
                "geometry",
                f'Set notch_width to {wide} or less, or channel = "along the front".',
            )
        )
    return found


def _density(setting: Setting, place: str) -> list[Finding]:
    """Whether the lumber would be another size at a density that published recipes imply."""
    board = setting.board
    if board.height is not None or board.ripped or board.made_of != "boards":
        return []
    low, high = fact("sugar.density.sagadahoc"), fact("sugar.density.full_board")
    depth_at_low = setting.depth * (board.density.kg_per_litre / low.density.kg_per_litre)
    needed = setting.mesh_top + depth_at_low + board.head_room
    if needed <= setting.height:
        return []
    return [
        Finding(
            "density-decides-lumber",
            Severity.NOTE,
            place,
            f"a rim {setting.height} high, reckoned at {board.density}",
            f"published recipes imply {low.value} to {high.value}; at {low.value} it would have to be taller",
            f"{low.cite}; {high.cite}",
            "Before buying wood, pack a box of known size with damp sugar, weigh it, and set density.",
        )
    ]


def _check_floor(unit: Unit) -> list[Finding]:
    """Landing measured on the placed sheet: how far it reaches past the inside of the rim."""
    setting, place = unit.line.setting, unit.line.address
    sheet, inside = unit.assembly.named("mesh")[0], setting.inside
    ends = min(inside.x0 - sheet.box.low[0], sheet.box.high[0] - inside.x1)
    sides = min(inside.y0 - sheet.box.low[1], sheet.box.high[1] - inside.y1)
    least = min(ends, sides)
    found = _stops_bees(setting, sheet, place)
    row = fact("mesh_floor.landing_least")
    if least < row.length:
        groove = setting.board.mounting == "saw groove"
        found.append(
            Finding(
                "mesh-lands-short",
                Severity.NOTE if groove and least > ZERO else Severity.WARNING if least > ZERO else Severity.ERROR,
                place,
                f"the mesh lies on {least} of wood",
                f"at least {row.value}" + (", as far as a groove allows" if groove else ""),
                row.cite,
                "A groove holds the mesh all round; check that every wire is in it."
                if groove
                else 'Set landing to "3/8", or a wider rabbet.',
            )
        )
    off = [note for note in sheet.part.notes if note.startswith("cut off the wire")]
    if off:
        found.append(
            Finding(
                "mesh-off-wire",
                Severity.NOTE,
                place,
                "; ".join(off),
                "whole cells, cut on the wires, where they land",
                "common practice, no source",
                "Snip to the line; file the stubs, or fold them under.",
            )
        )
    return found


def _stops_bees(setting: Setting, sheet: Placed, place: str) -> list[Finding]:
    """Whether any source says that workers do not pass the floor's mesh, and no passage wide enough is cut in it."""
    against = [said for said in passages(setting.board.mesh) if said.who == "worker" and not said.passes]
    cut = [min(box.size(0), box.size(1)) for box in sheet.hollows]
    if not against or any(clear >= fact("opening.worker_easy").length for clear in cut):
        return []
    return [
        Finding(
            "mesh-stops-bees",
            Severity.ERROR,
            place,
            f"{setting.board.mesh} mesh as the floor",
            "a mesh that workers pass, or they starve under the sugar",
            against[0].row.cite,
            'Set mesh to "1/2 in" or "1/4 in", or passages = "at the openings".',
        )
    ]


def _check_strips(unit: Unit) -> list[Finding]:
    """The sag over the widest span between the strips as placed."""
    setting, strips = unit.line.setting, unit.assembly.placed
    limit: Length = dict(unit.line.given)["sag"]
    inside, wire = setting.inside, setting.mesh
    edges = [inside.x0, *sorted((p.box.low[0] + p.box.high[0]) / 2 for p in strips), inside.x1]
    span = max(b - a for a, b in pairwise(edges))
    sag = mesh_sag(wet_load(setting), inside.area, wire.wire, wire.pitch, span, len(edges) - 1)
    if sag <= float(limit.inches):
        return []
    return [
        Finding(
            "mesh-sags",
            Severity.WARNING,
            unit.line.address,
            f"an estimate of {sag:.3f} in over the widest span of {span}",
            f"at most {limit}",
            "common practice, no source",
            "Use more strips, or allow more sag.",
        )
    ]


def _check_quilt(unit: Unit) -> list[Finding]:
    """Vent holes measured on the placed walls against the shavings and the cover's skirt."""
    given = dict(unit.line.given)
    holes = [h for p in unit.assembly.with_role(Role.MADE) for h in _holes(p)]
    if not holes:
        return []
    low, high = min(h[0] for h in holes), max(h[1] for h in holes)
    shavings = max(p.box.high[2] for p in unit.assembly.named("shavings"))
    skirt = unit.assembly.named("side")[0].box.high[2] - given["skirt"]
    found = []
    if low < shavings:
        found.append(
            Finding(
                "vent-in-shavings",
                Severity.WARNING,
                unit.line.address,
                f"vent holes begin {low} up, shavings reach {shavings}",
                "holes above the shavings",
                "common practice, no source",
                f"Fill to {low} only, or make the box {shavings - low} taller.",
            )
        )
    if high > skirt:
        severity = Severity.WARNING if low < skirt else Severity.ERROR
        found.append(
            Finding(
                "vent-under-skirt",
                severity,
                unit.line.address,
                f"vent holes reach {high} up, the cover's skirt comes down to {skirt}",
                "holes below the skirt",
                fact("cover.skirt_depth").cite,
                f"Make the box {high - skirt} taller, or use smaller holes.",
            )
        )
    return found


def _holes(placed: Placed) -> list[tuple[Length, Length]]:
    pairs = zip(placed.part.cuts, placed.hollows, strict=True)
    return [(h.low[2], h.high[2]) for cut, h in pairs if cut.name == "vent hole"]


_ALONE = {
    "fondant rim": _check_rim,
    "mesh floor": _check_floor,
    "spacer strips": _check_strips,
    "quilt box": _check_quilt,
}
