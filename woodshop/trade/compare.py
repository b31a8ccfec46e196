"""A batch run again under changes: each case read, checked, planned and bought as the design itself would be."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from woodshop.checks.check_batch import check_batch
from woodshop.design.batch import Batch, Unit
from woodshop.design.design_file import design_of
from woodshop.design.lumberyard.lumberyard_file import read_yard
from woodshop.design.lumberyard.lumberyards import joined
from woodshop.design.orders.orders import with_orders
from woodshop.design.orders.reading import read_orders
from woodshop.design.schema import load
from woodshop.design.settle.settle import settle
from woodshop.errors import InputError, WoodshopError
from woodshop.findings import Report, Severity
from woodshop.plan.buying.groups import PlanBook, Variant, groups_of
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.plan.values import PlannedBatch
from woodshop.trade.vary import Case, Vary, cases_of, into_design, with_prices
from woodshop.units.lengths import Money
from woodshop.workers import over_cores

Progress = Callable[[str], None]
Measured = tuple[Batch, tuple[Unit, ...], Report]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What one case came to; `refused` says why it cannot be made, and then the rest is nothing.

    `pays` is what is paid at all yards, with the worth of rack wood used; no plan of the case pays less than `least`.
    `layouts`, `boards` count what is sawn and cut, `codes` the findings of more weight than a note.
    """

    case: Case
    refused: str = ""
    pays: Money | None = None
    least: Money | None = None
    layouts: int = 0
    boards: int = 0
    errors: int = 0
    warnings: int = 0
    codes: tuple[str, ...] = ()
    yards: tuple[str, ...] = ()


def compare(
    path: Path, varies: Sequence[Vary], effort: str = "default", progress: Progress | None = None
) -> tuple[Outcome, ...]:
    """What each case comes to, the design as it stands first. A cutting job that cases have in common is planned once.

    Raises InputError where the design itself, or a value given, cannot be read.
    """
    cases: tuple[Case, ...] = ((), *cases_of(tuple(varies)))
    raw = load(path, "design")
    for case in cases:
        _read(path, raw, case)  # a slip in a value is told before anything is planned
    if progress is not None:
        progress(f"checking {len(cases)} cases")
    measured = over_cores(_measure, [(path, raw, case) for case in cases])
    book = PlanBook(effort, is_shared=True)
    _prepare(book, [each for each in measured if not isinstance(each, str)], progress)
    return tuple(_outcome(case, each, book, progress) for case, each in zip(cases, measured, strict=True))


def _read(path: Path, raw: dict[str, Any], case: Case) -> tuple[Any, Any]:
    design = design_of(into_design(case, raw), path)
    yards = [read_yard(file) for file in design.yards]
    return design, with_prices(case, joined(yards, [file.name for file in design.yards]))


def _measure(path: Path, raw: dict[str, Any], case: Case) -> Measured | str:
    try:
        design, yard = _read(path, raw, case)
        if design.ordering is not None:
            design = with_orders(design, read_orders(design.ordering))
        batch = settle(design, yard)
        return batch, *check_batch(batch)
    except WoodshopError as why:
        if not case:
            raise
        return str(why.problems[0])


def _prepare(book: PlanBook, measured: list[Measured], progress: Progress | None) -> None:
    """Plan every job of all yards together, of all cases, over the cores at once."""
    wanted = []
    for batch, units, _ in measured:
        try:
            groups = groups_of(Variant(batch, units), book)
        except WoodshopError:
            continue  # told with its case
        if not batch.buying.one_yard_only:
            wanted += [group.job_for(frozenset(terms.yard for terms in batch.yard.terms)) for group in groups.values()]
    book.prepare(wanted, progress)


def _outcome(case: Case, measured: Measured | str, book: PlanBook, progress: Progress | None) -> Outcome:
    if isinstance(measured, str):
        return Outcome(case=case, refused=measured)
    try:
        planned = plan_to_buy(*measured, progress=progress, book=book)
    except WoodshopError as why:
        if not case and isinstance(why, InputError):
            raise
        return Outcome(case=case, refused=str(why.problems[0]))
    report = planned.report
    pays, least = _money(planned)
    weighty = [finding for finding in report.findings if finding.severity is not Severity.NOTE]
    return Outcome(
        case=case,
        pays=pays,
        least=least,
        layouts=sum(len(each.plan.layouts) for each in planned.plans),
        boards=sum(layout.times for each in planned.plans for layout in each.plan.layouts),
        errors=report.count(Severity.ERROR),
        warnings=report.count(Severity.WARNING),
        codes=tuple(dict.fromkeys(finding.code for finding in weighty)),
        yards=tuple(bill.yard for bill in planned.bills),
    )


def _money(planned: PlannedBatch) -> tuple[Money, Money]:
    """What is paid with rack wood at its worth, and what no plan pays less than."""
    currency = planned.batch.yard.currency
    if planned.choices is not None:
        return planned.to_pay + planned.choices.rack, planned.choices.least
    rack = 0
    for each in planned.plans:
        worth = {offer.id: offer.price.minor for offer in each.job.offers if offer.label}
        rack += sum(worth.get(layout.stock, 0) * layout.times for layout in each.plan.layouts)
    pays = planned.to_pay + Money(rack, currency)
    return pays, pays - Money(sum(each.plan.gap for each in planned.plans), currency)
