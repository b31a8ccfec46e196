"""One material in a recount, and goods in packs: planned, cut, needed now, missing."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import KW_ONLY, dataclass, replace
from fractions import Fraction

from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.layouts.fewer_layouts import with_layouts
from woodshop.cutting.layouts.weigh import weigh
from woodshop.cutting.model.job import Blank, Direction, Job, Stock
from woodshop.cutting.model.plan import Effort, Layout, Piece, Plan, order_layouts, order_pieces
from woodshop.cutting.order.sequence import leftovers, plan_as_sawn
from woodshop.cutting.planner.plan_job import plan_of_layouts
from woodshop.design.batch import Batch, Unit
from woodshop.design.lumberyard.lumberyard_file import Offer
from woodshop.design.settings.buying import Worth, wishes_for
from woodshop.errors import InputError, NothingToCutError, Problem
from woodshop.plan.buy_list import amounts, packs_bought, size
from woodshop.plan.plan_batch import plan_one
from woodshop.plan.rest.reading import Bought, Tally, Written
from woodshop.plan.values import MaterialJob, MaterialPlan, Purchase, Unpriced
from woodshop.reference.materials import Material
from woodshop.units.lengths import Length, Money, inch, millimetre

Size = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Kept:
    """Old layouts that serve the new job; `missing` counts the pieces that they lack, by blank.

    `is_whole` is whether they are the whole rest of the old plan, with every piece needed and none missing.
    """

    layouts: tuple[Layout, ...]
    missing: Mapping[str, int]
    is_whole: bool


def size_of(blank: Blank) -> Size:
    """The sides of a blank; if it may be turned, the longer first."""
    width = blank.width or 0
    return (max(blank.length, width), min(blank.length, width)) if blank.rotate else (blank.length, width)


def kept_layouts(old: Plan, done: Mapping[int, int], job: Job, stock_name: Callable[[str], str]) -> Kept:
    """The rest of the old layouts, with each piece assigned to a blank of its size that still needs one.

    `done` counts the boards cut of each layout; `stock_name` is the new job's name for an old stock. Unneeded pieces
    are left out, or marked spare if the job keeps spares.
    """
    spares = job.rules.surplus == "spare"
    needed = Counter({blank.id: blank.count for blank in job.blanks})
    by_size: dict[Size, list[str]] = {}
    for blank in job.blanks:
        by_size.setdefault(size_of(blank), []).append(blank.id)
    sizes = {blank.id: size_of(blank) for blank in old.job.blanks}
    boards: Counter[tuple[str, Direction | None, tuple[Piece, ...]]] = Counter()
    is_whole = True
    for n, layout in enumerate(old.layouts):
        for _ in range(layout.times - done.get(n, 0)):
            pieces: list[Piece] = []
            for piece in layout.pieces:
                alike = by_size.get(sizes[piece.id], [])
                order = [piece.id, *alike] if piece.id in alike else alike
                wanting = None if piece.spare else next((name for name in order if needed[name]), None)
                if wanting is not None:
                    needed[wanting] -= 1
                    pieces.append(replace(piece, id=wanting))
                else:
                    is_whole = is_whole and piece.spare
                    if spares and alike:
                        pieces.append(replace(piece, id=order[0], spare=True))
            if any(not piece.spare for piece in pieces):
                boards[stock_name(layout.stock), layout.first, order_pieces(pieces)] += 1
            else:
                is_whole = False
    layouts = order_layouts([Layout(stock, times, own, first) for (stock, first, own), times in boards.items()])
    missing = {name: count for name, count in needed.items() if count}
    return Kept(layouts, missing, is_whole and not missing)


def whole_plan(kept: Kept, job: MaterialJob) -> MaterialPlan | None:
    """The old layouts as the plan of the rest, if they are exactly what is needed and pass the check."""
    if not kept.is_whole:
        return None
    made = plan_of_layouts(job.job, kept.layouts)
    return None if check_plan(made, job.job) else MaterialPlan(job, made)


def cheaper(found: MaterialPlan, kept: Kept, worth: Worth | None, effort: Effort) -> MaterialPlan:
    """The plan found, or the old layouts with a plan for the missing pieces, if that costs no more."""
    job = found.job.job
    layouts = kept.layouts
    if kept.missing:
        used = Counter[str]()
        for layout in layouts:
            used[layout.stock] += layout.times
        blanks = tuple(replace(b, count=kept.missing[b.id]) for b in job.blanks if b.id in kept.missing)
        stock = tuple(
            each if each.count is None else replace(each, count=each.count - used[each.id])
            for each in job.stock
            if each.count is None or each.count > used[each.id]
        )
        needs = tuple(
            replace(need, count=kept.missing[blank.id])
            for blank, need in zip(job.blanks, found.job.needs, strict=True)
            if blank.id in kept.missing
        )
        part = replace(found.job, job=replace(job, blanks=blanks, stock=stock), needs=needs)
        try:
            layouts = order_layouts([*layouts, *plan_one(part, worth, effort).plan.layouts])
        except NothingToCutError:
            return found
    other = with_layouts(found.plan, layouts) if layouts else found.plan
    if other is found.plan or check_plan(other, job):
        return found
    other = plan_as_sawn(other)
    wishes = wishes_for(worth, found.job.material, found.job.grid, job)
    costs = [plan.cost if wishes is None else weigh(job, plan.layouts, wishes).total for plan in (other, found.plan)]
    return MaterialPlan(found.job, other) if costs[0] < costs[1] else found


SHARE = 100
"""A board already bought counts as a hundredth of its price: used before a new one, but not wasted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StockRow:
    """A kind of board, sheet or roll: planned, cut so far, used from those on hand, left over of those bought, and to
    buy now. `price` is that of the old list, or of the lumberyard if it is new.
    """

    material: Material
    what: str
    price: Money
    planned: int = 0
    cut: int = 0
    used: int = 0
    left: int = 0
    buy: int = 0


