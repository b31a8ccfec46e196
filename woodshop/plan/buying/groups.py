"""Stores cutting plans by job, so that a job shared by several sets of lumberyards or several runs is planned once."""

import math
from abc import ABC, abstractmethod
from collections.abc import Callable, Hashable, Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations

from woodshop.cutting.model.lumber_job import LumberyardCuts
from woodshop.cutting.model.plan import Effort
from woodshop.design.batch import Batch, Unit
from woodshop.design.lumberyard.lumberyard_file import Lumberyard, Offer, Pack, Ready
from woodshop.design.lumberyard.lumberyard_tables import Terms
from woodshop.design.settings.buying import Worth
from woodshop.errors import InputError, NothingToCutError, Problem, ShortOfStockError
from woodshop.findings import Finding, Report, Severity, gather
from woodshop.plan.buy_list import amounts_to_buy, least_cost, packs_bought, stock_bought, without_price
from woodshop.plan.lumber_at_home import at_home
from woodshop.plan.parts_needed import parts_needed, refuse_unfit
from woodshop.plan.plan_batch import job_words, plan_any, refuse_worth
from woodshop.plan.values import BoughtLumber, MaterialJob, MaterialPlan, Purchase, Unpriced, stock_used
from woodshop.units.lengths import Money
from woodshop.units.wording import LengthUnit
from woodshop.workers import over_cores, steps_left

Wanted = tuple[MaterialJob, Worth | None]


class PlanBook:
    """Stored plans, keyed by their jobs, and the problems of jobs that cannot be cut.

    If `with_tax` is true, the costs in the jobs include tax. `is_shared` says whether the book serves more than one
    batch.
    """

    def __init__(self, effort: Effort = "default", *, is_shared: bool = False) -> None:
        self.effort, self.is_shared, self.with_tax = effort, is_shared, False
        self._known: dict[Hashable, MaterialPlan | BoughtLumber | NothingToCutError] = {}

    def prepare(self, wanted: Iterable[Wanted | None], progress: Callable[[str], None] | None = None) -> None:
        """Plans the jobs that are not known yet, in parallel if there is more than one."""
        new = {_key(*each): each for each in wanted if each is not None and _key(*each) not in self._known}
        if not new:
            return
        largest = sorted(new, key=lambda key: -sum(blank.count for blank in new[key][0].job.blanks))
        ended = steps_left("cutting plans", [job_words(new[key][0]) for key in largest], progress)
        tasks = [(*new[key], self.effort) for key in largest]
        self._known.update(zip(largest, over_cores(_attempt, tasks, ended=ended), strict=True))

    def plan(self, job: MaterialJob, worth: Worth | None) -> MaterialPlan | BoughtLumber:
        """The plan of a job, with the names used in this job. Raises NothingToCutError if the job cannot be cut."""
        key = _key(job, worth)
        if key not in self._known:
            self.prepare([(job, worth)])
        found = self._known[key]
        if isinstance(found, NothingToCutError):
            raise found
        return replace(found, job=job)

    def is_known(self, job: MaterialJob, worth: Worth | None) -> bool:
        """Whether this job has been planned."""
        return _key(job, worth) in self._known


def _key(job: MaterialJob, worth: Worth | None) -> Hashable:
    return job.material, job.grid, job.job, job.lumber, worth


def _attempt(job: MaterialJob, worth: Worth | None, effort: Effort) -> MaterialPlan | BoughtLumber | NothingToCutError:
    try:
        return plan_any(job, worth, effort)
    except NothingToCutError as why:
        return why


MOST_KINDS = 4


@dataclass(frozen=True, slots=True)
class ReadyNeed:
    """How many of an item are needed for boxes with one number of frames, and the lumberyards that sell the item."""

    item: str
    frames: int
    count: int
    offers: tuple[Ready, ...]

    @property
    def group(self) -> str:
        """The name of the group of its purchases."""
        return f"ready-made {self.item}"

    @property
    def words(self) -> str:
        """The name of the item in the lists."""
        return f"{self.item} for {self.frames} frames, ready-made"


