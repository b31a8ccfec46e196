"""Converts lengths to whole numbers on a grid. Parts round up, and stock rounds down. No other module does this.

For boards the grid is 1/64 in (1/10 mm in a metric design). Blanks are first rounded up to the next mark on the tape,
so that the stop can be set to the planned size. For mesh the grid is one cell, because mesh is cut on its wires. Cloth
and sheets are treated as boards without a kerf. Materials with flutes or a face grain are not turned. x runs along the
length of the stock, y across it.
"""

from collections.abc import Iterable
from fractions import Fraction

from woodshop.cutting.model.job import Blank, Cutting, Job, Kerf, Rules, Stock
from woodshop.design.batch import Batch, SawSettings, Unit
from woodshop.design.lumber import (
    Need,
    across,
    cut_width,
    edge_off,
    end_off,
    grid_of,
    is_usable,
    none_of,
    resawn,
    unfit,
)
from woodshop.design.lumberyard.lumberyard_file import Offer
from woodshop.errors import NothingToCutError
from woodshop.hardware.items.spacer_strips import thickness_limits
from woodshop.hardware.registry import BoardPart
from woodshop.plan.lumber_needed import with_lumber
from woodshop.plan.values import MaterialJob
from woodshop.reference.materials import Material, Mesh
from woodshop.shape.part import Part, Placed, Role, counted
from woodshop.units.lengths import ZERO, Length


def marks() -> Iterable[str]:
    """The marks written on pieces: A, B, ... Z, AA, AB, ..., without I and O, which look like 1 and 0."""
    letters = "ABCDEFGHJKLMNPQRSTUVWXYZ"
    width = 1
    while True:
        for n in range(len(letters) ** width):
            word = ""
            for _ in range(width):
                n, rest = divmod(n, len(letters))
                word = letters[rest] + word
            yield word
        width += 1


def parts_needed(batch: Batch, units: tuple[Unit, ...]) -> tuple[MaterialJob, ...]:
    """A cutting job for each material, in order of first need.

    Raises NothingToCutError if a material is unavailable, and InputError for boards whose names cannot be in a job.
    """
    names = iter(marks())
    by_material: dict[Material, list[Need]] = {}
    serves = _serving(units)
    for address, part, count in _addressed(units):
        need = Need(next(names), address, part, count, serves.get(part))
        by_material.setdefault(part.material, []).append(need)
    missing = [
        none_of(batch, material, needs)
        for material, needs in by_material.items()
        if not _offers(batch, material, needs)
    ]
    if missing:
        raise NothingToCutError(*missing)
    jobs = tuple(_job(batch, material, tuple(needs)) for material, needs in by_material.items())

    def stock_of(offer: Offer, grid: Length) -> Stock:
        return _stock(offer, offer.material, grid, saw=batch.saw, is_board=True, needs=())

    return with_lumber(jobs, batch.saw, stock_of)


def refuse_unfit(batch: Batch, jobs: Iterable[MaterialJob]) -> None:
    """Raises NothingToCutError for the parts that do not fit on any board of their job, with the cause for each."""
    problems = [problem for job in jobs if job.material.is_lumber for problem in unfit(batch, job.needs, job.offers)]
    if problems:
        raise NothingToCutError(*problems)


def _addressed(units: tuple[Unit, ...]) -> list[tuple[str, Part, int]]:
    """Every distinct part of every item, with its address and count, in the order of the batch.

    If several box formats use the same part, it is one part, with one mark, one drawing and one stack at the saw. Its
    address names those formats, or says "every box" if all formats of the item use it.
    """
    made = [unit for unit in units if unit.line.count]
    places_of = _places(made)
    every: dict[str, dict[str, None]] = {}
    counts: dict[tuple[str, Part], dict[str, int]] = {}
    for unit, place in zip(made, places_of, strict=True):
        every.setdefault(unit.line.item.name, {})[place] = None
        for part, count in counted(unit.assembly.with_role(Role.MADE)):
            places = counts.setdefault((unit.line.item.name, part), {})
            places[place] = places.get(place, 0) + count * unit.line.count
    found: dict[str, tuple[Part, int]] = {}
    for (item, part), places in counts.items():
        where = "every box" if len(places) > 1 and set(places) == set(every[item]) else " + ".join(places)
        address = first = f"{item} / {where} / {part.name}"
        same = 1
        while address in found:  # another part with the same name, but different cuts
            same += 1
            address = f"{first} {same}"
        found[address] = part, sum(places.values())
    return [(address, part, count) for address, (part, count) in found.items()]


