"""The stages of a batch: the work to be done, counted exactly, and which stage waits for which.

All counts are those of `plan.work.counts`, which the price also uses. A stage is a kind of work on one lot. A lot is an
order, or the hives of one apiary; buying, sawing and machining form one lot for the batch.
"""

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from woodshop.cutting.order.sequence import SawCut, saw_cuts
from woodshop.design.batch import Batch, packed_boards
from woodshop.design.settings.resawing import GUARDED_TABLE_SAW
from woodshop.design.settings.times import ALL_BY_KEY
from woodshop.plan.buy_list import FASTENERS, bowls_of_board
from woodshop.plan.cost import CostRow, cost_rows
from woodshop.plan.first_boards import FirstBoards, first_boards, first_kinds
from woodshop.plan.lumber_at_home import Resawn, resawings
from woodshop.plan.values import MaterialPlan, PlannedBatch, stock_used
from woodshop.plan.work.counts import StationWork, UnitWork, operation_of, stations_of, unit_work
from woodshop.plan.work.cut_tools import PlannedLayout, cuts_by_tool, deed, tools_for
from woodshop.reference.materials import Material, read_material
from woodshop.schedule.stage_values import After, Block, Counted, Lot, Op, Stage, lots_of
from woodshop.shape.part import Role
from woodshop.units.lengths import Length