@dataclass(frozen=True, slots=True)
class Variant:
    """A batch with its ready-made purchases. Its lines list these items as bought; they are not made."""

    batch: Batch
    units: tuple[Unit, ...]
    ready: tuple[ReadyNeed, ...] = ()

    @property
    def amounts(self) -> list[tuple[str, Fraction, str]]:
        """The goods to buy."""
        return amounts_to_buy(self.batch, self.units)

    @property
    def unpriced(self) -> tuple[Unpriced, ...]:
        """The goods that no lumberyard sells."""
        sold = {pack.goods for pack in self.batch.lumberyard.packs}
        return tuple(without_price(self.units, goods, why) for goods, _, why in self.amounts if goods not in sold)

    @property
    def ready_made(self) -> tuple[str, ...]:
        """Descriptions of the ready-made purchases."""
        return tuple(need.words for need in self.ready)


def variants_of(batch: Batch, units: tuple[Unit, ...]) -> tuple[Variant, ...]:
    """The batch with every item made, then the batch with each choice of ready-made items for sale.

    Raises InputError if the design allows an item that no lumberyard sells, or too many kinds to choose from.
    """
    allowed, found = batch.buying.ready_made, []
    for name in allowed:
        if not any(ready.item == name for ready in batch.lumberyard.ready):
            wanted = "an item that a lumberyard file has under [[ready]]"
            found.append(Problem("design, buying, ready_made", repr(name), wanted, "Add it there with its price."))
    kinds: dict[tuple[str, int], int] = {}
    for unit in units:
        line = unit.line
        if line.item.name in allowed and line.item.is_per_hive and line.count:
            kind = (line.item.name, line.setting.box.frames)
            kinds[kind] = kinds.get(kind, 0) + line.count
    needs = []
    for (item, frames), count in kinds.items():
        offers = tuple(ready for ready in batch.lumberyard.ready if ready.fits(item, frames))
        if offers:
            needs.append(ReadyNeed(item, frames, count, offers))
    if len(needs) > MOST_KINDS:
        given = f"{len(needs)} kinds that could be bought: {', '.join(need.words for need in needs)}"
        wanted = f"at most {MOST_KINDS} to choose among"
        found.append(Problem("design, buying, ready_made", given, wanted, "Name fewer items."))
    if found:
        raise InputError(*found)
    return tuple(_bought(batch, units, some) for many in range(len(needs) + 1) for some in combinations(needs, many))


def _bought(batch: Batch, units: tuple[Unit, ...], needs: tuple[ReadyNeed, ...]) -> Variant:
    if not needs:
        return Variant(batch, units)
    kinds = {(need.item, need.frames) for need in needs}
    changed: list[Unit] = []
    for unit in units:
        line = unit.line
        if line.count and (line.item.name, line.setting.box.frames) in kinds:
            words = f"{line.arithmetic}, bought ready-made"
            unit = replace(unit, line=replace(line, count=0, bought=line.count, arithmetic=words))
        changed.append(unit)
    lines = tuple(unit.line for unit in changed)
    return Variant(replace(batch, lines=lines), tuple(changed), needs)


def with_notes(report: Report, variant: Variant) -> Report:
    """The report, plus a note for each ready-made item, which says that the item was not measured."""
    if not variant.ready:
        return report
    notes = [
        Finding(
            "ready-made-not-measured",
            Severity.NOTE,
            need.words,
            f"{need.count} bought ready-made, but only the one you would make was checked",
            "an item that fits these boxes",
            "the lumberyard file",
            "A bought one may differ. Try one on a box before you buy the rest.",
        )
        for need in variant.ready
    ]
    return gather([*report.findings, *notes])


Lumberyards = frozenset[str]


@dataclass(frozen=True, slots=True)
class Option:
    """One way to buy a group at some lumberyards: the purchases, the value of offcuts used, and the lower bound."""

    purchases: tuple[Purchase, ...]
    offcuts: int
    least: int
    plan: MaterialPlan | BoughtLumber | None = None


