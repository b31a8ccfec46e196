"""Counts that change after a batch is planned: the changes in wood, money and pieces already cut.

Pieces are identified by material and size, as they come off the saw: a piece cut for one box serves another of the same
size. Goods bought and not used yet are used before anything more is bought.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from woodshop.cutting.model.plan import Effort
from woodshop.design.batch import Batch, Unit
from woodshop.design.lumberyard.lumberyard_file import only
from woodshop.design.lumberyard.lumberyard_tables import bill
from woodshop.errors import InputError, NothingToCutError, Problem
from woodshop.findings import Report
from woodshop.plan.bills import topped_up
from woodshop.plan.buy_list import stock_bought
from woodshop.plan.parts_needed import parts_needed
from woodshop.plan.plan_batch import bought_batch, planned_jobs, refuse_worth
from woodshop.plan.rest.material import (
    GoodsRow,
    MaterialRest,
    PieceRow,
    StockRow,
    cheaper,
    goods_of,
    times_of,
    whole_plan,
)
from woodshop.plan.rest.reading import Tally, Written
from woodshop.plan.values import MaterialJob, MaterialPlan, PlannedBatch
from woodshop.units.lengths import Money


@dataclass(frozen=True, slots=True)
class Changed:
    """The planned and the current count of a line."""

    address: str
    hives: str
    was: int
    wanted: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Recount:
    """The changes. `unknown` are packs of the old list that no lumberyard file lists now.

    `rest` is the remaining work, as a planned batch: its plans, purchases and findings. `cut` counts the pieces cut
    that serve it, by address; `there` is the amount of goods on hand.
    """

    is_bought: bool
    was: Money
    lines: tuple[Changed, ...]
    stock: tuple[StockRow, ...]
    pieces: tuple[PieceRow, ...]
    goods: tuple[GoodsRow, ...]
    unknown: tuple[str, ...]
    rest: PlannedBatch
    cut: Mapping[str, int] = field(default_factory=dict)
    there: Mapping[str, Fraction] = field(default_factory=dict)

    @property
    def left_over(self) -> Money:
        """The price paid for boards and unopened packs that are no longer needed."""
        stock = sum(row.price.minor * row.left for row in self.stock)
        return Money(stock + sum(row.price.minor * row.left for row in self.goods), self.was.currency)

    @property
    def saved(self) -> Money:
        """The most that another way to cut could save of the stock to buy: the plans' bounds, less the nominal cost of
        the wood on hand.
        """
        most = 0
        for each in self.rest.plans:
            own = {offer.id for offer in each.job.offers if offer.label}
            spent = sum(p.total.minor for p in stock_bought((each,)))
            there = sum(row.cost * (row.count or 0) for row in each.plan.job.stock if row.id in own)
            most += spent - max(0, min(spent, each.plan.bound - there))
        return Money(most, self.was.currency)


def recount(
    old: Written,
    batch: Batch,
    units: tuple[Unit, ...],
    report: Report,
    tally: Tally | None = None,
    *,
    is_bought: bool = False,
    with_offcuts: bool = False,
    progress: Callable[[str], None] | None = None,
    effort: Effort = "default",
) -> Recount:
    """The batch, with its new counts, compared with the old plan, and the rest of the work planned again.

    `tally` is the work done; then the whole old buy list counts as bought, as with `is_bought`. `with_offcuts` uses the
    offcuts of the boards cut. If lumberyards charge for delivery, those of the old list come first, and all of them
    only if that is cheaper. Raises InputError if the plan belongs to another batch, and NothingToCutError as the
    planner does.
    """
    is_bought = is_bought or tally is not None
    tally = tally or Tally()
    _same_batch(old, batch)

    def worked(own: Batch) -> Recount:
        return _recounted(
            old,
            own,
            units,
            report=report,
            tally=tally,
            is_bought=is_bought,
            with_offcuts=with_offcuts,
            progress=progress,
            effort=effort,
        )

    chosen = {line.lumberyard for line in old.bought}
    terms = batch.lumberyard.terms
    if all(each.is_plain for each in terms) or chosen >= {each.lumberyard for each in terms}:
        return worked(batch)
    try:
        where_planned = worked(replace(batch, lumberyard=only(batch.lumberyard, chosen)))
    except NothingToCutError:
        return worked(batch)
    if where_planned.rest.unpriced:
        return worked(batch)
    if not where_planned.lines and where_planned.rest.to_pay.minor in (0, _paid(old, where_planned)):
        return where_planned
    return min(where_planned, worked(batch), key=lambda recount: recount.rest.to_pay.minor)


def _paid(old: Written, recount: Recount) -> int:
    """The total of the old buy list at its lumberyards, with delivery and tax."""
    terms = {each.lumberyard: each for each in recount.rest.batch.lumberyard.terms}
    goods = Counter[str]()
    for line in old.bought:
        goods[line.lumberyard] += line.count * line.price
    return sum(bill(terms[name], cents, old.currency).total.minor for name, cents in goods.items() if name in terms)


def _recounted(
    old: Written,
    batch: Batch,
    units: tuple[Unit, ...],
    *,
    report: Report,
    tally: Tally,
    is_bought: bool,
    with_offcuts: bool,
    progress: Callable[[str], None] | None,
    effort: Effort,
) -> Recount:
    jobs = {job.material: job for job in parts_needed(batch, units)}
    materials = dict.fromkeys((*jobs, *old.plans))
    sides = [MaterialRest(material, old, jobs.get(material), tally, batch) for material in materials]
    rest = [(side, job) for side in sides if (job := side.rest(is_bought, with_offcuts)) is not None]
    refuse_worth([job for _, job in rest], batch)
    if progress is not None:
        for _, job in rest:
            progress(f"cutting {job.material}: {sum(blank.count for blank in job.job.blanks)} pieces")
    plans = _plans(rest, batch, is_bought, effort)
    goods = goods_of(old, batch, units, is_bought)
    purchases = topped_up(batch.lumberyard, (*stock_bought(plans), *goods.purchases))
    made = bought_batch(batch, units, plans, purchases=purchases, unpriced=goods.unpriced, report=report)
    used = {each.job.material: times_of(each.plan) for each in plans}
    return Recount(
        is_bought=is_bought,
        was=Money(old.total, old.currency),
        lines=_changed(old, batch),
        stock=tuple(row for side in sides for row in side.stock_rows(is_bought, used.get(side.material, Counter()))),
        pieces=tuple(row for side in sides for row in side.piece_rows()),
        goods=goods.rows,
        unknown=goods.unknown,
        rest=made,
        cut={part: count for side in sides for part, count in side.served().items() if count},
        there=goods.there,
    )


def _plans(
    rest: Sequence[tuple[MaterialRest, MaterialJob]], batch: Batch, is_bought: bool, effort: Effort
) -> tuple[MaterialPlan, ...]:
    """A plan for each job. The old plan stays if it still yields exactly what is needed; if not, its layouts with a
    plan for the missing pieces compete with a new plan.
    """
    plans: dict[int, MaterialPlan] = {}
    olds = [side.kept(job, is_bought) for side, job in rest]
    for n, (side, job) in enumerate(rest):
        old = olds[n]
        if side.plan is not None and side.is_as_it_was(job):
            plans[n] = MaterialPlan(job, side.plan)
        elif old is not None and (is_bought or side.costs_as_before(job)) and (whole := whole_plan(old, job)):
            plans[n] = whole
    fresh = [n for n in range(len(rest)) if n not in plans]
    for n, found in zip(fresh, planned_jobs([rest[n][1] for n in fresh], batch.worth, effort), strict=True):
        old = olds[n]
        plans[n] = found if old is None else cheaper(found, old, batch.worth, effort)
    return tuple(plans[n] for n in range(len(rest)))


def _same_batch(old: Written, batch: Batch) -> None:
    found = []
    if old.batch != batch.name:
        do = "Give the plan.json of this batch."
        found.append(Problem("recount, --plan", f"a plan of {old.batch!r}", f"one of {batch.name!r}", do))
    if old.currency != batch.lumberyard.currency:
        wanted = f"one in {batch.lumberyard.currency}, as the lumberyard's prices are"
        found.append(
            Problem(
                "recount, --plan", f"a plan in {old.currency}", wanted, "Give the lumberyard file it was planned with."
            )
        )
    if found:
        raise InputError(*found)


def _changed(old: Written, batch: Batch) -> tuple[Changed, ...]:
    now = {(line.address, line.hives.name): line.count for line in batch.lines}
    return tuple(
        Changed(*key, old.lines.get(key, 0), now.get(key, 0))
        for key in dict.fromkeys((*now, *old.lines))
        if old.lines.get(key, 0) != now.get(key, 0)
    )
