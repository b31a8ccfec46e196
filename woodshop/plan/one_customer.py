"""One customer's part of a planned batch: the customer's hives and items, and the pieces for them in the run."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

from woodshop.design.batch import Batch, Hives, order_name
from woodshop.design.make_units import place_of
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.findings import Finding, Report, Severity
from woodshop.plan.values import PlannedBatch
from woodshop.shape.part import Part, Role, counted


def customers_of(batch: Batch) -> dict[str, tuple[Hives, ...]]:
    """The groups of hives of each customer, in the order of the design.

    Hives without a customer are listed under their order or, if they have none, under their own name.
    """
    found: dict[str, list[Hives]] = {}
    for hives in batch.hives:
        found.setdefault(hives.customer or order_name(hives), []).append(hives)
    return {name: tuple(own) for name, own in found.items()}


def hives_named(batch: Batch, name: str) -> tuple[str, tuple[Hives, ...]]:
    """The full name of a customer or order, and its groups of hives.

    `name` is the name of the customer or the number of the order, in upper or lower case. Raises InputError if it
    matches none.
    """
    found = customers_of(batch)
    orders: dict[str, list[Hives]] = {}
    for hives in batch.hives:
        if hives.order:
            orders.setdefault(hives.order, []).append(hives)
    wanted = _folded(name)
    for customer, own in found.items():
        if _folded(customer) == wanted:
            return customer, own
    for order, of_order in orders.items():
        if _folded(order) == wanted:
            return order_name(of_order[0]), tuple(of_order)
    known = list(dict.fromkeys((*found, *orders)))
    do = did_you_mean(name, known, f"There are: {'; '.join(known)}.")
    raise InputError(Problem("--only", repr(name), "a customer, or the number of an order", do))


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())


def of_hives(planned: PlannedBatch, hives: tuple[Hives, ...]) -> PlannedBatch:
    """The part of a planned batch that is for these hives. Marks and part names are those of the whole batch.

    It has no plans and no purchases, because wood is cut and goods are bought for the whole batch. `cut_before` and
    `there` are the pieces for these hives in the plan of the batch. Items made for the whole batch, such as packing
    blocks, are listed with a count of 0. The findings are those about these hives, and all errors.
    """
    units = tuple(
        unit if unit.line.item.is_per_hive else replace(unit, line=replace(unit.line, count=0, bought=0))
        for unit in planned.units
        if unit.line.hives in hives or not unit.line.item.is_per_hive
    )
    counts: Counter[tuple[str, Part]] = Counter()
    for unit in units:
        for part, count in counted(unit.assembly.with_role(Role.MADE)):
            counts[unit.line.item.name, part] += count * unit.line.count
    needs = (*planned.cut_before, *(need for each in planned.plans for need in each.job.needs))
    own = tuple(
        replace(need, count=count) for need in needs if (count := counts[need.address.partition(" / ")[0], need.part])
    )
    return replace(
        planned,
        batch=replace(planned.batch, hives=hives, lines=tuple(unit.line for unit in units)),
        units=units,
        plans=(),
        lumber=(),
        purchases=(),
        unpriced=(),
        costs=(),
        report=Report(tuple(_findings(planned, hives))),
        bills=(),
        choices=None,
        cut_before=own,
        there={need.address: need.count for need in own},
    )


def _findings(planned: PlannedBatch, hives: tuple[Hives, ...]) -> Iterator[Finding]:
    """The findings about these hives, without the places of other hives, and every error."""
    batch = planned.batch
    owners: dict[str, set[str]] = {place_of(each): {each.name} for each in batch.hives}
    for line in batch.lines:
        if line.item.is_per_hive:
            owners.setdefault(line.address, set()).add(line.hives.name)
    own = {each.name for each in hives}
    for finding in planned.report.findings:
        places = finding.place.split("; ")
        kept = [place for place in places if _is_about(place, own, owners)]
        if kept:
            yield replace(finding, place="; ".join(kept))
        elif finding.severity is Severity.ERROR:
            yield finding


def _is_about(place: str, own: set[str], owners: dict[str, set[str]]) -> bool:
    """Whether a place in a finding belongs to one of these hives, or to no hives at all."""
    longest = max((name for name in owners if place.startswith(name)), key=len, default=None)
    return longest is None or bool(owners[longest] & own)