class BuyingGroup(ABC):
    """One group, with the options found so far, keyed by the lumberyards they use."""

    def __init__(self, name: str, sellers: Lumberyards, offcuts: int = 0, *, from_offcuts: bool = False) -> None:
        self.name, self.sellers, self.offcuts, self.from_offcuts = name, sellers, offcuts, from_offcuts
        self.options: dict[Lumberyards, Option] = {}
        self.refused: dict[Lumberyards, str] = {}
        self.short: ShortOfStockError | None = None  # even of all lumberyards together

    def job_for(self, lumberyards: Lumberyards) -> Wanted | None:
        """The cutting job for these lumberyards, if there is one."""
        return None

    @abstractmethod
    def _make(self, lumberyards: Lumberyards) -> Option:
        """The option for these lumberyards."""

    def _is_ready(self, lumberyards: Lumberyards) -> bool:
        """Whether an option needs no further planning."""
        return True

    def option(self, lumberyards: Lumberyards) -> Option:
        """The option for these lumberyards, planned if needed. Raises NothingToCutError if there is none."""
        own = lumberyards & self.sellers
        if own not in self.options:
            self.options[own] = self._make(own)
        return self.options[own]

    def floor(self, lumberyards: Lumberyards) -> tuple[int | None, str]:
        """The known lower bound on the group's cost at these lumberyards, or None and the reason why there is none."""
        own = lumberyards & self.sellers
        if not own and not self.from_offcuts:
            return None, f"does not sell {self.name}" if len(lumberyards) == 1 else f"do not sell {self.name}"
        if self._is_ready(own):
            try:
                return self.option(own).least, ""
            except NothingToCutError as bad:
                self.refused[own] = f"{bad.problems[0].given} ({self.name})"
                if own == self.sellers and isinstance(bad, ShortOfStockError):
                    self.short = bad
        for wider, reason in self.refused.items():
            if own <= wider:
                return None, reason
        return max((o.least for wider, o in self.options.items() if own <= wider), default=0), ""

    def options_within(self, lumberyards: Lumberyards) -> list[Option]:
        """Every known option that uses only these lumberyards."""
        return [option for own, option in self.options.items() if own <= lumberyards]

    def tried(self, names: tuple[str, ...]) -> Iterator[tuple[tuple[str, ...], Option]]:
        """Every known option, with its lumberyards in order."""
        for own, option in self.options.items():
            yield tuple(name for name in names if name in own), option


class _Material(BuyingGroup):
    """A material to cut."""

    def __init__(
        self, job: MaterialJob, worth: Worth | None, book: PlanBook, terms: dict[str, Terms], unit: LengthUnit
    ) -> None:
        offcuts = [offer for offer in job.offers if offer.label]
        super().__init__(
            job.group,
            frozenset(offer.lumberyard for offer in job.offers if not offer.label),
            sum(offer.price.minor * (offer.count or 1) for offer in offcuts),
            from_offcuts=bool(offcuts),
        )
        self.job, self.worth, self.book, self.terms, self.unit = job, worth, book, terms, unit

    def _restricted(self, own: Lumberyards) -> MaterialJob:
        """The job with only the stock of these lumberyards and the offcuts; its costs include tax if required."""
        offers = tuple(offer for offer in self.job.offers if offer.label or offer.lumberyard in own)
        costs = {offer.id: _cost(offer, self.terms, self.book.with_tax) for offer in offers}
        stock = tuple(replace(each, cost=costs[each.id]) for each in self.job.job.stock if each.id in costs)
        lumber = self.job.lumber
        if lumber is not None:
            boards = tuple(
                replace(each, stock=row, cuts=self._taxed(each.cuts, row.id))
                for each, row in ((board, row) for row in stock for board in lumber.lumber if board.stock.id == row.id)
            )
            lumber = replace(lumber, base=replace(lumber.base, stock=stock), lumber=boards)
        return replace(self.job, offers=offers, job=replace(self.job.job, stock=stock), lumber=lumber)

    def _taxed(self, cuts: LumberyardCuts | None, stock: str) -> LumberyardCuts | None:
        """The cuts of a board at a price that includes tax if required."""
        if cuts is None or not self.book.with_tax:
            return cuts
        seller = next(offer.lumberyard for offer in self.job.offers if offer.id == stock)
        return replace(cuts, cost=math.floor(cuts.cost * (1 + self.terms[seller].tax)))

    def job_for(self, lumberyards: Lumberyards) -> Wanted | None:
        own = lumberyards & self.sellers
        return (self._restricted(own), self.worth) if own or self.from_offcuts else None

    def _is_ready(self, lumberyards: Lumberyards) -> bool:
        return self.book.is_known(self._restricted(lumberyards), self.worth)

    def _make(self, lumberyards: Lumberyards) -> Option:
        made = self.book.plan(self._restricted(lumberyards), self.worth)
        prices = {offer.id: offer.price.minor for offer in made.job.offers if offer.label}
        plans, lumber = at_home((made,), self.unit)
        offcuts = sum(prices.get(stock, 0) * count for stock, count in stock_used(made).items())
        return Option(tuple(stock_bought(plans, lumber)), offcuts, made.plan.bound, made)


