"""The stages of a batch: the work to be done, counted exactly, and which stage waits for which.

All counts are those of `plan.work.counts`, which the price also uses. A stage is a kind of work on one lot. A lot is an
order, or the hives of one apiary; buying, sawing and machining form one lot for the batch.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from functools import cached_property

from woodshop.design.batch import Batch, Hives, order_name, packed_boards
from woodshop.design.settings.times import ALL_BY_KEY
from woodshop.plan.buy_list import bowls_of_board
from woodshop.plan.cost import CostRow, cost_rows
from woodshop.plan.first_boards import FirstBoards, first_boards, first_kinds
from woodshop.plan.values import MaterialPlan, PlannedBatch
from woodshop.plan.work.counts import StationWork, UnitWork, hives_wrapped, stations_of, unit_work
from woodshop.reference.materials import Material
from woodshop.shape.part import Role
from woodshop.units.lengths import Length

MINUTES_A_DAY = 24 * 60
SHOPPING, FIRST_BOARDS, FIRST_ARTICLE, CUTTING = "Shopping", "First boards", "First article", "Cutting"
MACHINING, ASSEMBLY, MIX, PLACE = "Parts and machining", "Assembly", "Mix, pack, place", "Placing on the hive"
Cut = tuple[str, str, object]
"""The operation that makes a cut, the set-up that it needs, and its size; see `plan.work.counts.operation_of`."""
_LAST_PRIORITY = 10  # one more than the lowest priority


@dataclass(frozen=True, slots=True)
class Op:
    """An operation of `design.settings.times`: its table and key, how often it is done, and its place in the packet."""

    table: str
    key: str
    count: Fraction
    page: str = ""
    what: str = ""


@dataclass(frozen=True, slots=True)
class After:
    """A stage that comes before another. The lag is at least `least` minutes; `wanted` is the lag that the user wants.

    If `is_by_share` is true, a part of a stage waits only for the same part of the lot; otherwise for the whole stage.
    If `is_at_once` is true, the later stage follows without a break.
    """

    stage: str
    least: int = 0
    wanted: int = 0
    is_by_share: bool = False
    is_at_once: bool = False


@dataclass(frozen=True, slots=True)
class Resting:
    """The share of a lot, `low` to `high`, that began to rest before today, and the `minutes` it must still rest."""

    low: Fraction
    high: Fraction
    minutes: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Work of a stage that is done in a given order, such as a setting of the saw. `setting` is "" if it needs none."""

    ops: tuple[Op, ...]
    setting: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A kind of work on one lot. `what` completes the sentence "Somebody is to ...".

    `blocks` are done in order. If `is_chain` is false, there is one block of `units` equal things, which can be done
    separately. `rest` is the minutes that each part of the stage takes without anyone, such as drying. `uses` is the
    amount of each resource for one thing; `held` is the amount for a part of the stage of any size. `each` are
    operations done once for each part, such as the drive of a trip. `serves` are the numbers of the units of the batch
    that it makes. `done` is the share that is finished, and `resting` are the shares that began to rest before today.
    """

    key: str
    kind: str
    what: str
    blocks: tuple[Block, ...] = ()
    skill: str = ""
    people: int = 1
    units: int = 1
    noun: str = ""
    lot: str = ""
    is_chain: bool = False
    each: tuple[Op, ...] = ()
    rest: int | None = None
    uses: Mapping[str, int] = field(default_factory=dict)
    held: Mapping[str, int] = field(default_factory=dict)
    after: tuple[After, ...] = ()
    serves: tuple[int, ...] = ()
    done: Fraction = Fraction(0)
    resting: tuple[Resting, ...] = ()

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to do."""
        return self.rest is None and not any(op.count for block in self.blocks for op in block.ops)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lot:
    """An order, or the user's own hives of one apiary. `name` is the printed name, unique in the batch.

    `groups` are its groups of hives. `hives` is the number of hives for which something is wrapped, including spares;
    `to_fit` is the number on which something is put. `boards` is the number of packed boards.
    """

    name: str
    groups: tuple[Hives, ...]
    is_own: bool
    due: date | None
    hives: int
    to_fit: int
    boards: int

    @property
    def place(self) -> str:
        """The place of its hives."""
        return self.groups[0].apiary or "the hives"

    @property
    def weight(self) -> int:
        """The cost of a day of lateness: 9 for the first priority, 1 for the last."""
        return _LAST_PRIORITY - min(each.priority for each in self.groups)


