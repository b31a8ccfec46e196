"""Finds the savings from stocking fewer sizes: plans the batch as designed, and with the fewest sizes of rim."""

from collections.abc import Callable
from dataclasses import KW_ONLY, dataclass
from fractions import Fraction

from woodshop.cutting.model.plan import Effort
from woodshop.cutting.order.job_sequence import job_sequence
from woodshop.plan.buying.groups import PlanBook
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.plan.fewest_rims import Checked, FewestSizes
from woodshop.plan.values import PlannedBatch
from woodshop.shape.part import Part, Role, counted
from woodshop.units.lengths import Money


@dataclass(frozen=True, slots=True)
class Stocked:
    """One way of stocking: its cost and lower bound, the work at the saw, and the cost of the items in stock.

    `kinds` is the number of distinct items made to the rim's size; each size counts separately. `shelf` is the material
    cost of keeping some of each in stock.
    """

    pays: Money
    least: Money
    boards: int
    _: KW_ONLY
    layouts: int
    settings: int
    kinds: int
    shelf: Money


@dataclass(frozen=True, slots=True)
class Priced:
    """Both ways of stocking (as designed, and with the fewest sizes), and the number of each item in stock."""

    before: Stocked
    after: Stocked
    keep: int


def priced(
    found: FewestSizes, keep: int, progress: Callable[[str], None] | None = None, effort: Effort = "default"
) -> Priced:
    """Plans both ways of stocking, with shared jobs planned only once. Raises the errors of `plan_to_buy`.

    `keep` is the number of each item in stock; `progress` and `effort` are as in `plan_to_buy`.
    """
    book = PlanBook(effort, is_shared=True)
    before, after = (_stocked(each, keep, book, progress) for each in found.both_ways)
    return Priced(before, after, keep)


def _stocked(checked: Checked, keep: int, book: PlanBook, progress: Callable[[str], None] | None) -> Stocked:
    planned = plan_to_buy(*checked, progress=progress, book=book)
    sawn = [each for each in planned.plans if each.job.material.is_sawn]
    thin = planned.batch.saw.thin_rip
    gap = Money(planned.gap, planned.to_pay.currency)
    least = planned.choices.least if planned.choices is not None else planned.to_pay - gap
    kinds, shelf = _shelf(planned, keep)
    return Stocked(
        planned.to_pay,
        least,
        sum(layout.times for each in sawn for layout in each.plan.layouts),
        layouts=sum(len(each.plan.layouts) for each in sawn),
        settings=sum(job_sequence(each.plan.job, each.plan, thin_rip=thin).moves for each in sawn),
        kinds=kinds,
        shelf=shelf,
    )


def _shelf(planned: PlannedBatch, keep: int) -> tuple[int, Money]:
    """The number of distinct items made to the rim's size, and the material cost of `keep` of each, to the cent."""
    sums: dict[tuple[str, frozenset[tuple[Part, int]]], tuple[int, int]] = {}
    for unit, cost in zip(planned.units, planned.costs, strict=False):
        if unit.line.item.on_rim and unit.line.count:
            kind = (unit.line.item.name, frozenset(counted(unit.assembly.with_role(Role.MADE))))
            cents, count = sums.get(kind, (0, 0))
            sums[kind] = (cents + cost.total.minor, count + cost.count)
    whole = sum((Fraction(cents, count) * keep for cents, count in sums.values()), Fraction(0))
    return len(sums), Money(int(whole + Fraction(1, 2)), planned.batch.lumberyard.currency)
