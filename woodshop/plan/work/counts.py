"""Counts the work of a run by operation, and measures the painted area with the parts in place.

Bees and their food must never touch paint, so only vertical outside faces count, minus their openings. Upper and lower
edges, where boxes rest on each other, stay bare.
"""

from collections.abc import Iterator
from dataclasses import KW_ONLY, dataclass, field
from fractions import Fraction
from itertools import pairwise

from woodshop.cutting.model.plan import Plan
from woodshop.cutting.order.job_sequence import Station, ThinRip, fence_moves_of, job_sequence
from woodshop.design.batch import Unit
from woodshop.design.settings.times import BY_KEY, SQUARE_FOOT
from woodshop.plan.buy_list import bowls_of_board
from woodshop.plan.cost import CostRow
from woodshop.plan.lumber_at_home import resawings
from woodshop.plan.values import MaterialPlan, PlannedBatch
from woodshop.shape.part import FACE_AXIS, Cuboid, Cut, Part, Placed, Role, RoundOutline, cut_box

_PI = Fraction(355, 113)  # only for holes: accurate to a ten-millionth
Strip = tuple[Fraction, Fraction, Fraction, Fraction]


def outside_area(unit: Unit) -> Fraction:
    """The area in square millimeters of wood on the four outer sides of one unit, or zero if none are outside."""
    if not unit.line.item.is_per_hive:
        return Fraction(0)
    outside = unit.line.setting.outside
    ends = ((outside.x0.mm, outside.x1.mm), (outside.y0.mm, outside.y1.mm))
    total = Fraction(0)
    for placed in unit.assembly.with_role(Role.MADE):
        if placed.part.material.is_made_to_size:
            for axis in (0, 1):
                for far in (False, True):
                    place = (placed.box.high if far else placed.box.low)[axis].mm
                    if place == ends[axis][far]:
                        total += _face(placed, axis, place)
    return total


def _face(placed: Placed, axis: int, place: Fraction) -> Fraction:
    """The area of one outer face, minus its openings."""
    area = _area(_seen(placed.box, axis))
    open_strips: list[Strip] = []
    for cut in placed.part.cuts:
        box = placed.pose.place(cut_box(placed.part, cut))
        if place not in (box.low[axis].mm, box.high[axis].mm):
            continue
        hole = cut.outline
        across = cut_box(placed.part, cut).size(FACE_AXIS[cut.face][0])
        if isinstance(hole, RoundOutline) and box.size(axis) == across:
            area -= _PI * hole.diameter.mm**2 / 4
        else:
            open_strips.append(_seen(box, axis))
    return area - _union(open_strips)


def _seen(box: Cuboid, axis: int) -> Strip:
    """The rectangle that a block shows when seen along an axis."""
    u, v = (i for i in range(3) if i != axis)
    return box.low[u].mm, box.high[u].mm, box.low[v].mm, box.high[v].mm


def _area(strip: Strip) -> Fraction:
    return (strip[1] - strip[0]) * (strip[3] - strip[2])


def _union(strips: list[Strip]) -> Fraction:
    """The area of the union of rectangles."""
    xs = sorted({edge for strip in strips for edge in strip[:2]})
    total = Fraction(0)
    for left, right in pairwise(xs):
        spans = sorted((s[2], s[3]) for s in strips if s[0] <= left and s[1] >= right)
        end: Fraction | None = None
        for low, high in spans:
            start = low if end is None else max(low, end)
            total += max(Fraction(0), high - start) * (right - left)
            end = high if end is None else max(end, high)
    return total


Weights = tuple[Fraction, ...]
_CUTTERS = ("rabbet", "groove", "finger")
BY_PIECES, BY_LENGTH, EACH_ITS_OWN = "pieces", "length of pieces", "each its own"


@dataclass(frozen=True, slots=True)
class Labor:
    """A counted operation: the table and key of its time standard, its object, and its count.

    `weights` are the shares of the rows; `rule` describes their basis.
    """

    table: str
    key: str
    _: KW_ONLY
    what: str
    count: Fraction
    weights: Weights
    rule: str


@dataclass(slots=True)
class _Tally:
    """Counts for each operation and row, collected over the units."""

    rows: int
    own: dict[str, list[Fraction]] = field(default_factory=dict)
    sizes: dict[tuple[str, object], list[Fraction]] = field(default_factory=dict)

    def add(self, key: str, row: int, count: Fraction | int) -> None:
        """Adds a `count` of the operation `key` for a `row`."""
        if count:
            self.own.setdefault(key, [Fraction(0)] * self.rows)[row] += count

    def add_size(self, setup: str, size: object, row: int, count: Fraction) -> None:
        """Adds cuts for a `row` that share one `setup` of this size."""
        self.sizes.setdefault((setup, size), [Fraction(0)] * self.rows)[row] += count