def minutes_of(ops: Iterable[Op], batch: Batch) -> Fraction:
    """The minutes of operations, by the shop's time standards."""
    return sum((op.count * batch.work.standards[op.table, op.key].minutes for op in ops), Fraction(0))


def lots_of(batch: Batch, rows: tuple[CostRow, ...], packed: Mapping[str, int]) -> tuple[Lot, ...]:
    """The lots of a batch, the first due first. `packed` counts boards to pack, by name of hives or else by format."""
    wrapped = hives_wrapped(rows)
    groups: dict[tuple[str, str, str, date | None, bool], list[Hives]] = {}
    for hives in batch.hives:
        if wrapped.get(hives.name) or packed.get(hives.name or hives.format):
            is_own = not hives.customer and not hives.order
            key = (hives.order, hives.customer, hives.apiary if is_own else "", hives.due, is_own)
            groups.setdefault(key, []).append(hives)
    names = [_lot_name(own, is_own, len(groups)) for (*_, is_own), own in groups.items()]
    lots: list[Lot] = []
    for n, ((_, _, _, due, is_own), own) in enumerate(groups.items()):
        name = names[n]
        if names.count(name) > 1:
            name = f"{name}, {f'due {due}' if due else 'no due date'}"
        if name in {lot.name for lot in lots}:
            name = f"{name} ({n + 1})"
        count = sum(wrapped.get(each.name, 0) for each in own)
        boards = sum(packed.get(each.name or each.format, 0) for each in own)
        fitted = 0
        for each in own:
            fitted += max(packed.get(each.name or each.format, 0), min(wrapped.get(each.name, 0), each.count))
        lots.append(
            Lot(name=name, groups=tuple(own), is_own=is_own, due=due, hives=count, to_fit=fitted, boards=boards)
        )
    return tuple(sorted(lots, key=lambda lot: (lot.due is None, lot.due or date.max)))


def _lot_name(own: Sequence[Hives], is_own: bool, lots: int) -> str:
    if not is_own:
        return order_name(own[0])
    if own[0].apiary:
        return own[0].apiary
    return "own hives" if len(own) > 1 or lots > 1 else own[0].name or "own hives"


def stages_of(planned: PlannedBatch) -> tuple[tuple[Stage, ...], tuple[Lot, ...]]:
    """Every stage of a batch, each after the stages that it waits for, and the lots of the batch."""
    stages = _Stages(planned)
    return stages.found(), stages.lots