MINUTES_A_DAY = 24 * 60
RESAWING = "Resaw and plane"
SHOPPING, FIRST_BOARDS, FIRST_ARTICLE, CUTTING = "Shopping", "First boards", "First article", "Cutting"
MACHINING, ASSEMBLY, MIX, PLACE = "Parts and machining", "Assembly", "Mix, pack, place", "Placing on the hive"
Cut = tuple[str, str, object]
"""The operation that makes a cut, the set-up that it needs, and its size; see `plan.work.counts.operation_of`."""


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
        say = self.batch.wording.drill if key in ("drill", "punch") else self.batch.wording.length
        said = " x ".join(say(each) for each in sizes if isinstance(each, Length))
        return f"{name} {said}".strip()

    def found(self) -> tuple[Stage, ...]:
        stages = [*self._buy(), *self._saw(), *self._machine(), *self._aids()]
        for lot in self.lots:
            stages += self._lot(lot)
        return tuple(
            stage if stage.after or stage.kind in ("buy", "resaw", "saw") else replace(stage, after=self._bought)
            for stage in stages
        )

    # ---- for the whole batch ---------------------------------------------------------------------

    @cached_property
    def _yards(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(each.lumberyard for each in self.planned.purchases))

    @cached_property
    def _bought(self) -> tuple[After, ...]:
        return tuple(After(_trip(yard)) for yard in self._yards)

    @cached_property
    def _trips(self) -> dict[str, tuple[str, ...]]:
        """The trips that bring the stock of each material, or what it is resawn from."""
        found = {}
        for plan in self.planned.plans:
            used = stock_used(plan)
            yards = {each.lumberyard for each in plan.job.offers if each.id in used and not each.label}
            found[plan.job.material.name] = self._to(yards)
        return found

    def _to(self, yards: Container[str]) -> tuple[str, ...]:
        """The trips to these lumberyards, in their order."""
        return tuple(_trip(yard) for yard in self._yards if yard in yards)

    def _bringing(self, *goods: str) -> tuple[After, ...]:
        """The trips that bring these goods, without those that come before the first sawing. No goods means all."""
        known = self._trips[self._opening.partition("/")[2]] if self._opening else ()
        yards = {each.lumberyard for each in self.planned.purchases if not goods or each.group in goods}
        return tuple(After(trip) for trip in self._to(yards) if trip not in known)

    def _buy(self) -> Iterator[Stage]:
        for yard in self._yards:
            yield Stage(
                key=_trip(yard),
                kind="buy",
                what=f"buy at {yard or 'the lumberyard'} what is on the buy list",
                blocks=(Block(ops=(Op("time", "buy", Fraction(1), SHOPPING),)),),
                skill="buy",
                held={"car": 1},
            )
        if not self._opening:
            yield Stage(
                key="run", kind="run", what=_OPEN, blocks=(Block(ops=self._run),), skill="saw", after=self._bought,
            )  # fmt: skip

    @property
    def _run(self) -> tuple[Op, ...]:
        return (Op("setup", "run", Fraction(1 if self.rows else 0), what=_OPEN),)

    @cached_property
    def _opening(self) -> str:
        """The stage that is sawn first, which starts with opening the shop; "" if nothing is sawn."""
        for plan, first in self._split:
            if plan.job.material.is_sawn and any(layout.times for layout in plan.plan.layouts):
                is_apart = first is not None and first.is_cut_first and any(first.times)
                return f"{'first ' if is_apart else ''}saw/{plan.job.material.name}"
        return ""

    def _opened(self, material: Material) -> tuple[str, ...]:
        """What comes before a material is cut: its trips and, for boards, the opening of the shop and planing."""
        trips, name = self._trips[material.name], material.name
        if not material.is_sawn:
            return trips if self._opening else ("run",)
        known = self._trips[self._opening.partition("/")[2]] if self._opening else trips
        return (self._opening or "run", *(trip for trip in trips if trip not in known), *self._planed(name))

    @cached_property
    def _split(self) -> tuple[tuple[MaterialPlan, FirstBoards | None], ...]:
        """Each material with the boards that are cut first, or with None if all its boards are cut in one stage."""
        if not self.first:
            return tuple((plan, None) for plan in self.planned.plans)
        return tuple(zip(self.planned.plans, first_boards(self.planned), strict=True))

    def _saw(self) -> Iterator[Stage]:
        yield from self._resaw()
        for plan, first in self._split:
            name, plan_all = plan.job.material.name, plan.plan
            opened = self._opened(plan.job.material)
            if not plan.job.material.is_sawn:
                yield from self._snip(plan, first)
                continue
            times = first.times if first is not None and first.is_cut_first else None
            if times is None:
                yield self._saw_stage(f"saw/{name}", plan, [each.times for each in plan_all.layouts], opened, CUTTING)
                continue
            rest = [each.times - count for each, count in zip(plan_all.layouts, times, strict=True)]
            yield self._saw_stage(f"first saw/{name}", plan, times, opened, FIRST_BOARDS)
            yield self._saw_stage(f"saw/{name}", plan, rest, (*opened, "try first"), CUTTING)

    @cached_property
    def _resawn(self) -> dict[str, list[Resawn]]:
        """What is resawn for each material."""
        found: dict[str, list[Resawn]] = {}
        for each in self.planned.lumber:
            for own in resawings(each):
                found.setdefault(own.material, []).append(own)
        return found

    def _planed(self, material: str) -> tuple[str, ...]:
        return (f"plane/{material}",) if material in self._resawn else ()

    def _resaw(self) -> Iterator[Stage]:
        """Boards are resawn, rest between sticks, and are planed."""
        rest = self.batch.crew.resting_days * MINUTES_A_DAY
        tool = self.batch.saw.tools.resawing
        saw = "saw" if tool is not None and tool.saw == GUARDED_TABLE_SAW else "band saw"
        for material, own in self._resawn.items():
            passes = Fraction(sum(each.times * (each.count - 1) for each in own))
            boards = Fraction(sum(each.times * each.count for each in own))
            spoken = read_material(material).spoken
            trips = self._to({each.offer.lumberyard for each in own if not each.offer.label})
            made = [n for n in self.made if material in {each.name for each in self._materials([n])}]
            yield Stage(
                key=f"resaw/{material}", kind="resaw", what=f"resaw {spoken}s, and stack them between sticks to rest",
                blocks=(Block(ops=(Op("time", "resaw", passes, RESAWING),)),), skill="saw", units=int(passes),
                noun="passes", after=tuple(After(each) for each in trips), held={saw: 1}, serves=tuple(made),
            )  # fmt: skip
            yield Stage(
                key=f"plane/{material}", kind="resaw", what=f"plane {spoken}s", skill="saw", units=int(boards),
                blocks=(Block(ops=(Op("time", "plane", boards, RESAWING),)),), noun="boards",
                after=(After(f"resaw/{material}", least=rest),), held={"planer": 1}, serves=tuple(made),
            )  # fmt: skip

    def _saw_stage(
        self, key: str, plan: MaterialPlan, times: Sequence[int], after: tuple[str, ...], page: str
    ) -> Stage:
        layouts = tuple(replace(each, times=n) for each, n in zip(plan.plan.layouts, times, strict=True) if n)
        name = plan.job.material.name
        blocks = []
        if layouts:
            own = [PlannedLayout(plan, layout) for layout in layouts]
            tools = [tools_for(each, saw_cuts(plan.plan.job, each.layout), self.batch) for each in own]
            for work in stations_of(replace(plan.plan, layouts=layouts), self.batch.saw.thin_rip):
                ways = self._ways(work, own, tools)
                for n, (said, passes) in enumerate(ways.items(), 1):
                    ops = tuple(_way_ops(work, said, passes, page, Fraction(1, len(ways)), is_last=n == len(ways)))
                    blocks.append(Block(ops=ops, setting=f"{name}, {said}"))
        if key == self._opening:
            blocks[0] = replace(blocks[0], ops=(*self._run, *blocks[0].ops))
            after = (*self._trips[name], *self._planed(name))
        made = [n for n in self.made if plan.job.material in self._materials([n])]
        what = f"saw {'the first boards of ' if key.startswith('first') else ''}{plan.job.material.spoken}"
        return Stage(
            key=key, kind="saw", what=what, blocks=tuple(blocks), skill="saw", is_chain=True, held={"saw": 1},
            after=tuple(After(each) for each in after), serves=() if key.startswith("first") else tuple(made),
        )  # fmt: skip

    def _ways(
        self, work: StationWork, layouts: Sequence[PlannedLayout], tools: Sequence[Mapping[SawCut, str]]
    ) -> dict[str, int]:
        """Each operation at one setting, with its tool as on the cutting pages, and the number of its passes."""
        thin_rip, found = self.batch.saw.thin_rip, dict[str, int]()
        for tool, cuts in cuts_by_tool(work.station, tools).items():
            layout, (_, by, distance) = layouts[cuts[0].layout], work.station.setting
            said = deed(layout, cuts[0].saw_cut, thin_rip, tool)
            length = self.batch.wording.length(layout.plan.job.grid * distance)
            words = f"{said}, {length} off" if by == "trim" else f"{said}, {_AT.get(by, 'fence at')} {length}"
            found[words] = found.get(words, 0) + sum(each.boards * each.saw_cut.count for each in cuts)
        return found

    def _snip(self, plan: MaterialPlan, first: FirstBoards | None) -> Iterator[Stage]:
        passes = Fraction(sum(each.passes for each in stations_of(plan.plan, self.batch.saw.thin_rip)))
        blanks = sum(blank.count for blank in plan.plan.job.blanks)
        wanted = sum(count for _, count in first.wanted) if first is not None else 0
        early = passes * Fraction(wanted, blanks) if blanks else Fraction(0)
        name, spoken, opened = plan.job.material.name, plan.job.material.spoken, self._opened(plan.job.material)
        made = [n for n in self.made if plan.job.material in self._materials([n])]
        for key, share, pieces, after, page in (
            (f"first snip/{name}", early, wanted, opened, FIRST_BOARDS),
            (f"snip/{name}", passes - early, blanks - wanted, (*opened, "try first"), CUTTING),
        ):
            what = f"cut {'the first pieces of ' if key.startswith('first') else ''}{spoken}"
            yield Stage(
                key=key, kind="metal", what=what,
                blocks=(Block(ops=(Op("time", "snip", share, page, f"cut {spoken}"),)),),
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
                span = _whole(self._pieces(cut, self.first, is_first=True), "pieces")
                firsts.setdefault(_machine_kind(cut[0]), []).extend(_cut_ops(cut, count, self._cut_words(cut), span))
        folds = sum((work.bench.get("fold", Fraction(0)) for work in self.first.values()), Fraction(0))
        if folds:
            span = _whole(self._folded(self.first, is_first=True), "pieces")
            firsts.setdefault("metal", []).append(Op("time", "fold", folds, MACHINING, span=span))
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
            kind = _machine_kind(cut[0])
            yield Stage(
                key=key, kind=kind, what=self._cut_words(cut), skill=_SKILLS[kind], noun="pieces",
                blocks=(Block(ops=_cut_ops(cut, count, "", None) if count else (), setting=key if cut[1] else ""),),
                units=max(1, self._pieces(cut, own)), held=_HELD[kind], is_chain=True,
                after=tuple(After(each) for each in (*self._cut_stages(own), "try first")), serves=tuple(own),
            )  # fmt: skip
        folded = [n for n in self.made if self.work[n].bench["fold"]]
        left = self._left("fold", folded)
        punched = tuple(
            After(key, is_by_share=set(folded) == {n for n in self.made if cut in self.work[n].cuts})
            for cut, key in self.cuts.items()
            if _machine_kind(cut[0]) == "metal" and any(cut in self.work[n].cuts for n in folded)
        )
        yield Stage(
            key="fold", kind="metal", what="fold mesh or sheet steel", skill="metal",
            units=max(1, self._folded(folded)),
            blocks=(Block(ops=(Op("time", "fold", left, MACHINING),)),), noun="pieces", is_chain=True,
            after=tuple(After(each) for each in (*self._cut_stages(folded), "try first")) + punched,
            serves=tuple(folded),
        )  # fmt: skip

    def _build_first(self) -> Iterator[Stage]:
        firsts, crew = self.first.values(), self.batch.crew
        counts = {key: sum((work.bench.get(key, Fraction(0)) for work in firsts), Fraction(0)) for key in _FIRST_BENCH}
        frames = int(counts["glue_up"])
        clamps = {"clamps": max(1, min(crew.clamps, frames))}
        machined = tuple(After(each) for each in ("first machine", "first drill", "first metal"))
        fasteners = self._bringing("glue", *FASTENERS)
        yield Stage(
            key="first frames", kind="assemble", what="build the frames of the first units",
            blocks=(Block(ops=_frame_ops(counts["corner"], counts["glue_up"])),), skill="assemble",
            units=max(1, frames), noun="frames", held=clamps if crew.clamp_minutes else {},
            after=(*machined, *fasteners),
        )  # fmt: skip
        if crew.clamp_minutes and frames:
            yield Stage(
                key="first clamps", kind="clamp", what="frames of the first units in clamps", units=frames,
                noun="frames", rest=crew.clamp_minutes, held=clamps,
                after=(After("first frames", is_by_share=True, is_at_once=True),),
            )  # fmt: skip
        yield Stage(
            key="build first", kind="staple", what="staple mesh and cloth to the first units",
            blocks=(Block(ops=(Op("time", "staple", counts["staple"], ASSEMBLY),)),), skill="assemble",
            after=(After("first frames", least=crew.glue_hours * 60), *machined, *fasteners),
        )  # fmt: skip
        units = self.planned.units
        widths = {units[n].line.fits for n in self.first if units[n].line.item.place is not None}
        yield Stage(
            key="try first", kind="measure", what="measure the first of each kind and try it on a hive",
            blocks=(Block(ops=(Op("time", "try_first", Fraction(len(widths)), FIRST_ARTICLE),)),), skill="assemble",
            units=max(1, len(widths)), noun="widths of hive",
            after=(After("build first"), After("first aids")),
        )  # fmt: skip

    def _pieces(self, cut: Cut, units: Iterable[int], *, is_first: bool = False) -> int:
        """The pieces with a cut: of the first of each of these units, or of all of them but the first ones."""
        total = 0
        for n in units:
            parts = [placed.part for placed in self.planned.units[n].assembly.with_role(Role.MADE)]
            each = sum(any(operation_of(part, one) == cut for one in part.cuts) for part in parts)
            total += each * self._times(n, is_first=is_first)
        return total

    def _folded(self, units: Iterable[int], *, is_first: bool = False) -> int:
        """The pieces that are folded, counted in the same way."""
        total = 0
        for n in units:
            parts = [placed.part for placed in self.planned.units[n].assembly.with_role(Role.MADE)]
            total += sum(bool(part.folds) for part in parts) * self._times(n, is_first=is_first)
        return total

    def _times(self, unit: int, *, is_first: bool) -> int:
        return 1 if is_first else self.planned.units[unit].line.count - (unit in self.first)

    def _left(self, key: str, units: Iterable[int]) -> Fraction:
        """How often a bench operation must still be done for these units, without the first ones."""
        total = Fraction(0)
        for n in units:
            total += self.work[n].bench.get(key, Fraction(0))
            if n in self.first and (key in _FIRST_BENCH or key == "fold"):
                total -= self.first[n].bench.get(key, Fraction(0))
        return total

    def _aids(self) -> Iterator[Stage]:
        """The items that the shop makes for itself: blocks, gauges. Single ones are there when the first are tried."""
        aids = [n for n in self.made if not self.planned.units[n].line.item.is_per_hive]
        early = [n for n in aids if n in self.first and self.planned.units[n].line.count == 1]
        first = (
            After("first frames", least=self.batch.crew.glue_hours * 60),
            *(After(each) for each in ("first machine", "first drill", "first metal")),
        )
        late = [n for n in aids if n not in early]
        fasteners = self._bringing("glue", *FASTENERS)
        for key, own, after in (("first aids", early, first), ("aids", late, self._parts(late))):
            ops = tuple(Op("time", key, self._left(key, own), ASSEMBLY) for key in (*_FIRST_BENCH, "paint", "label"))
            titles = dict.fromkeys(self.planned.units[n].line.item.title.lower() for n in own)
            yield Stage(
                key=key, kind="assemble", what=f"finish {', '.join(titles)}", blocks=(Block(ops=ops),),
                skill="assemble", after=(*after, *fasteners), serves=tuple(own),
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
            key=f"assemble/{key}", kind="assemble", what=f"assemble frames {to}",
            blocks=(Block(ops=_frame_ops(self._left("corner", own), self._left("glue_up", own))),),
            skill="assemble", units=max(1, frames), noun="frames", lot=key,
            after=(*self._parts(framed), *self._bringing("glue", *FASTENERS)),
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
        area = self._left("paint", own)  # the first units are painted with the others, after they are tried
        painted = [n for n in own if self.work[n].bench.get("paint")]
        for coat in range(1, self.batch.work.coats + 1 if area else 1):
            number = f", coat {coat}" if self.batch.work.coats > 1 else ""
            yield Stage(
                key=f"paint {coat}/{key}", kind="paint", what=f"paint outsides {to}{number}", skill="paint", lot=key,
                blocks=(Block(ops=(Op("time", "paint", area, ASSEMBLY),)),), noun="units",
                units=max(1, sum(lines[n].count for n in painted)), after=(before,),
            )  # fmt: skip
            before = After(f"paint {coat}/{key}", least=crew.paint_hours * 60, is_by_share=True)
        yield Stage(
            key=f"staple/{key}", kind="staple", what=f"staple mesh and cloth {to}", blocks=bench("staple"),
            skill="assemble", units=hives, noun="hives", lot=key,
            after=(before, *self._parts(own), *self._bringing(*FASTENERS)),
            serves=tuple(n for n in own if self.work[n].bench.get("staple")),
        )  # fmt: skip
        ready = [After(f"staple/{key}", is_by_share=True)]
        fill = sum((Fraction(row.count) for row in rows if row.what == "shavings"), Fraction(0))
        yield Stage(
            key=f"fill/{key}", kind="fill", what=f"fill with shavings {to}", skill="pack", lot=key,
            blocks=(Block(ops=(Op("time", "fill", fill, ASSEMBLY),)),), units=max(1, int(fill)), noun="boxes",
            after=(ready[0], *self._bringing("shavings")),
        )  # fmt: skip
        ready.append(After(f"fill/{key}", is_by_share=True))
        if lot.boards:
            yield from self._pack(lot, rows)
            ready.append(After(f"dry/{key}", is_by_share=True))
        wrap = Op("time", "wrap", Fraction(lot.hives), ASSEMBLY)
        yield Stage(
            key=f"wrap/{key}", kind="wrap", what=f"label and wrap {to}", skill="pack", units=hives, noun="hives",
            blocks=(Block(ops=(*bench("label", "bag")[0].ops, wrap)),), lot=key,
            after=(*ready, *self._parts(own), *self._bringing()),
        )  # fmt: skip
        yield from self._send(lot)

    def _pack(self, lot: Lot, rows: Sequence[CostRow]) -> Iterator[Stage]:
        crew, key = self.batch.crew, lot.name
        units = self.planned.units
        bowls = sum(row.count * bowls_of_board(units, row.hives.sugar) for row in rows if row.what == "sugar")
        turns = "mix a bowl of sugar, pack it, then mix the next"
        ops = (Op("time", "mix", Fraction(bowls), MIX, turns), Op("time", "pack", Fraction(lot.boards), MIX, turns))
        yield Stage(
            key=f"pack/{key}", kind="pack", what=f"mix and pack boards for {key}", blocks=(Block(ops=ops),),
            skill="pack", units=lot.boards, noun="boards", lot=key, uses={"places": 1},
            after=(After(f"staple/{key}", is_by_share=True), After("first aids"), After("aids"),
                   *self._bringing("sugar", "vinegar")),
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
            units, is_near = max(1, lot.to_fit), lot.place in crew.at_home
            load = replace(load, what="carry to the hives") if is_near else load
            yield Stage(
                key=f"fit/{key}", kind="fit", what=_put_on(lot), skill="fit", units=units,
                blocks=(Block(ops=(load, Op("time", "fit", Fraction(lot.to_fit), place))),), noun="hives", lot=key,
                each=() if is_near else (Op("time", "drive", Fraction(1), place),), held={} if is_near else {"car": 1},
                after=tuple(after),
            )  # fmt: skip
            return
        if lot.is_own:
            return
        yield Stage(
            key=f"hand over/{key}", kind="hand over", what=f"hand over {key}", skill="load", lot=key,
            blocks=(Block(ops=(load, Op("time", "hand_over", Fraction(1), place))),), after=tuple(
                replace(each, is_by_share=False) for each in after),
        )  # fmt: skip


_OPEN = "set up the shop and carry the lumber in"
_FIRST_BENCH = ("corner", "glue_up", "staple")
_DEEDS = {"machine": "machine parts of", "drill": "drill parts of", "metal": "shape mesh and sheet of"}
_SKILLS = {"machine": "saw", "drill": "drill", "metal": "metal"}
_AT = {"stop": "at", "strip": "at"}  # where a crosscut's stop or mark, or the thin-rip stop, is
_NOUNS = {"strip": "strips", "remaining": "strips", "trim": "trims"}
_HELD: dict[str, dict[str, int]] = {"machine": {"saw": 1}, "drill": {"drill": 1}, "metal": {}}


def _trip(yard: str) -> str:
    return f"buy/{yard}" if yard else "buy"


def _machine_kind(key: str) -> str:
    return "drill" if key == "drill" else "metal" if key in ("punch", "passage") else "machine"


def _way_ops(work: StationWork, said: str, passes: int, page: str, share: Fraction, *, is_last: bool) -> Iterator[Op]:
    """The operations with one tool at a setting; tools that share a setting share its minutes, as in the price."""
    yield Op("setup", "saw", share, page, said)
    span = _whole(passes, _NOUNS.get(work.station.setting[1], "pieces"))
    yield Op("time", "rip" if work.is_rip else "crosscut", Fraction(passes), page, said, span)
    if work.fence_moves and is_last:
        yield Op("setup", "fence", Fraction(work.fence_moves), page, said)


def _cut_ops(cut: Cut, count: Fraction, what: str, span: Counted | None) -> tuple[Op, ...]:
    key, setup, _ = cut
    done = Op("time", key, count, MACHINING, what, span)
    return (Op("setup", setup, Fraction(1), MACHINING), done) if setup else (done,)


def _frame_ops(corners: Fraction, frames: Fraction) -> tuple[Op, ...]:
    """A frame is glued while its corners are fitted and fastened, so both are one step."""
    turns = "glue, fit and fasten the corners of a frame, clamp it, measure its diagonals; then the next"
    return Op("time", "corner", corners, ASSEMBLY, turns), Op("time", "glue_up", frames, ASSEMBLY, turns)


def _whole(count: int, noun: str) -> Counted | None:
    return Counted(1, count, count, noun) if count else None


def _put_on(lot: Lot) -> str:
    place = lot.groups[0].apiary
    return f"take to {place} and put on the hives" if place else "take to the hives and put on"