def _serving(units: tuple[Unit, ...]) -> dict[Part, tuple[Length, Length]]:
    """For each strip, the limits on the thickness of ready-made lattice that can replace the strip in all of its hives.

    If the user gave a thickness, both limits equal it.
    """
    found: dict[Part, tuple[Length, Length]] = {}
    for unit in units:
        if unit.line.item.board_part is not BoardPart.STRIPS or not unit.line.count:
            continue
        strips = unit.assembly.named("strip")
        limits = thickness_limits(unit.line.setting, [(p.box.low[0] + p.box.high[0]) / 2 for p in strips])
        thick = strips[0].part.thickness
        is_given = dict(unit.line.given)["thickness"] is not None
        least, most = (thick, thick) if is_given or limits.least is None else (limits.least, limits.most)
        for part in {placed.part for placed in strips}:
            low, high = found.get(part, (least, most))
            found[part] = (max(low, least), min(high, most))
    return found


def parts_of_units(units: tuple[Unit, ...]) -> tuple[dict[str, int], ...]:
    """The parts in one unit of each kind: their counts, keyed by their address in the cutting jobs."""
    named = {(address.split(" / ", 1)[0], part): address for address, part, _ in _addressed(units)}
    return tuple(
        {
            named[unit.line.item.name, part]: count
            for part, count in counted(unit.assembly.with_role(Role.MADE))
            if (unit.line.item.name, part) in named
        }
        for unit in units
    )


def _places(made: list[Unit]) -> list[str]:
    """For each unit, the name of its box format.

    The name of the hives follows if two groups of that format differ in the item.
    """
    first: dict[tuple[str, str], tuple[Placed, ...]] = {}
    differ: set[tuple[str, str]] = set()
    for unit in made:
        kind = (unit.line.item.name, unit.line.fits)
        parts = unit.assembly.with_role(Role.MADE)
        if first.setdefault(kind, parts) != parts:
            differ.add(kind)
    return [
        f"{unit.line.fits}, {unit.line.hives.name}"
        if (unit.line.item.name, unit.line.fits) in differ
        else unit.line.fits
        for unit in made
    ]


def _offers(batch: Batch, material: Material, needs: Iterable[Need]) -> tuple[Offer, ...]:
    """The offers for a material. For strips, these include lattice with the same cross section or within the limits.

    Lattice can replace strips on edge only if no other part here is as thin, because lattice is never ripped.
    """
    listed = tuple(needs)
    if material.is_ready_strip:
        sections = {(need.part.thickness, need.part.width) for need in listed}
        found = [o for o in batch.lumberyard.offers if o.material == material or (o.thickness, o.width) in sections]
    else:
        found = [
            o
            for o in batch.lumberyard.offers
            if o.material == material or _stands_for(o, listed) is not None or _resawn(o, material, batch.saw)
        ]
    return tuple(o for o in found if not material.is_lumber or is_usable(o, batch.saw))


def _resawn(offer: Offer, material: Material, saw: SawSettings) -> int:
    """How many boards of this material come of a board of another, or 0."""
    if material.thickness is None or not material.is_lumber or material.is_ready_strip or offer.material == material:
        return 0
    return resawn(offer, material.thickness, saw)


def _stands_for(offer: Offer, needs: Iterable[Need]) -> Length | None:
    """The thickness of the strips on edge that this lattice replaces, or None if it replaces none or needs a rip."""
    if offer.thickness is None:
        return None
    served, others = set(), []
    for need in needs:
        part = need.part
        low, high = need.serves or (part.thickness, part.thickness)
        if part.on_edge and part.width == offer.width and (low <= offer.thickness <= high or low == offer.thickness):
            served.add(part.thickness)
        else:
            others.append(across(need))
    if len(served) != 1:
        return None
    (thick,) = served
    return thick if all(other > max(thick, offer.thickness) for other in others) else None