@dataclass(frozen=True)
class _Stages:
    planned: PlannedBatch

    @cached_property
    def batch(self) -> Batch:
        return self.planned.batch

    @cached_property
    def rows(self) -> tuple[CostRow, ...]:
        return cost_rows(self.batch, self.planned.units)

    @cached_property
    def packed(self) -> dict[str, int]:
        return {name: count for name, count, _ in packed_boards(self.batch, self.planned.units)}

    @cached_property
    def lots(self) -> tuple[Lot, ...]:
        return lots_of(self.batch, self.rows, self.packed)

    @cached_property
    def work(self) -> list[UnitWork]:
        """The work on all units of each line."""
        return [unit_work(unit, unit.line.count) for unit in self.planned.units]

    @cached_property
    def first(self) -> dict[int, UnitWork]:
        """The work on the first unit of each kind, by its number. It is empty in the rest of a plan."""
        if self.planned.cut_before or self.planned.there or not self.planned.plans:
            return {}
        return {n: unit_work(self.planned.units[n], 1) for n in first_kinds(self.planned.units)}

    @cached_property
    def made(self) -> list[int]:
        """The numbers of the units that have something to make."""
        units = self.planned.units
        return [n for n, unit in enumerate(units) if unit.line.count and unit.assembly.with_role(Role.MADE)]

    @cached_property
    def cuts(self) -> dict[Cut, str]:
        """Every kind of cut made after sawing, with the key of the stage that makes it."""
        kinds = dict.fromkeys(cut for n in self.made for cut in self.work[n].cuts)
        found: dict[Cut, str] = {}
        for cut in kinds:
            key = f"{_machine_kind(cut[0])}/{self._cut_words(cut)}"
            found[cut] = key if key not in found.values() else f"{key} ({len(found) + 1})"
        return found

    def _cut_words(self, cut: Cut) -> str:
        key, _, size = cut
        name = ALL_BY_KEY["time", key].name
        sizes = size if isinstance(size, tuple) else ()
        said = " x ".join(self.batch.wording.length(each) for each in sizes if isinstance(each, Length))
        return f"{name} {said}".strip()

    def found(self) -> tuple[Stage, ...]:
        stages = [*self._buy(), *self._saw(), *self._machine(), *self._aids()]
        for lot in self.lots:
            stages += self._lot(lot)
        return tuple(
            stage if stage.after or stage.kind == "buy" else replace(stage, after=self._bought) for stage in stages
        )

    # ---- for the whole batch ---------------------------------------------------------------------

    @cached_property
    def _yards(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(each.lumberyard for each in self.planned.purchases))

    @cached_property
    def _bought(self) -> tuple[After, ...]:
        return tuple(After(f"buy/{yard}" if yard else "buy") for yard in self._yards)

    def _buy(self) -> Iterator[Stage]:
        for yard in self._yards:
            yield Stage(
                key=f"buy/{yard}" if yard else "buy",
                kind="buy",
                what=f"fetch from {yard or 'the lumberyard'} what is on the buy list",
                blocks=(Block(ops=(Op("time", "buy", Fraction(1), SHOPPING),)),),
                skill="buy",
                held={"car": 1},
            )
        run = (Op("setup", "run", Fraction(1 if self.rows else 0)),)
        yield Stage(
            key="run", kind="run", what="open the shop and carry the stock in", blocks=(Block(ops=run),), skill="saw",
            after=self._bought,
        )  # fmt: skip

    @cached_property
    def _split(self) -> tuple[tuple[MaterialPlan, FirstBoards | None], ...]:
        """Each material with the boards that are cut first, or with None if all its boards are cut in one stage."""
        if not self.first:
            return tuple((plan, None) for plan in self.planned.plans)
        return tuple(zip(self.planned.plans, first_boards(self.planned), strict=True))

    def _saw(self) -> Iterator[Stage]:
        for plan, first in self._split:
            name, plan_all = plan.job.material.name, plan.plan
            if not plan.job.material.is_sawn:
                yield from self._snip(plan, first)
                continue
            times = first.times if first is not None and first.is_cut_first else None
            if times is None:
                yield self._saw_stage(f"saw/{name}", plan, [each.times for each in plan_all.layouts], ("run",), CUTTING)
                continue
            rest = [each.times - count for each, count in zip(plan_all.layouts, times, strict=True)]
            yield self._saw_stage(f"first saw/{name}", plan, times, ("run",), FIRST_BOARDS)
            yield self._saw_stage(f"saw/{name}", plan, rest, ("run", "try first"), CUTTING)

    def _saw_stage(
        self, key: str, plan: MaterialPlan, times: Sequence[int], after: tuple[str, ...], page: str
    ) -> Stage:
        layouts = tuple(replace(each, times=n) for each, n in zip(plan.plan.layouts, times, strict=True) if n)
        name = plan.job.material.name
        blocks = []
        if layouts:
            for work in stations_of(replace(plan.plan, layouts=layouts), self.batch.saw.thin_rip):
                said = self._setting(work, plan.job.grid)
                blocks.append(Block(ops=tuple(_station_ops(work, said, page)), setting=f"{name}, {said}"))
        made = [n for n in self.made if plan.job.material in self._materials([n])]
        what = f"saw {'the first boards of ' if key.startswith('first') else ''}{plan.job.material.spoken}"
        return Stage(
            key=key, kind="saw", what=what, blocks=tuple(blocks), skill="saw", is_chain=True, held={"saw": 1},
            after=tuple(After(each) for each in after), serves=() if key.startswith("first") else tuple(made),
        )  # fmt: skip

    def _setting(self, work: StationWork, grid: Length) -> str:
        along, by, distance = work.station.setting
        length = self.batch.wording.length(grid * distance)
        words = {
            "fence": "rip, fence at",
            "remaining": "rip, fence at",
            "strip": "rip strips, thin-rip stop at",
            "stop": "crosscut, stop at",
            "trim": "trim edges," if along else "trim ends,",
        }
        return f"{words[by]} {length}"

    def _snip(self, plan: MaterialPlan, first: FirstBoards | None) -> Iterator[Stage]:
        passes = Fraction(sum(each.passes for each in stations_of(plan.plan, self.batch.saw.thin_rip)))
        blanks = sum(blank.count for blank in plan.plan.job.blanks)
        wanted = sum(count for _, count in first.wanted) if first is not None else 0
        early = passes * Fraction(wanted, blanks) if blanks else Fraction(0)
        name, spoken = plan.job.material.name, plan.job.material.spoken
        made = [n for n in self.made if plan.job.material in self._materials([n])]
        for key, share, pieces, after, page in (
            (f"first snip/{name}", early, wanted, ("run",), FIRST_BOARDS),
            (f"snip/{name}", passes - early, blanks - wanted, ("run", "try first"), CUTTING),
        ):
            what = f"cut {'the first pieces of ' if key.startswith('first') else ''}{spoken}"
            yield Stage(
                key=key, kind="metal", what=what, blocks=(Block(ops=(Op("time", "snip", share, page, spoken),)),),
                skill="metal", units=max(1, pieces), noun="pieces", after=tuple(After(each) for each in after),
                serves=() if key.startswith("first") else tuple(made),
            )  # fmt: skip

    def _materials(self, units: Iterable[int]) -> set[Material]:
        """The materials of the made parts of these units."""
        return {p.part.material for n in units for p in self.planned.units[n].assembly.with_role(Role.MADE)}

    def _cut_stages(self, units: Iterable[int], *, is_first: bool = False) -> tuple[str, ...]:
        """The stages that cut the materials of these units. First units may use a material that is cut in one stage."""
        materials = self._materials(units)
        found = []
        for plan, first in self._split:
            if plan.job.material in materials:
                apart = first is not None and (first.is_cut_first or not plan.job.material.is_sawn)
                kind = "saw" if plan.job.material.is_sawn else "snip"
                found.append(f"{'first ' if is_first and apart else ''}{kind}/{plan.job.material.name}")
        return tuple(found)

    def _machine(self) -> Iterator[Stage]:
        firsts: dict[str, list[Op]] = {}
        for cut in self.cuts:
            count = sum((work.cuts.get(cut, Fraction(0)) for work in self.first.values()), Fraction(0))
            if count:
                firsts.setdefault(_machine_kind(cut[0]), []).extend(_cut_ops(cut, count))
        folds = sum((work.bench.get("fold", Fraction(0)) for work in self.first.values()), Fraction(0))
        if folds:
            firsts.setdefault("metal", []).append(Op("time", "fold", folds, MACHINING))
        for kind in ("machine", "drill", "metal"):
            yield Stage(
                key=f"first {kind}", kind=kind, what=f"{_DEEDS[kind]} the first units",
                blocks=(Block(ops=tuple(firsts.get(kind, ()))),), skill=_SKILLS[kind], held=_HELD[kind],
                after=tuple(After(each) for each in self._cut_stages(self.first, is_first=True)),
            )  # fmt: skip
        yield from self._build_first()
        for cut, key in self.cuts.items():
            own = [n for n in self.made if cut in self.work[n].cuts]
            count = sum((self.work[n].cuts[cut] for n in own), Fraction(0))
            count -= sum((self.first[n].cuts[cut] for n in own if n in self.first), Fraction(0))
            kind, operation = _machine_kind(cut[0]), ALL_BY_KEY["time", cut[0]]
            yield Stage(
                key=key, kind=kind, what=self._cut_words(cut), skill=_SKILLS[kind], units=max(1, int(count)),
                blocks=(Block(ops=_cut_ops(cut, count) if count else (), setting=key if cut[1] else ""),),
                noun=f"{operation.one}{'es' if operation.one.endswith('ch') else 's'}", held=_HELD[kind], is_chain=True,
                after=tuple(After(each) for each in (*self._cut_stages(own), "try first")), serves=tuple(own),
            )  # fmt: skip
        folded = [n for n in self.made if self.work[n].bench["fold"]]
        left = self._left("fold", folded)
        yield Stage(
            key="fold", kind="metal", what="fold mesh or sheet steel", skill="metal", units=max(1, int(left)),
            blocks=(Block(ops=(Op("time", "fold", left, MACHINING),)),), noun="folds", is_chain=True,
            after=tuple(After(each) for each in (*self._cut_stages(folded), "try first")), serves=tuple(folded),
        )  # fmt: skip

    def _build_first(self) -> Iterator[Stage]:
        firsts = self.first.values()
        counts = {key: sum((work.bench.get(key, Fraction(0)) for work in firsts), Fraction(0)) for key in _FIRST_BENCH}
        ops = tuple(Op("time", key, count, ASSEMBLY) for key, count in counts.items())
        yield Stage(
            key="build first", kind="assemble", what="build the first of each kind", blocks=(Block(ops=ops),),
            skill="assemble", units=max(1, len(self.first)), noun="kinds",
            after=tuple(After(each) for each in ("first machine", "first drill", "first metal")),
        )  # fmt: skip
        units = self.planned.units
        widths = {units[n].line.fits for n in self.first if units[n].line.item.place is not None}
        yield Stage(
            key="try first", kind="measure", what="measure the first of each kind and try it on a hive",
            blocks=(Block(ops=(Op("time", "try_first", Fraction(len(widths)), FIRST_ARTICLE),)),), skill="assemble",
            units=max(1, len(widths)), noun="widths of hive", after=(After("build first"),),
        )  # fmt: skip

    def _left(self, key: str, units: Iterable[int]) -> Fraction:
        """How often a bench operation must still be done for these units, without the first ones."""
        total = Fraction(0)
        for n in units:
            total += self.work[n].bench.get(key, Fraction(0))
            if n in self.first and (key in _FIRST_BENCH or key == "fold"):
                total -= self.first[n].bench.get(key, Fraction(0))
        return total

    def _aids(self) -> Iterator[Stage]:
        """The items that the shop makes for itself: blocks, gauges."""
        own = [n for n in self.made if not self.planned.units[n].line.item.is_per_hive]
        ops = tuple(Op("time", key, self._left(key, own), ASSEMBLY) for key in (*_FIRST_BENCH, "paint", "label"))
        titles = dict.fromkeys(self.planned.units[n].line.item.title.lower() for n in own)
        yield Stage(
            key="aids", kind="assemble", what=f"finish {', '.join(titles)}", blocks=(Block(ops=ops),),
            skill="assemble", after=self._parts(own), serves=tuple(own),
        )  # fmt: skip

    def _parts(self, units: Sequence[int]) -> tuple[After, ...]:
        """The stages that cut and machine the parts of these units."""
        found = list(self._cut_stages(units))
        for n in units:
            found += [self.cuts[cut] for cut in self.work[n].cuts]
            found += ["fold"] if self.work[n].bench["fold"] else []
        return tuple(After(each) for each in dict.fromkeys(found))

    # ---- for a lot -------------------------------------------------------------------------------

    def _lot(self, lot: Lot) -> Iterator[Stage]:
        crew, names = self.batch.crew, {hives.name for hives in lot.groups}
        lines = [unit.line for unit in self.planned.units]
        own = [n for n in self.made if lines[n].hives.name in names and lines[n].item.is_per_hive]
        rows = [row for row in self.rows if row.hives.name in names]
        framed = [n for n in own if self.work[n].bench.get("glue_up")]
        hives, to = max(1, lot.hives), f"for {lot.name}"

        def bench(*keys: str) -> tuple[Block, ...]:
            return (Block(ops=tuple(Op("time", key, self._left(key, own), ASSEMBLY) for key in keys)),)

        key = lot.name
        frames = int(self._left("glue_up", own))
        at_once = max(1, min(crew.clamps, frames))
        yield Stage(
            key=f"assemble/{key}", kind="assemble", what=f"assemble frames {to}", blocks=bench("corner", "glue_up"),
            skill="assemble", units=max(1, frames), noun="frames", lot=key, after=self._parts(framed),
            serves=tuple(framed),
            held={"clamps": at_once} if crew.clamp_minutes else {},
        )  # fmt: skip
        glued = crew.glue_hours * 60
        before = After(f"assemble/{key}", least=glued, is_by_share=True)
        if crew.clamp_minutes and frames:
            yield Stage(
                key=f"clamp/{key}", kind="clamp", what=f"frames {to} in clamps", units=frames, noun="frames", lot=key,
                rest=crew.clamp_minutes, held={"clamps": at_once},
                after=(After(f"assemble/{key}", is_by_share=True, is_at_once=True),),
            )  # fmt: skip
        area = self._left("paint", own)
        for coat in range(1, self.batch.work.coats + 1 if area else 1):
            number = f", coat {coat}" if self.batch.work.coats > 1 else ""
            yield Stage(
                key=f"paint {coat}/{key}", kind="paint", what=f"paint outsides {to}{number}", skill="paint", lot=key,
                blocks=(Block(ops=(Op("time", "paint", area, ASSEMBLY),)),), units=max(1, frames), noun="frames",
                after=(before,),
            )  # fmt: skip
            before = After(f"paint {coat}/{key}", least=crew.paint_hours * 60, is_by_share=True)
        yield Stage(
            key=f"staple/{key}", kind="assemble", what=f"staple mesh and cloth {to}", blocks=bench("staple"),
            skill="assemble", units=hives, noun="hives", lot=key, after=(before, *self._parts(own)),
            serves=tuple(n for n in own if self.work[n].bench.get("staple")),
        )  # fmt: skip
        ready = [After(f"staple/{key}", is_by_share=True)]
        fill = sum((Fraction(row.count) for row in rows if row.what == "shavings"), Fraction(0))
        yield Stage(
            key=f"fill/{key}", kind="fill", what=f"fill with shavings {to}", skill="pack", lot=key,
            blocks=(Block(ops=(Op("time", "fill", fill, ASSEMBLY),)),), units=max(1, int(fill)), noun="boxes",
            after=(ready[0], *self._bought),
        )  # fmt: skip
        ready.append(After(f"fill/{key}", is_by_share=True))
        if lot.boards:
            yield from self._pack(lot, rows)
            ready.append(After(f"dry/{key}", is_by_share=True))
        wrap = Op("time", "wrap", Fraction(lot.hives), ASSEMBLY)
        yield Stage(
            key=f"wrap/{key}", kind="wrap", what=f"label and wrap {to}", skill="pack", units=hives, noun="hives",
            blocks=(Block(ops=(*bench("label", "bag")[0].ops, wrap)),), lot=key, after=(*ready, *self._parts(own)),
        )  # fmt: skip
        yield from self._send(lot)

    def _pack(self, lot: Lot, rows: Sequence[CostRow]) -> Iterator[Stage]:
        crew, key = self.batch.crew, lot.name
        units = self.planned.units
        bowls = sum(row.count * bowls_of_board(units, row.hives.sugar) for row in rows if row.what == "sugar")
        ops = (Op("time", "mix", Fraction(bowls), MIX), Op("time", "pack", Fraction(lot.boards), MIX))
        yield Stage(
            key=f"pack/{key}", kind="pack", what=f"mix and pack boards for {key}", blocks=(Block(ops=ops),),
            skill="pack", units=lot.boards, noun="boards", lot=key, uses={"places": 1},
            after=(After(f"staple/{key}", is_by_share=True), After("aids"), *self._bought),
        )  # fmt: skip
        yield Stage(
            key=f"dry/{key}", kind="dry", what=f"boards for {key} dry", units=lot.boards, noun="boards", lot=key,
            rest=crew.drying_days * MINUTES_A_DAY, uses={"places": 1},
            after=(After(f"pack/{key}", is_by_share=True, is_at_once=True),),
        )  # fmt: skip

    def _send(self, lot: Lot) -> Iterator[Stage]:
        crew, key = self.batch.crew, lot.name
        after = [After(f"wrap/{key}", is_by_share=True)]
        if lot.boards:
            after.append(After(f"dry/{key}", wanted=crew.spare_days * MINUTES_A_DAY, is_by_share=True))
        place = MIX if self.packed else PLACE
        load = Op("time", "load", Fraction(lot.to_fit), place)
        if lot.is_own and any(each.is_assembled for each in lot.groups):
            units = max(1, lot.to_fit)
            yield Stage(
                key=f"fit/{key}", kind="fit", what=f"take to {lot.place} and put on", skill="fit", units=units,
                blocks=(Block(ops=(load, Op("time", "fit", Fraction(lot.to_fit), place))),), noun="hives", lot=key,
                each=(Op("time", "drive", Fraction(1), place),), held={"car": 1}, after=tuple(after),
            )  # fmt: skip
            return
        if lot.is_own:
            return
        yield Stage(
            key=f"hand over/{key}", kind="hand over", what=f"hand over {key}", skill="load", lot=key,
            blocks=(Block(ops=(Op("time", "hand_over", Fraction(1), place), load)),), after=tuple(
                replace(each, is_by_share=False) for each in after),
        )  # fmt: skip


_FIRST_BENCH = ("corner", "glue_up", "staple")
_DEEDS = {"machine": "machine parts of", "drill": "drill parts of", "metal": "shape mesh and sheet of"}
_SKILLS = {"machine": "saw", "drill": "drill", "metal": "metal"}
_HELD: dict[str, dict[str, int]] = {"machine": {"saw": 1}, "drill": {"drill": 1}, "metal": {}}


def _machine_kind(key: str) -> str:
    return "drill" if key == "drill" else "metal" if key in ("punch", "passage") else "machine"


def _station_ops(work: StationWork, said: str, page: str) -> Iterator[Op]:
    yield Op("setup", "saw", Fraction(1), page, said)
    yield Op("time", "rip" if work.is_rip else "crosscut", Fraction(work.passes), page, said)
    if work.fence_moves:
        yield Op("setup", "fence", Fraction(work.fence_moves), page, said)


def _cut_ops(cut: Cut, count: Fraction) -> tuple[Op, ...]:
    key, setup, _ = cut
    done = Op("time", key, count, MACHINING)
    return (Op("setup", setup, Fraction(1), MACHINING), done) if setup else (done,)