def work_of(planned: PlannedBatch, rows: tuple[CostRow, ...]) -> tuple[Labor, ...]:
    """Every operation of the run, in working order."""
    works = [work for plan in planned.plans for work in (*_resaw(planned, plan, rows), *_cut(planned, plan, rows))]
    tally, wrapped = _Tally(len(rows)), hives_wrapped(rows)
    for n, row in enumerate(rows):
        if row.what == "sugar":
            tally.add("pack", n, row.count)
            tally.add("mix", n, row.count * bowls_of_board(planned.units, row.hives.sugar))
        elif row.what == "shavings":
            tally.add("fill", n, row.count)
        elif row.unit is not None:
            _joined(tally, n, row.unit)
    for n, row in enumerate(rows):
        if _is_wrapped(row):
            tally.add("wrap", n, wrapped.pop(row.hives.name, 0))
    for key, weights in tally.own.items():
        works.append(
            Labor("time", key, what="", count=sum(weights, Fraction(0)), weights=tuple(weights), rule=EACH_ITS_OWN)
        )
    by_setup: dict[str, list[list[Fraction]]] = {}
    for (setup, _), weights in tally.sizes.items():
        by_setup.setdefault(setup, []).append(weights)
    for setup, sizes in by_setup.items():
        wholes = [sum(size) for size in sizes]
        shared = [
            sum((size[n] / whole for size, whole in zip(sizes, wholes, strict=True) if size[n]), Fraction(0))
            for n in range(len(rows))
        ]
        works.append(
            Labor(
                "setup", setup, what="", count=Fraction(len(sizes)), weights=tuple(shared), rule="the cuts of each size"
            )
        )
    pieces = tuple(sum(weights) for weights in zip(*(_pieces(rows, plan) for plan in planned.plans), strict=True))
    works.append(Labor("setup", "run", what="", count=Fraction(1), weights=pieces or _counts(rows), rule=BY_PIECES))
    order = list(BY_KEY)
    return tuple(sorted(works, key=lambda work: order.index((work.table, work.key))))


def _counts(rows: tuple[CostRow, ...]) -> Weights:
    return tuple(Fraction(row.count) for row in rows)


def _pieces(rows: tuple[CostRow, ...], plan: MaterialPlan, by_length: bool = False) -> Weights:
    """The number of pieces of a material in each row, or their total length in millimeters."""
    weights = []
    for row in rows:
        total = Fraction(0)
        if row.unit is not None and row.what != "shavings":
            for placed in row.unit.assembly.with_role(Role.MADE):
                if placed.part.material == plan.job.material:
                    total += (placed.part.length.mm if by_length else 1) * row.unit.line.count
        weights.append(total)
    return tuple(weights)


def _resaw(planned: PlannedBatch, plan: MaterialPlan, rows: tuple[CostRow, ...]) -> Iterator[Labor]:
    """Counts the passes that resaw boards to one material, and the boards to plane."""
    material = plan.job.material.name
    own = [each for bought in planned.lumber for each in resawings(bought) if each.material == material]
    weights = _pieces(rows, plan, by_length=True)
    counts = (("resaw", sum(each.times * (each.count - 1) for each in own)),
              ("plane", sum(each.times * each.count for each in own)))  # fmt: skip
    for key, count in counts:
        if count:
            yield Labor("time", key, what=material, count=Fraction(count), weights=weights, rule=BY_LENGTH)


def _cut(planned: PlannedBatch, plan: MaterialPlan, rows: tuple[CostRow, ...]) -> Iterator[Labor]:
    """Counts the passes and settings of one material, from its cuts in sawing order."""
    material = plan.job.material.name
    stations = stations_of(plan.plan, planned.batch.saw.thin_rip)
    along = sum(each.passes for each in stations if each.is_rip)
    across = sum(each.passes for each in stations if not each.is_rip)
    pieces = _pieces(rows, plan)
    if not plan.job.material.is_sawn:
        if along + across:
            yield Labor("time", "snip", what=material, count=Fraction(along + across), weights=pieces, rule=BY_PIECES)
        return
    if along:
        yield Labor(
            "time",
            "rip",
            what=material,
            count=Fraction(along),
            weights=_pieces(rows, plan, by_length=True),
            rule=BY_LENGTH,
        )
    if across:
        yield Labor("time", "crosscut", what=material, count=Fraction(across), weights=pieces, rule=BY_PIECES)
    if stations:
        yield Labor("setup", "saw", what=material, count=Fraction(len(stations)), weights=pieces, rule=BY_PIECES)
    moves = sum(each.fence_moves for each in stations)
    if moves:
        yield Labor("setup", "fence", what=material, count=Fraction(moves), weights=pieces, rule=BY_PIECES)


