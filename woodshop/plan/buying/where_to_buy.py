"""Chooses lumberyards: the cost of an order at a set of lumberyards, with its lower bound."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations, product

from woodshop.cutting.lumber.plan_lumber import refuse_uncuttable_lumber
from woodshop.cutting.model.plan import Effort
from woodshop.cutting.planner.plan_job import refuse_uncuttable
from woodshop.design.batch import Batch, Unit
from woodshop.design.lumberyard.lumberyard_tables import Terms
from woodshop.errors import InputError, NothingToCutError, Problem, ShortOfStockError
from woodshop.findings import Report
from woodshop.plan.bills import bills, topped_up
from woodshop.plan.buying.groups import (
    BuyingGroup,
    Lumberyards,
    Option,
    PlanBook,
    Variant,
    groups_of,
    variants_of,
    with_notes,
)
from woodshop.plan.lumber_at_home import at_home
from woodshop.plan.parts_needed import parts_needed
from woodshop.plan.plan_batch import bought_batch, in_words, plan_batch
from woodshop.plan.values import Choice, Choices, PlannedBatch, Purchase, Unpriced
from woodshop.units.lengths import Money


def to_pay(terms: Terms, goods: int) -> int:
    """An estimate of the cost of these goods at this lumberyard, with additions for a minimum order or free delivery.

    Goods are added for free delivery only if that saves money. It is an estimate, because additions are whole items.
    """
    if not goods:
        return 0
    goods = max(goods, terms.minimum)
    ways = [goods]
    if terms.free_from is not None and goods < terms.free_from:
        ways.append(terms.free_from)
    return min(way + terms.fee_for(way) + terms.tax_for(way, terms.fee_for(way)) for way in ways)


def least_to_pay(terms: Sequence[Terms], goods: int, offcuts: int, *, with_tax: bool) -> int:
    """A lower bound on the cost of an order from exactly these lumberyards, with goods from each.

    `goods` is a lower bound on the cost of the goods, including offcuts worth at most `offcuts`. `with_tax` says
    whether `goods` includes the tax of each lumberyard. If delivery is free above some amount, two ways are tried:
    paying the fee, or buying at least that amount of goods. Half a cent is subtracted for each rounded tax.
    """
    ways = [((t.fee, t.minimum),) if t.free_from is None else ((t.fee, t.minimum), (0, t.free_from)) for t in terms]
    return min(_least(terms, way, goods, offcuts, with_tax) for way in product(*ways))


def _least(terms: Sequence[Terms], way: tuple[tuple[int, int], ...], goods: int, offcuts: int, with_tax: bool) -> int:
    floor = sum(least for _, least in way)
    fees = sum((fee * (1 + t.tax if t.tax_on_delivery else 1) for (fee, _), t in zip(way, terms, strict=True)), 0)
    rounding = Fraction(sum(1 for t in terms if t.tax), 2)
    if with_tax:
        taxed = sum((least * (1 + t.tax) for (_, least), t in zip(way, terms, strict=True)), Fraction(0))
        return math.ceil(max(Fraction(goods), taxed) + fees - rounding)
    rate = min((t.tax for t in terms), default=Fraction(0))
    bought = max(goods - offcuts, floor)
    return math.ceil(max(goods, floor) + bought * rate + fees - rounding)


MOST_LUMBERYARDS = 8

Progress = Callable[[str], None]


@dataclass(slots=True)
class _Set:
    """One set of lumberyards for one variant: its lower bound, and the results found."""

    variant: int
    lumberyards: Lumberyards
    least: int | None = 0
    found: "_Found | None" = None
    why: str = ""


@dataclass(frozen=True, slots=True)
class _Found:
    """The purchases for one set: an option for each group, all purchases, the total, and the value of the offcuts."""

    options: tuple[Option, ...]
    purchases: tuple[Purchase, ...]
    pays: int
    offcuts: int


def plan_to_buy(
    batch: Batch,
    units: tuple[Unit, ...],
    report: Report,
    progress: Progress | None = None,
    effort: Effort = "default",
    book: PlanBook | None = None,
) -> PlannedBatch:
    """The batch planned and bought at the lowest total found, with a lower bound for all choices of lumberyards.

    `book` stores the plans of cutting jobs, so that other runs of similar batches can use them. `effort` is the effort
    of the planner. Raises the errors of `plan_batch`, InputError for too many lumberyards, and NothingToCutError if no
    set of lumberyards sells everything.
    """
    book = PlanBook(effort) if book is None else book
    variants = variants_of(batch, units)
    plain = all(terms.is_plain for terms in batch.lumberyard.terms)
    if plain and not batch.buying.one_lumberyard and len(variants) == 1:
        if book.is_shared:
            return _all_together(batch, units, report, book, progress)
        return plan_batch(batch, units, report, progress, effort)
    names = tuple(terms.lumberyard for terms in batch.lumberyard.terms)
    refuse_many_lumberyards(batch)
    search = _Search(batch, variants, names, book, progress)
    search.run()
    return search.planned(report)


def refuse_many_lumberyards(batch: Batch) -> None:
    """Raises InputError if there are too many lumberyards to compare and any has fees, minimum orders or tax."""
    terms = batch.lumberyard.terms
    if len(terms) > MOST_LUMBERYARDS and not all(each.is_plain for each in terms):
        given = f"{len(terms)} lumberyards with fees, minimum orders or tax"
        wanted = f"at most {MOST_LUMBERYARDS} to choose among"
        raise InputError(Problem("design, lumberyard", given, wanted, "Remove lumberyards that are never cheapest."))


def _all_together(
    batch: Batch, units: tuple[Unit, ...], report: Report, book: PlanBook, progress: Progress | None
) -> PlannedBatch:
    """One plan over all lumberyards, from the book if it is known."""
    variant = Variant(batch, units)
    names = frozenset(terms.lumberyard for terms in batch.lumberyard.terms)
    groups = groups_of(variant, book)
    book.prepare([group.job_for(names) for group in groups.values()], progress)
    try:
        options = [group.option(names) for group in groups.values()]
    except ShortOfStockError as short:
        raise in_words(batch, units, parts_needed(batch, units), short) from short
    plans, lumber = at_home([option.plan for option in options if option.plan is not None], batch.unit)
    return bought_batch(
        batch,
        units,
        plans,
        lumber=lumber,
        purchases=topped_up(batch.lumberyard, [purchase for option in options for purchase in option.purchases]),
        unpriced=variant.unpriced,
        report=report,
    )


class _Search:
    """The search over sets of lumberyards. Plans are stored and used for every set that needs them."""

    def __init__(
        self, batch: Batch, variants: tuple[Variant, ...], names: tuple[str, ...], book: PlanBook, say: Progress | None
    ) -> None:
        self.batch, self.variants, self.names, self.book, self.say = batch, variants, names, book, say
        self.terms = {terms.lumberyard: terms for terms in batch.lumberyard.terms}
        self.groups: list[dict[str, BuyingGroup]] = [groups_of(variant, book) for variant in variants]
        most = 1 if batch.buying.one_lumberyard else len(names)
        self.sets = [
            _Set(n, frozenset(some))
            for n in range(len(variants))
            for many in range(most + 1)
            for some in combinations(names, many)
        ]
        self.best: _Set | None = None

    def run(self) -> None:
        """Examines every set that could be the cheapest."""
        if not self.batch.buying.one_lumberyard:
            for each in [each for each in self.sets if len(each.lumberyards) == len(self.names)]:
                self._take(each)
        left = [each for each in self.sets if each.found is None and not each.why]
        while left:
            for each in left:
                self._bound(each)
            left = [each for each in left if not each.why]
            if not left:
                return
            lowest = min(left, key=lambda each: (each.least, len(each.lumberyards)))
            if self.best is not None and self.best.found is not None and self._sum(self.best) <= (lowest.least or 0):
                for each in left:
                    each.why = "proved the cheapest"
                return
            left.remove(lowest)
            self._take(lowest)

    def _sum(self, each: _Set) -> int:
        return each.found.pays + each.found.offcuts if each.found is not None else 0

    def _bound(self, each: _Set) -> None:
        """Finds the lower bound on an order from exactly these lumberyards, or the reason why there is none."""
        groups = self.groups[each.variant].values()
        goods = 0
        for group in groups:
            floor, why = group.floor(each.lumberyards)
            if floor is None:
                each.least, each.why = None, why
                return
            goods += floor
        offcuts = sum(group.offcuts for group in groups)
        terms = [self.terms[name] for name in self.names if name in each.lumberyards]
        each.least = least_to_pay(terms, goods, offcuts, with_tax=self.book.with_tax)

    def _take(self, each: _Set) -> None:
        """Plans the jobs that this set needs, and chooses among its options."""
        groups = list(self.groups[each.variant].values())
        self.book.prepare([group.job_for(each.lumberyards) for group in groups], self.say)
        self._bound(each)
        if each.why:
            return
        each.found = self._chosen(groups, each.lumberyards)
        if self.say is not None and len(self.names) > 1:
            names = " and ".join(name for name in self.names if name in each.lumberyards) or "offcuts alone"
            self.say(f"from {names} it costs {Money(each.found.pays, self.batch.lumberyard.currency)} to pay")
        if self.best is None or self._sum(each) < self._sum(self.best):
            self.best = each

    def _chosen(self, groups: list[BuyingGroup], lumberyards: Lumberyards) -> _Found:
        """The lumberyards for each group, chosen from the planned sets.

        One group changes at a time, as long as the cost falls.
        """
        ways = [group.options_within(lumberyards) for group in groups]
        chosen = [group.option(lumberyards) for group in groups]
        cost = self._estimate(chosen)
        changed = True
        while changed:
            changed = False
            for n, options in enumerate(ways):
                for option in options:
                    tried = [*chosen[:n], option, *chosen[n + 1 :]]
                    estimate = self._estimate(tried)
                    if estimate < cost:
                        chosen, cost, changed = tried, estimate, True
        purchases = topped_up(self.batch.lumberyard, [p for option in chosen for p in option.purchases])
        pays = sum(bill.total.minor for bill in bills(self.batch.lumberyard, purchases))
        return _Found(tuple(chosen), purchases, pays, sum(option.offcuts for option in chosen))

    def _estimate(self, options: list[Option]) -> int:
        spent: dict[str, int] = {}
        for option in options:
            for purchase in option.purchases:
                spent[purchase.lumberyard] = spent.get(purchase.lumberyard, 0) + purchase.total.minor
        return sum(to_pay(self.terms[name], goods) for name, goods in spent.items()) + sum(o.offcuts for o in options)

    def planned(self, report: Report) -> PlannedBatch:
        """The best set as a complete result."""
        if self.best is None or self.best.found is None:
            if short := next((group.short for group in self.groups[0].values() if group.short is not None), None):
                units = self.variants[0].units
                raise in_words(self.batch, units, parts_needed(self.batch, units), short) from short
            raise NothingToCutError(*self._lacking())
        found, variant = self.best.found, self.variants[self.best.variant]
        plans, lumber = at_home([o.plan for o in found.options if o.plan is not None], self.batch.unit)
        unpriced: tuple[Unpriced, ...] = variant.unpriced
        made = bought_batch(
            variant.batch,
            variant.units,
            plans,
            lumber=lumber,
            purchases=found.purchases,
            unpriced=unpriced,
            report=with_notes(report, variant),
        )
        return replace(made, choices=self._choices(found))

    def _choices(self, found: _Found) -> Choices:
        currency = self.batch.lumberyard.currency
        rows = []
        for each in self.sets:
            self._bound(each) if each.found is not None else None
            least = None if each.least is None else Money(each.least, currency)
            pays = None if each.found is None else Money(self._sum(each), currency)
            lumberyards = tuple(name for name in self.names if name in each.lumberyards)
            rows.append(Choice(lumberyards, self.variants[each.variant].ready_made, least, pays, each.why))
        bounds = [each.least for each in self.sets if each.least is not None]
        least = Money(min(min(bounds), found.pays + found.offcuts), currency)
        tried = {
            (names, id(option.plan)): (names, option.plan)
            for groups in self.groups
            for group in groups.values()
            for names, option in group.tried(self.names)
            if option.plan is not None
        }
        rests = tuple((names, each.job.group, each.plan) for names, each in tried.values())
        by_solver = any(plan.bound_kind == "solver" for _, _, plan in rests)
        offcuts = Money(found.offcuts, currency)
        return Choices(
            tuple(rows), least, by_solver, offcuts=offcuts, one_lumberyard=self.batch.buying.one_lumberyard, tried=rests
        )

    def _lacking(self) -> Iterator[Problem]:
        for each in self.sets:
            if each.variant == 0 and each.lumberyards:
                names = " and ".join(name for name in self.names if name in each.lumberyards)
                wanted = "everything this run needs"
                yield Problem(f"lumberyard file {names!r}", each.why, wanted, "Add it, or allow another lumberyard.")


def refuse_what_plan_refuses(batch: Batch, units: tuple[Unit, ...]) -> None:
    """Raises the error (InputError or NothingToCutError) that `plan_to_buy` would raise for this batch.

    Plans nothing.
    """
    variants = variants_of(batch, units)
    refuse_many_lumberyards(batch)
    book = PlanBook("quick")
    every = [groups_of(variant, book) for variant in variants]
    names = [terms.lumberyard for terms in batch.lumberyard.terms]
    sets = [frozenset({name}) for name in names] if batch.buying.one_lumberyard else [frozenset(names)]
    first: NothingToCutError | None = None
    for groups in every:
        for lumberyards in sets:
            try:
                for group in groups.values():
                    _refuse_group(group, lumberyards)
            except ShortOfStockError as short:
                first = first or in_words(batch, units, parts_needed(batch, units), short)
            except NothingToCutError as why:
                first = first or why
            else:
                return
    if first is not None:
        raise first


def _refuse_group(group: BuyingGroup, lumberyards: Lumberyards) -> None:
    if not (lumberyards & group.sellers) and not group.from_offcuts:
        name = " and ".join(sorted(lumberyards))
        given, wanted = f"no {group.name}", "everything this run needs"
        raise NothingToCutError(Problem(f"lumberyard file {name!r}", given, wanted, "Add it, or allow another."))
    wanted_job = group.job_for(lumberyards)
    if wanted_job is not None and wanted_job[0].lumber is not None:
        refuse_uncuttable_lumber(wanted_job[0].lumber)
    elif wanted_job is not None:
        refuse_uncuttable(wanted_job[0].job)
