"""Plans the rest of a plan: what must still be made after some boards were cut or were bad, or counts changed.

Pieces are identified by material and size, as they come off the saw, so a piece cut for one box can be used for another
of the same size. Goods bought and not used yet are used before any more are bought.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Any, Literal

from woodshop.cutting.model.plan import Effort
from woodshop.design.batch import Batch, Unit
from woodshop.design.lumberyard.lumberyard_file import Lumberyard
from woodshop.design.lumberyard.lumberyard_tables import bill
from woodshop.errors import InputError, NothingToCutError, Problem
from woodshop.findings import Report
from woodshop.plan.bills import topped_up
from woodshop.plan.buy_list import stock_bought
from woodshop.plan.parts_needed import marks, parts_needed
from woodshop.plan.plan_batch import batch_to_json, bought_batch, is_large, job_words, refuse_worth
from woodshop.plan.rest.earlier_plan import EarlierPlan, KeptPieces
from woodshop.plan.rest.goods import GoodsRow, goods_of
from woodshop.plan.rest.least_change import LeastChange, RestOfPlan, Size, least_change
from woodshop.plan.rest.material import MaterialRest, PieceRow, StockRow, times_of
from woodshop.plan.rest.progress import Progress, WorkDone, work_of
from woodshop.plan.values import MaterialJob, MaterialPlan, PlannedBatch
from woodshop.reference.materials import Material
from woodshop.units.lengths import Money
from woodshop.workers import over_cores, steps_left

Fate = Literal["stays", "fewer", "dropped", "new", "as before, on other stock"]


@dataclass(frozen=True, slots=True)
class Changed:
    """The earlier and the current count of a line."""

    address: str
    hives: str
    was: int
    wanted: int


@dataclass(frozen=True, slots=True, kw_only=True)
class LayoutRow:
    """A layout of the earlier plan or the new one: boards planned, cut so far, and still to cut.

    `like` is the number of the earlier layout with the same cuts on other stock, if there is one.
    """

    material: Material
    number: int
    fate: Fate
    planned: int
    cut: int
    to_cut: int
    like: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MaterialChange:
    """The changes in one material: the reasons, the number of boards that were still to be cut, and how many are kept.

    `could_save` is the most that another plan could save. If another plan changes fewer boards, `fewer` is the number
    of boards that it changes, and how much more it costs.
    """

    material: Material
    why: tuple[str, ...]
    boards: int
    kept: int
    could_save: Money
    fewer: tuple[int, Money] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanOfRest:
    """The rest of a plan.

    `was` is the total of the earlier buy list, and `paid` the price of the goods on it that were bought. `unknown` are
    packs on that list that are no longer in a lumberyard file. `rest` is the remaining work, as a planned batch: its
    plans, purchases and findings. `cut` counts the pieces on hand that it uses, by address; `there` is the amount on
    hand of each kind of goods. `rack` counts the pieces on hand that are not needed, by size in the job's unit.
    """

    earlier: EarlierPlan
    work: WorkDone
    bought: Literal["all", "counted", "nothing"]
    was: Money
    paid: Money
    lines: tuple[Changed, ...]
    layouts: tuple[LayoutRow, ...]
    changes: tuple[MaterialChange, ...]
    stock: tuple[StockRow, ...]
    pieces: tuple[PieceRow, ...]
    goods: tuple[GoodsRow, ...]
    unknown: tuple[str, ...]
    rest: PlannedBatch
    cut: Mapping[str, int] = field(default_factory=dict)
    kept: tuple[KeptPieces, ...] = ()
    rack: tuple[tuple[Material, Size, int], ...] = ()
    there: Mapping[str, Fraction] = field(default_factory=dict)

    @property
    def is_bought(self) -> bool:
        """Whether anything on the earlier buy list was bought."""
        return self.bought != "nothing"

    @property
    def left_over(self) -> Money:
        """The price paid for boards and unopened packs that are no longer needed."""
        stock = sum(row.price.minor * row.left for row in self.stock if not row.is_offcut)
        return Money(stock + sum(row.price.minor * row.left for row in self.goods), self.was.currency)


def plan_rest(
    earlier: EarlierPlan,
    batch: Batch,
    units: tuple[Unit, ...],
    report: Report,
    progress: Progress,
    *,
    where: str = "progress",
    say: Callable[[str], None] | None = None,
    effort: Effort = "default",
) -> PlanOfRest:
    """The rest of the earlier plan for the current batch, after the work in `progress`.

    `progress.counts` must already be in the batch (`with_counts`). If lumberyards have delivery fees, minimum orders or
    tax, the lumberyards of the earlier buy list are tried alone first. All lumberyards are tried too, unless no counts
    have changed and the first plan costs nothing or as much as the earlier list. The cheaper plan is used. Raises
    InputError if the plan belongs to another batch or the progress does not agree with the plan, and NothingToCutError
    as the planner does.
    """
    _same_batch(earlier, batch)
    work = work_of(progress, earlier, where)

    def worked(own: Batch) -> PlanOfRest:
        return _planned(earlier, own, units, report=report, progress=progress, work=work, say=say, effort=effort)

    chosen = {line.lumberyard for line in earlier.bought}
    terms = batch.lumberyard.terms
    if all(each.is_plain for each in terms) or chosen >= {each.lumberyard for each in terms} or not chosen:
        return worked(batch)
    try:
        where_planned = worked(replace(batch, lumberyard=only(batch.lumberyard, chosen)))
    except NothingToCutError:
        return worked(batch)
    if where_planned.rest.unpriced:
        return worked(batch)
    if not where_planned.lines and where_planned.rest.to_pay.minor in (0, _paid(earlier, where_planned)):
        return where_planned
    return min(where_planned, worked(batch), key=lambda found: found.rest.to_pay.minor)


def _paid(earlier: EarlierPlan, found: PlanOfRest) -> int:
    """The total of the earlier buy list at its lumberyards, with delivery and tax."""
    terms = {each.lumberyard: each for each in found.rest.batch.lumberyard.terms}
    goods = Counter[str]()
    for line in earlier.bought:
        goods[line.lumberyard] += line.count * line.price
    return sum(bill(terms[name], cents, earlier.currency).total.minor for name, cents in goods.items() if name in terms)


def _planned(
    earlier: EarlierPlan,
    batch: Batch,
    units: tuple[Unit, ...],
    *,
    report: Report,
    progress: Progress,
    work: WorkDone,
    say: Callable[[str], None] | None,
    effort: Effort,
) -> PlanOfRest:
    jobs = {job.material: job for job in _marked(parts_needed(batch, units), earlier)}
    materials = dict.fromkeys((*jobs, *earlier.plans))
    sides = [MaterialRest(material, earlier, jobs.get(material), work, batch) for material in materials]
    rests = [(side, rest) for side in sides if (rest := side.rest()) is not None]
    refuse_worth([rest.job for _, rest in rests], batch)
    found = _least(rests, batch, effort, say)
    numbered = _numbered(rests, found, earlier)
    plans = tuple(plan for plan, _ in numbered.values())
    goods = goods_of(earlier, batch, units, progress)
    purchases = topped_up(batch.lumberyard, (*stock_bought(plans), *goods.purchases))
    made = bought_batch(batch, units, plans, purchases=purchases, unpriced=goods.unpriced, report=report)
    to_cut = {need.address for plan in plans for need in plan.job.needs}
    cut = {part: count for side in sides for part, count in side.served().items() if count}
    made = replace(
        made,
        cut_before=tuple(need for job in jobs.values() for need in job.needs if need.address not in to_cut),
        there=cut,
    )
    used = {each.job.material: times_of(each.plan) for each in plans}
    currency = batch.lumberyard.currency
    is_bought = progress.bought is None or any(row.count for row in progress.bought)
    return PlanOfRest(
        earlier=earlier,
        work=work,
        bought="all" if progress.bought is None else "counted" if is_bought else "nothing",
        was=Money(earlier.total, earlier.currency),
        paid=_paid_for(earlier, progress),
        lines=_changed(earlier, batch),
        layouts=tuple(row for side in sides for row in _layout_rows(side, numbered.get(side.material))),
        changes=tuple(
            MaterialChange(
                material=side.material,
                why=tuple(_why(side, progress, earlier)),
                boards=each.boards,
                kept=each.kept,
                could_save=Money(each.could_save, currency),
                fewer=None if each.fewer is None else (each.fewer[0], Money(each.fewer[1], currency)),
            )
            for (side, _), each in zip(rests, found, strict=True)
        ),
        stock=tuple(
            row for side in sides for row in side.stock_rows(used.get(side.material, Counter()), is_bought=is_bought)
        ),
        pieces=tuple(row for side in sides for row in side.piece_rows()),
        goods=goods.rows,
        unknown=goods.unknown,
        rest=made,
        cut=cut,
        kept=tuple(row for side in sides for row in side.served_rows()),
        rack=tuple((side.material, size, n) for side in sides for size, n in sorted(side.rack().items())),
        there=goods.there,
    )


def _paid_for(earlier: EarlierPlan, progress: Progress) -> Money:
    """The total price of the goods on the earlier buy list that were bought."""
    if progress.bought is None:
        return Money(earlier.total, earlier.currency)
    prices = {line.what: line.price for line in earlier.bought}
    return Money(sum(prices[row.what] * row.count for row in progress.bought), earlier.currency)


def _marked(jobs: tuple[MaterialJob, ...], earlier: EarlierPlan) -> tuple[MaterialJob, ...]:
    """The jobs with the marks of the earlier plan. New parts get the next free marks."""
    known = {address: mark for mark, address in earlier.marks.items()}
    own = {need.address for job in jobs for need in job.needs}
    free = (mark for mark in marks() if mark not in earlier.marks)
    if own <= known.keys() or not known:
        new: dict[str, str] = {}
    else:
        new = {need.address: next(free) for job in jobs for need in job.needs if need.address not in known}
    if not known:
        return jobs
    return tuple(
        replace(
            job,
            needs=tuple(replace(need, mark=known.get(need.address) or new[need.address]) for need in job.needs),
        )
        for job in jobs
    )


def _least(
    rests: list[tuple[MaterialRest, RestOfPlan]],
    batch: Batch,
    effort: Effort,
    say: Callable[[str], None] | None,
) -> list[LeastChange]:
    """The plan of each material. A material without changes keeps the earlier plan and its bound."""
    found: dict[int, LeastChange] = {}
    todo: list[int] = []
    for n, (side, rest) in enumerate(rests):
        if side.is_as_it_was(rest):
            boards = sum(rest.left)
            numbers = tuple(range(len(rest.earlier.layouts)))
            found[n] = LeastChange(
                plan=MaterialPlan(replace(rest.job, job=rest.earlier.job), rest.earlier),
                numbers=numbers,
                like=numbers,
                boards=boards,
                kept=boards,
                to_buy=rest.earlier.cost,
                could_save=rest.earlier.gap,
            )
        else:
            todo.append(n)
    tasks = [(rests[n][1], batch.worth, effort) for n in todo]
    ended = steps_left("cutting plans", [job_words(rests[n][1].job) for n in todo], say)
    is_spread = any(is_large(rests[n][1].job) for n in todo)
    made = over_cores(least_change, tasks, 2 if is_spread else len(tasks) + 1, ended)
    found |= dict(zip(todo, made, strict=True))
    return [found[n] for n in range(len(rests))]


def _numbered(
    rests: list[tuple[MaterialRest, RestOfPlan]], found: list[LeastChange], earlier: EarlierPlan
) -> dict[Material, tuple[MaterialPlan, LeastChange]]:
    """Each plan with the printed numbers of its layouts.

    Earlier layouts keep their numbers; new layouts get the next free numbers.
    """
    last = max(earlier.layouts, default=0)
    plans: dict[Material, tuple[MaterialPlan, LeastChange]] = {}
    for (side, _), each in zip(rests, found, strict=True):
        numbers: list[int] = []
        for n in each.numbers:
            if n is None:
                last += 1
            numbers.append(last if n is None else side.numbers[n])
        plans[side.material] = (replace(each.plan, numbers=tuple(numbers)), each)
    return plans


def _layout_rows(side: MaterialRest, made: tuple[MaterialPlan, LeastChange] | None) -> Iterator[LayoutRow]:
    """Every layout of the earlier plan with boards still to cut, then the new layouts."""
    now: dict[int, int] = {}
    if made is not None:
        plan, change = made
        now = dict(zip(plan.numbers, (layout.times for layout in plan.plan.layouts), strict=True))
    for n, number in enumerate(side.numbers):
        assert side.plan is not None
        planned, cut = side.plan.layouts[n].times, side.done.get(n, 0)
        left, to_cut = planned - cut, now.pop(number, 0)
        if left:
            fate: Fate = "stays" if to_cut == left else "fewer" if to_cut else "dropped"
            yield LayoutRow(material=side.material, number=number, fate=fate, planned=planned, cut=cut, to_cut=to_cut)
    if made is not None:
        for number, like in zip(plan.numbers, change.like, strict=True):
            if number in now:
                same = None if like is None else side.numbers[like]
                yield LayoutRow(
                    material=side.material,
                    number=number,
                    fate="new" if same is None else "as before, on other stock",
                    planned=0,
                    cut=0,
                    to_cut=now[number],
                    like=same,
                )


def _why(side: MaterialRest, progress: Progress, earlier: EarlierPlan) -> Iterator[str]:
    """Descriptions of what makes the remaining work in a material differ from the earlier plan."""
    unit = side.batch.unit
    for stock, fault in side.faults:
        name = side.called(stock)
        if fault.is_unusable:
            state = "unusable"
        else:
            states = [] if fault.length is None else [f"only {fault.length.text(unit)} long"]
            states += [f"bad from {low.text(unit)} to {high.text(unit)}" for low, high in fault.bad]
            state = ", ".join(states)
        reason = f" ({fault.reason})" if fault.reason else ""
        yield f"{fault.count} x {name}: {state}{reason}"
    marks_of = {address: mark for mark, address in earlier.marks.items()}
    for (blank, change), count in side.changes.items():
        yield f"{count} x {marks_of.get(blank, blank)} {change}"
    old = Counter({row.address: row.count for row in side.kept})
    for planned in side.plan.job.blanks if side.plan is not None else ():
        old[planned.id] += planned.count
    now = Counter({} if side.job is None else {blank.id: blank.count for blank in side.job.job.blanks})
    more, less = (now - old).total(), (old - now).total()
    if more:
        yield f"{more} more {_pieces(more)} needed than planned"
    if less:
        yield f"{less} fewer {_pieces(less)} needed than planned"
    short = sum(max(0, times - side.held.get(stock, 0)) for stock, times in times_of(side.plan).items())
    if short and (progress.bought is None or progress.bought):
        form = side.material.form.value
        yield f"{short} {form if short == 1 else f'{form}s'} of the earlier buy list not bought"


def _pieces(count: int) -> str:
    return "piece" if count == 1 else "pieces"


def _same_batch(earlier: EarlierPlan, batch: Batch) -> None:
    found = []
    if earlier.batch != batch.name:
        do = "Give the plan.json of this batch."
        found.append(Problem("the earlier plan", f"a plan of {earlier.batch!r}", f"one of {batch.name!r}", do))
    if earlier.currency != batch.lumberyard.currency:
        wanted = f"one in {batch.lumberyard.currency}, as the lumberyard's prices are"
        do = "Give the lumberyard file it was planned with."
        found.append(Problem("the earlier plan", f"a plan in {earlier.currency}", wanted, do))
    if found:
        raise InputError(*found)


def _changed(earlier: EarlierPlan, batch: Batch) -> tuple[Changed, ...]:
    now = {(line.address, line.hives.name): line.count for line in batch.lines}
    return tuple(
        Changed(*key, earlier.lines.get(key, 0), now.get(key, 0))
        for key in dict.fromkeys((*now, *earlier.lines))
        if earlier.lines.get(key, 0) != now.get(key, 0)
    )


def rest_to_json(found: PlanOfRest) -> dict[str, Any]:
    """The JSON of the rest of a plan: the JSON of a batch, with an account of the work done since then.

    Sizes are in the unit of the material's job; `bought` is "all" if everything on the earlier buy list was bought.
    """
    earlier, work = found.earlier, found.work
    account = {
        "digest": earlier.digest,
        "bought": found.bought,
        "layouts": [
            {
                "number": number,
                "material": material.name,
                "times": earlier.plans[material].layouts[n].times,
                "cut": work.cut.get((material, n), 0),
            }
            for number, (material, n) in earlier.layouts.items()
        ],
        "changes": [
            {"material": material.name, "address": part, "change": change, "count": count}
            for (material, part, change), count in work.changes.items()
        ],
        "boards": [
            {
                "material": row.material.name,
                "stock": row.stock,
                "held": work.held[row.material, row.stock],
                "cut": row.cut,
                "bad": row.bad,
                "left": work.held[row.material, row.stock] - row.cut - row.bad,
            }
            for row in found.stock
            if (row.material, row.stock) in work.held
        ],
        "kept": [
            {
                "material": row.material.name,
                "address": row.address,
                "mark": row.mark,
                "length": row.size[0],
                "width": row.size[1],
                "count": row.count,
            }
            for row in found.kept
        ],
        "rack": [
            {"material": material.name, "length": size[0], "width": size[1], "count": count}
            for material, size, count in found.rack
        ],
    }
    return batch_to_json(found.rest, found.cut, found.there, account)


def only(lumberyard: Lumberyard, names: Iterable[str]) -> Lumberyard:
    """The lumberyard with only the goods sold at these lumberyards, and the offcuts on hand."""
    chosen = set(names)
    return replace(
        lumberyard,
        offers=tuple(offer for offer in lumberyard.offers if offer.label or offer.lumberyard in chosen),
        packs=tuple(pack for pack in lumberyard.packs if pack.lumberyard in chosen),
        ready=tuple(ready for ready in lumberyard.ready if ready.lumberyard in chosen),
        terms=tuple(terms for terms in lumberyard.terms if terms.lumberyard in chosen),
    )