@dataclass(frozen=True, slots=True)
class StationWork:
    """A setting of the saw, the passes made at it, and how often the fence is moved up to a board for them."""

    station: Station
    passes: int
    fence_moves: int

    @property
    def is_rip(self) -> bool:
        """Whether its cuts run along the board."""
        return self.station.setting[0]


def stations_of(plan: Plan, thin_rip: ThinRip) -> tuple[StationWork, ...]:
    """The settings for a plan of one material, in sawing order; `thin_rip` is the way to rip narrow strips."""
    found = []
    for station in job_sequence(plan.job, plan, thin_rip=thin_rip).stations:
        passes = sum(stroke.boards * stroke.saw_cut.count for stroke in station.strokes)
        moves = sum(stroke.boards * fence_moves_of(stroke.saw_cut, thin_rip) for stroke in station.strokes)
        found.append(StationWork(station, passes, moves))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class UnitWork:
    """The work after sawing on a number of equal units.

    `cuts` counts joints and holes by operation, the set-up that they need, and its size; `bench` counts the other work
    by operation.
    """

    cuts: dict[tuple[str, str, object], Fraction]
    bench: dict[str, Fraction]


def unit_work(unit: Unit, count: int) -> UnitWork:
    """The work on `count` units: joints, holes and folds and, if assembled here, corners, staples and paint."""
    cuts: dict[tuple[str, str, object], Fraction] = {}
    bench: dict[str, Fraction] = {}
    made = unit.assembly.with_role(Role.MADE)
    for placed in made:
        for cut in placed.part.cuts:
            work = operation_of(placed.part, cut)
            cuts[work] = cuts.get(work, Fraction(0)) + count
        bench["fold"] = bench.get("fold", Fraction(0)) + count * len(placed.part.folds)
    if made:
        bench["label"] = Fraction(count)
    if not unit.line.hives.is_assembled and unit.line.item.is_per_hive:
        bench["bag"] = Fraction(count)
        return UnitWork(cuts, bench)
    kinds = unit.assembly.fasteners
    if any("glue" in f.kind for f in kinds):
        bench["corner"] = Fraction(4 * count)
        bench["glue_up"] = Fraction(count)
    if not unit.assembly.with_role(Role.EXISTING):  # parts on the user's hive are attached at the hive
        bench["staple"] = Fraction(count * sum(f.count for f in kinds if "staple" in f.kind))
    bench["paint"] = outside_area(unit) / SQUARE_FOOT * count
    return UnitWork(cuts, bench)


def painted_area(planned: PlannedBatch) -> Fraction:
    """The outside in square feet that is painted in this run, or zero if the shop paints nothing."""
    if not planned.batch.work.coats:
        return Fraction(0)
    return sum((unit_work(u, u.line.count).bench.get("paint", Fraction(0)) for u in planned.units), Fraction(0))


def _joined(tally: _Tally, row: int, unit: Unit) -> None:
    """Counts the work on the units of a line."""
    work = unit_work(unit, unit.line.count)
    for (key, setup, size), count in work.cuts.items():
        tally.add(key, row, count)
        if setup and count:
            tally.add_size(setup, size, row, count)
    for key, count in work.bench.items():
        tally.add(key, row, count)


def operation_of(part: Part, cut: Cut) -> tuple[str, str, object]:
    """The operation that makes a cut, the setup it needs, and the size of the setup, or "" if none is needed."""
    if part.material.mesh is not None:
        return "passage", "", None
    if isinstance(cut.outline, RoundOutline):
        key = "punch" if part.material.kind.cut_with == "tin snips" else "drill"
        return key, "drill", (key, cut.outline.diameter)
    wide = min(cut.outline.u1 - cut.outline.u0, cut.outline.v1 - cut.outline.v0)
    for key in _CUTTERS:
        if key in cut.name:
            return key, "cutter", (key, wide, cut.depth)
    return "notch", "notch", (cut.outline.u1 - cut.outline.u0, cut.outline.v1 - cut.outline.v0, cut.depth)


def hives_wrapped(rows: tuple[CostRow, ...]) -> dict[str, int]:
    """The largest count of any item made for a group of hives, keyed by the name of the group."""
    most: dict[str, int] = {}
    for row in rows:
        if _is_wrapped(row):
            most[row.hives.name] = max(most.get(row.hives.name, 0), row.count)
    return most


def _is_wrapped(row: CostRow) -> bool:
    return row.unit is not None and row.unit.line.item.is_per_hive and row.what != "shavings" and row.count > 0