def _job(batch: Batch, material: Material, needs: tuple[Need, ...]) -> MaterialJob:
    offers = _offers(batch, material, needs)
    if material.mesh is not None:
        return _mesh_job(batch, material, material.mesh, needs, offers)
    grid, word = grid_of(batch.unit), "1/64 in" if batch.unit == "in" else "1/10 mm"
    is_board = material.is_lumber
    saw, mark = batch.saw, batch.saw.mark
    stock = tuple(
        _stock(offer, material, grid, saw=saw, is_board=is_board, needs=needs)
        for offer in offers
        if not _resawn(offer, material, saw)
    )
    blanks = tuple(
        Blank(
            need.address,
            _up(need.part.length.up_to(mark), grid),
            need.count,
            _up(cut_width(need, offers, saw, batch.unit), grid),
            rotate=material.kind.turns,
        )
        for need in needs
    )
    if is_board:
        kerf = _kerf(saw, grid)
        cutting = Cutting(2, "along", False)
        rules = Rules(
            narrow_below=_up(saw.narrow_rip, grid),
            parent_wood=_up(saw.wood_in_hand, grid),
            least_strip=_up(saw.thinnest_rip, grid),
            shortest_rip=_up(saw.shortest_rip, grid),
            longest_rip=None if saw.longest_rip is None else _down(saw.longest_rip, grid),
            surplus=batch.surplus,
            least_remainder=None if saw.remainder_allowance is not None else _up(saw.least_remainder, grid),
            defects="cut_out" if any(row.unusable for row in stock) else None,
        )
    else:
        cutting, rules = Cutting(2, "either", True), Rules(surplus=batch.surplus)
        sawn = _up(max(saw.rip_kerf, saw.crosscut_kerf), grid)  # a sheet can be cut along a guide in both directions
        kerf = Kerf(sawn, sawn) if material.is_sawn else Kerf(0, 0)
    return MaterialJob(
        material, grid, Job(word, "cent", kerf, stock=stock, blanks=blanks, cutting=cutting, rules=rules), needs, offers
    )


def _kerf(saw: SawSettings, grid: Length) -> Kerf:
    return Kerf(_up(saw.rip_kerf, grid), _up(saw.crosscut_kerf, grid))


def _stock(
    offer: Offer, material: Material, grid: Length, *, saw: SawSettings, is_board: bool, needs: tuple[Need, ...]
) -> Stock:
    """A kind of stock, measured in the unit of the job.

    Lattice used as a strip gets the strip's width, because it is only crosscut.
    """
    lattice = offer.material != material
    stands_for = _stands_for(offer, needs) if lattice and not material.is_ready_strip else None
    width = offer.width if stands_for is None else stands_for
    edge = _up(edge_off(offer, saw), grid) if is_board and not lattice else 0
    return Stock(
        id=offer.id,
        length=_down(offer.length, grid),
        cost=offer.price.minor,
        width=_down(width, grid),
        count=offer.most_to_cut,
        end_trim=_up(end_off(offer, saw), grid) if is_board else 0,
        edge_trim=edge,
        unusable=tuple((_down(low, grid), _up(high, grid)) for low, high in offer.bad),
        rip=not offer.twisted,
    )


def _mesh_job(
    batch: Batch, material: Material, kind: Mesh, needs: tuple[Need, ...], offers: tuple[Offer, ...]
) -> MaterialJob:
    """The job in cells. A sheet of n cells has n + 1 wires.

    Each sheet begins at its own edge wire, so the cells between the edge wires of two adjacent sheets are lost. If two
    sheets share an edge wire, one sheet keeps the wire, and the other ends in stubs.
    """
    pitch = kind.pitch
    lost = 0 if batch.lumberyard.shared_wires else 1
    stock = tuple(
        Stock(
            id=o.id,
            length=cells_down(o.length, o, pitch, kind.wire),
            cost=o.price.minor,
            width=cells_down(o.width, o, pitch, kind.wire),
            count=o.count,
            end_trim=0,
            edge_trim=0,
            unusable=tuple((low // pitch, -(-high.mm // pitch.mm)) for low, high in o.bad),
        )
        for o in offers
    )
    blanks = tuple(
        Blank(
            need.address,
            cells_up(need.part.length, pitch, kind.wire),
            need.count,
            cells_up(need.part.width, pitch, kind.wire),
            rotate=True,
        )
        for need in needs
    )
    word = f"cell of {kind.sold(batch.unit)}"
    cutting = Cutting(2, "either", True)
    job = Job(
        word, "cent", Kerf(lost, lost), stock=stock, blanks=blanks, cutting=cutting, rules=Rules(surplus=batch.surplus)
    )
    return MaterialJob(material, pitch, job, needs, offers)


def cells_up(length: Length, pitch: Length, wire: Length) -> int:
    """The smallest number of whole cells, including the closing wire, that is at least `length` long."""
    return -int(Fraction(-(length - wire).mm // pitch.mm))


def cells_down(length: Length, offer: Offer, pitch: Length, wire: Length) -> int:
    """The largest number of whole cells in `length`.

    A roll is sold by cells; a measured piece must contain the last wire.
    """
    return max(0, (length - wire if offer.is_measured else length) // pitch)


def _up(length: Length, grid: Length) -> int:
    return -int(-length.mm // grid.mm)


def _down(length: Length, grid: Length) -> int:
    if length < ZERO:
        raise ValueError(f"a negative length {length}")
    return length // grid