@dataclass(frozen=True, slots=True)
class PieceRow:
    """A size of piece: its use, and the number cut and good, needed now, still to be cut, and cut needlessly."""

    material: Material
    size: tuple[Length, Length]
    what: tuple[str, ...]
    cut: int
    wanted: int

    @property
    def to_cut(self) -> int:
        """The number of pieces still to cut."""
        return max(0, self.wanted - self.cut)

    @property
    def over(self) -> int:
        """The number cut that are no longer needed."""
        return max(0, self.cut - self.wanted)


class MaterialRest:
    """One material: the old plan with the pieces cut, and the current need."""

    def __init__(self, material: Material, old: Written, job: MaterialJob | None, tally: Tally, batch: Batch) -> None:
        self.material, self.job, self.batch = material, job, batch
        self.plan = old.plans.get(material)
        self.old_blanks = () if self.plan is None else self.plan.job.blanks
        self.old_stock = () if self.plan is None else self.plan.job.stock
        self.blanks = () if job is None else job.job.blanks
        self.offers = () if job is None else job.offers
        self.prices = {line.what: line.price for line in old.bought if line.group == material.name}
        self.bought = {line.what: line.count for line in old.bought if line.group == material.name}
        self.done = {n: times for (of, n), times in tally.done.items() if of == material}
        self.failed = {blank: n for (of, blank), n in tally.failed.items() if of == material}
        if self.plan is not None and job is not None and self.plan.job.unit != job.job.unit:
            given, wanted = f"a plan in {self.plan.job.unit}", f"one in {job.job.unit}"
            raise InputError(Problem("recount, --plan", given, wanted, "Use the unit of the design."))

    def cut(self) -> Counter[Size]:
        """Good pieces that were cut, by size."""
        counts: Counter[Size] = Counter()
        if self.plan is None:
            return counts
        sizes = {blank.id: size_of(blank) for blank in self.plan.job.blanks}
        for n, times in self.done.items():
            for piece in self.plan.layouts[n].pieces:
                counts[sizes[piece.id]] += times
        for blank, failed in self.failed.items():
            counts[sizes[blank]] -= failed
        return counts

    def served(self) -> Counter[str]:
        """Finished pieces that serve the current need, by blank: for their original use, then any part of equal
        size."""
        own: Counter[str] = Counter()
        for n, times in self.done.items():
            for piece in self.plan.layouts[n].pieces if self.plan is not None else ():
                own[piece.id] += times
        own.subtract(self.failed)
        sizes = {blank.id: size_of(blank) for blank in self.old_blanks}
        left = self.cut()
        served: Counter[str] = Counter()
        for blank in self.blanks:
            if sizes.get(blank.id) == size_of(blank):
                served[blank.id] = min(own[blank.id], blank.count)
                left[size_of(blank)] -= served[blank.id]
        for blank in self.blanks:
            more = min(left[size_of(blank)], blank.count - served[blank.id])
            served[blank.id] += more
            left[size_of(blank)] -= more
        return served

    def wanted(self) -> Counter[Size]:
        """Pieces needed now, by size."""
        counts: Counter[Size] = Counter()
        for blank in self.blanks:
            counts[size_of(blank)] += blank.count
        return counts

    def piece_rows(self) -> Iterable[PieceRow]:
        """Every size that was cut or is needed."""
        grid = self._grid()
        cut, wanted = self.cut(), self.wanted()
        names: dict[Size, list[str]] = {}
        for blank in (*self.blanks, *self.old_blanks):
            names.setdefault(size_of(blank), [])
            if blank.id not in names[size_of(blank)]:
                names[size_of(blank)].append(blank.id)
        for each in names:
            if cut[each] or wanted[each]:
                lengths = (grid * each[0], grid * each[1])
                yield PieceRow(self.material, lengths, tuple(names[each]), cut[each], wanted[each])

    def _grid(self) -> Length:
        if self.job is not None:
            return self.job.grid
        if self.material.mesh is not None:
            return self.material.mesh.pitch
        return inch("1/64") if self.batch.unit == "in" else millimetre("1/10")

    def on_hand(self) -> dict[str, int]:
        """Boards bought for the old plan but not cut yet, by stock; offcuts do not count as bought."""
        if self.plan is None:
            return {}
        names = {offer.id: offer.what for offer in self.batch.lumberyard.offers}
        cut, planned = self._cut_boards(), times_of(self.plan)
        return {
            stock: max(count, self.bought.get(names.get(stock, stock), 0)) - cut[stock]
            for stock, count in planned.items()
            if not stock.startswith("offcut_")
        }

    def _cut_boards(self) -> Counter[str]:
        counts: Counter[str] = Counter()
        for n, times in self.done.items():
            if self.plan is not None:
                counts[self.plan.layouts[n].stock] += times
        return counts

    def rest(self, is_bought: bool, with_offcuts: bool) -> MaterialJob | None:
        """The job of the missing pieces, from stock on hand and for sale; None if nothing is missing."""
        if self.job is None:
            return None
        served = self.served()
        blanks, needs = [], []
        for blank, need in zip(self.job.job.blanks, self.job.needs, strict=True):
            count = blank.count - served[blank.id]
            if count:
                blanks.append(replace(blank, count=count))
                needs.append(replace(need, count=count))
        if not blanks:
            return None
        stock, offers = self._stock(is_bought)
        if with_offcuts and self.plan is not None and self.material.is_made_to_size:
            more = self._offcuts()
            stock, offers = (*more[0], *stock), (*more[1], *offers)
        job = replace(self.job.job, blanks=tuple(blanks), stock=stock)
        return replace(self.job, job=job, needs=tuple(needs), offers=offers)

    def kept(self, job: MaterialJob, is_bought: bool) -> Kept | None:
        """The layouts of the old plan that are not cut yet, for the job of the rest; None without an old plan."""
        if self.plan is None:
            return None
        own = {stock.id for stock in job.job.stock}

        def named(stock: str) -> str:
            return _name(stock) if is_bought and _name(stock) in own else stock

        return kept_layouts(self.plan, self.done, job.job, named)

    def is_as_it_was(self, job: MaterialJob) -> bool:
        """Whether the job is the old plan's own, including every price and count."""
        return self.plan is not None and self.plan.job == job.job

    def costs_as_before(self, job: MaterialJob) -> bool:
        """Whether every stock of the old plan is still available at its price."""
        now = {stock.id: stock.cost for stock in job.job.stock}
        return all(now.get(stock.id) == stock.cost for stock in self.old_stock)

    def _stock(self, is_bought: bool) -> tuple[tuple[Stock, ...], tuple[Offer, ...]]:
        """Stock already bought, before stock for sale and the remaining offcuts."""
        assert self.job is not None
        if self.plan is None or not is_bought:
            return self.job.job.stock, self.job.offers
        used, cut, bought = times_of(self.plan), self._cut_boards(), self.on_hand()
        stock: list[Stock] = []
        offers = list(self.job.offers)
        for row in self.plan.job.stock:
            if bought.get(row.id):
                cost = -(-row.cost // SHARE)
                stock.append(replace(row, id=_name(row.id), cost=cost, count=bought[row.id]))
                offers.append(self._bought_offer(row, bought[row.id], cost))
        for row in self.job.job.stock:
            gone = cut[row.id] if row.id.startswith("offcut_") else used[row.id]
            if row.count is None or row.count > gone:
                stock.append(row if row.count is None else replace(row, count=row.count - gone))
        return tuple(stock), tuple(offers)

    def _bought_offer(self, row: Stock, count: int, cost: int) -> Offer:
        own = next((offer for offer in self.batch.lumberyard.offers if offer.id == row.id), None)
        worth = Money(cost, self.batch.lumberyard.currency)
        if own is not None:
            return replace(own, id=_name(row.id), what=f"{own.what}, bought", price=worth, count=count, label="bought")
        grid = self._grid()
        long, wide = grid * row.length, grid * (row.width or 0)
        return Offer(
            id=_name(row.id),
            material=self.material,
            what=f"{row.id}, bought",
            length=long,
            width=wide,
            price=worth,
            count=count,
            label="bought",
        )

    def _offcuts(self) -> tuple[tuple[Stock, ...], tuple[Offer, ...]]:
        """The offcuts of the boards that were cut, if large enough to keep."""
        assert self.plan is not None
        grid, saw = self._grid(), self.batch.saw
        least = [-int(-each.mm // grid.mm) for each in (saw.shortest_offcut, saw.narrowest_offcut)]
        end = -int(-saw.least_end_trim.mm // grid.mm) if self.material.is_lumber else 0
        counts: Counter[Size] = Counter()
        for n, times in self.done.items():
            for rest in leftovers(self.plan.job, self.plan.layouts[n], *least):
                counts[rest.length, rest.width] += times
        stock, offers = [], []
        for (length, width), count in sorted(counts.items(), reverse=True):
            what = f"offcut {(grid * width).number()} x {(grid * length).number()}"
            stock.append(
                Stock(id=what, length=length, cost=0, width=width, count=count, end_trim=end if end * 2 < length else 0)
            )
            worth = Money(0, self.batch.lumberyard.currency)
            offers.append(
                Offer(
                    id=what,
                    material=self.material,
                    what=what,
                    length=grid * length,
                    width=grid * width,
                    price=worth,
                    count=count,
                    label="offcut",
                )
            )
        return tuple(stock), tuple(offers)

    def stock_rows(self, is_bought: bool, used: Counter[str]) -> Iterable[StockRow]:
        """Every kind of stock in the old plan or the new one."""
        offers = {offer.id: offer for offer in self.offers}
        planned = Counter[str]() if self.plan is None else times_of(self.plan)
        old = {row.id: row for row in self.old_stock}
        cut, bought = self._cut_boards(), self.on_hand() if is_bought else {}
        for each in dict.fromkeys((*planned, *(row for row in used if row in offers))):
            offer = offers.get(each)
            what = each if offer is None else offer.what
            price = self.prices.get(what, old[each].cost if each in old else 0)
            if offer is not None and each not in old:
                price = offer.price.minor
            is_offcut = each.startswith("offcut_")
            again = used[_name(each)]
            yield StockRow(
                material=self.material,
                what=what,
                price=Money(price, self.batch.lumberyard.currency),
                planned=planned[each],
                cut=cut[each],
                used=again + (used[each] if is_offcut else 0),
                left=bought.get(each, 0) - again,
                buy=0 if is_offcut else used[each],
            )


def times_of(plan: Plan) -> Counter[str]:
    """The number of each stock in the layouts of a plan."""
    counts: Counter[str] = Counter()
    for layout in plan.layouts:
        counts[layout.stock] += layout.times
    return counts


def _name(stock: str) -> str:
    return f"bought {stock}"


@dataclass(frozen=True, slots=True)
class GoodsRow:
    """A pack: the number on the old buy list, the number of those unopened, the number to buy now."""

    goods: str
    what: str
    price: Money
    _: KW_ONLY
    planned: int
    left: int
    buy: int


@dataclass(frozen=True, slots=True)
class GoodsToBuy:
    """Packs of the old list, purchases now, goods that no lumberyard sells, old packs in no file, goods on hand."""

    rows: tuple[GoodsRow, ...]
    purchases: tuple[Purchase, ...]
    unpriced: tuple[Unpriced, ...]
    unknown: tuple[str, ...]
    there: Mapping[str, Fraction]


def goods_of(old: Written, batch: Batch, units: tuple[Unit, ...], is_bought: bool) -> GoodsToBuy:
    """The goods, minus what was bought. Of packs left over, the most expensive are assumed unopened."""
    packs = {pack.what: pack for pack in batch.lumberyard.packs}
    cut = {material.name for material in old.plans}
    listed = [line for line in old.bought if line.group not in cut]
    there = [line for line in listed if line.what in packs and is_bought]
    held: dict[str, Fraction] = {}
    for line in there:
        held[line.group] = held.get(line.group, Fraction(0)) + size(packs[line.what]) * line.count
    needed = {goods: (amount, why) for goods, amount, why in amounts(batch, units)}
    closed: dict[str, int] = {}
    more: list[Purchase] = []
    unpriced: list[Unpriced] = []
    for goods in dict.fromkeys((*needed, *held)):
        amount, why = needed.get(goods, (Fraction(0), ""))
        spare = held.get(goods, Fraction(0)) - amount
        sold = [pack for pack in batch.lumberyard.packs if pack.goods == goods]
        words = f"{why}, less the units on hand" if goods in held else why
        if spare < 0 and sold:
            more += packs_bought(sold, -spare, words)
        elif spare < 0:
            unpriced.append(Unpriced(goods, words))
        for line in sorted((line for line in there if line.group == goods), key=_dearest):
            hold = size(packs[line.what])
            closed[line.what] = min(line.count, int(spare // hold)) if hold and spare > 0 else 0
            spare -= hold * closed[line.what]
    now = {purchase.what: purchase for purchase in more}
    rows = [
        GoodsRow(
            line.group,
            line.what,
            Money(line.price, old.currency),
            planned=line.count,
            left=closed.get(line.what, 0),
            buy=now.pop(line.what).count if line.what in now else 0,
        )
        for line in listed
    ]
    rows += [GoodsRow(p.group, what, p.price, planned=0, left=0, buy=p.count) for what, p in now.items()]
    unknown = tuple(line.what for line in listed if line.what not in packs and is_bought)
    return GoodsToBuy(tuple(rows), tuple(more), tuple(unpriced), unknown, held)


def _dearest(line: Bought) -> int:
    return -line.price