class _Goods(BuyingGroup):
    """Goods in packs."""

    def __init__(self, packs: list[Pack], amount: Fraction, why: str, book: PlanBook, terms: dict[str, Terms]) -> None:
        super().__init__(packs[0].goods, frozenset(pack.lumberyard for pack in packs))
        self.packs, self.amount, self.why = packs, amount, why
        self.costs = [_cost(pack, terms, book.with_tax) for pack in packs]

    def _make(self, lumberyards: Lumberyards) -> Option:
        chosen = [
            (pack, cost) for pack, cost in zip(self.packs, self.costs, strict=True) if pack.lumberyard in lumberyards
        ]
        priced = [replace(pack, price=Money(cost, pack.price.currency)) for pack, cost in chosen]
        least = least_cost(priced, self.amount)
        real = {(new.what, new.lumberyard): pack.price for new, (pack, _) in zip(priced, chosen, strict=True)}
        bought = [
            replace(purchase, price=real[purchase.what, purchase.lumberyard])
            for purchase in packs_bought(priced, self.amount, self.why)
        ]
        return Option(tuple(bought), 0, least)


class _ReadyMade(BuyingGroup):
    """An item bought ready-made."""

    def __init__(self, need: ReadyNeed, offers: list[Ready], book: PlanBook, terms: dict[str, Terms]) -> None:
        super().__init__(need.words, frozenset(offer.lumberyard for offer in offers))
        self.need, self.offers = need, [(_cost(offer, terms, book.with_tax), offer) for offer in offers]

    def _make(self, lumberyards: Lumberyards) -> Option:
        cost, offer = min(
            ((cost, offer) for cost, offer in self.offers if offer.lumberyard in lumberyards), key=lambda pair: pair[0]
        )
        bought = Purchase(
            group=self.need.group,
            what=offer.what,
            count=self.need.count,
            price=offer.price,
            why=self.need.words,
            lumberyard=offer.lumberyard,
        )
        return Option((bought,), 0, cost * self.need.count)


def groups_of(variant: Variant, book: PlanBook) -> dict[str, BuyingGroup]:
    """All groups of a run, keyed by name. Raises NothingToCutError if a material is neither for sale nor an offcut."""
    batch, lumberyard = variant.batch, variant.batch.lumberyard
    terms = {each.lumberyard: each for each in lumberyard.terms}
    book.with_tax = needs_tax(lumberyard)
    jobs = parts_needed(batch, variant.units)
    refuse_unfit(batch, jobs)
    refuse_worth(jobs, batch)
    groups: dict[str, BuyingGroup] = {job.group: _Material(job, batch.worth, book, terms, batch.unit) for job in jobs}
    for goods, amount, why in variant.amounts:
        packs = [pack for pack in lumberyard.packs if pack.goods == goods]
        if packs:
            groups[goods] = _Goods(packs, amount, why, book, terms)
    for need in variant.ready:
        groups[need.words] = _ReadyMade(need, list(need.offers), book, terms)
    return groups


def needs_tax(lumberyard: Lumberyard) -> bool:
    """Whether prices must be compared with tax included, because tax rates differ or untaxed offcuts have a value."""
    rates = {terms.tax for terms in lumberyard.terms}
    return len(rates) > 1 or (rates != {Fraction(0)} and any(o.label and o.price.minor for o in lumberyard.offers))


def _cost(offer: Offer | Pack | Ready, terms: dict[str, Terms], with_tax: bool) -> int:
    """The cost of stock in a job: its price, or the price with its lumberyard's tax, rounded down to whole cents."""
    if not with_tax or offer.lumberyard not in terms:
        return offer.price.minor
    return math.floor(offer.price.minor * (1 + terms[offer.lumberyard].tax))
