"""One material in the rest of a plan: pieces kept, stock on hand, and pieces still missing."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import count as count_from

from woodshop.cutting.model.job import Blank, Job, Stock
from woodshop.cutting.model.plan import Plan
from woodshop.cutting.order.sequence import leftovers
from woodshop.design.batch import Batch
from woodshop.design.lumberyard.lumberyard_file import ON_HAND, Offer
from woodshop.errors import InputError, Problem
from woodshop.plan.rest.earlier_plan import EarlierPlan, KeptPieces
from woodshop.plan.rest.least_change import FaultyStock, RestOfPlan, Size, size_of
from woodshop.plan.rest.progress import BoardFault, PieceChange, WorkDone
from woodshop.plan.values import MaterialJob
from woodshop.reference.materials import Material
from woodshop.units.lengths import Length, Money, inch, millimetre

SHARE = 100
"""A board already bought counts at 1/SHARE of its price, so that it is used before a new one, but not wasted."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StockRow:
    """A kind of board, sheet or roll, and its numbers.

    The numbers are `planned`, `cut` so far, `bad` (unusable or unlike what was bought), `used` and `left` over (of
    those on hand), and `buy` (still to be bought). `price` is from the earlier list, or from the lumberyard file if the
    stock is new.
    """

    material: Material
    stock: str
    what: str
    price: Money
    planned: int = 0
    cut: int = 0
    bad: int = 0
    used: int = 0
    left: int = 0
    buy: int = 0
    is_offcut: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceRow:
    """A size of piece: its use, and the numbers cut, gone (spoiled or lost), found or made extra, and needed now."""

    material: Material
    size: tuple[Length, Length]
    what: tuple[str, ...]
    cut: int
    gone: int
    more: int
    wanted: int

    @property
    def good(self) -> int:
        """The number on hand."""
        return self.cut - self.gone + self.more

    @property
    def to_cut(self) -> int:
        """The number of pieces still to cut."""
        return max(0, self.wanted - self.good)

    @property
    def over(self) -> int:
        """The number on hand that are no longer needed. They are offcuts now."""
        return max(0, self.good - self.wanted)


class MaterialRest:
    """One material: the earlier plan, the work done on it, and the current need."""

    def __init__(
        self, material: Material, earlier: EarlierPlan, job: MaterialJob | None, work: WorkDone, batch: Batch
    ) -> None:
        self.material, self.job, self.batch = material, job, batch
        self.plan: Plan | None = earlier.plans.get(material)
        self.kept = [row for row in earlier.kept if row.material == material]
        self.old_sizes = {blank.id: size_of(blank) for blank in (self.plan.job.blanks if self.plan else ())}
        self.old_sizes |= {row.address: row.size for row in self.kept}
        self.old_stock = {} if self.plan is None else {stock.id: stock for stock in self.plan.job.stock}
        self.at_hand = earlier.at_hand.get(material, ())
        self.numbers = earlier.numbers.get(material, ())
        self.prices = {line.stock: line.price for line in earlier.bought if line.group == material.name}
        self.names = {line.stock: line.what for line in earlier.bought if line.group == material.name}
        self.done = {n: times for (of, n), times in work.cut.items() if of == material}
        self.changes = {(blank, change): n for (of, blank, change), n in work.changes.items() if of == material}
        self.held = {stock: n for (of, stock), n in work.held.items() if of == material}
        self.faults = [(stock, fault) for of, stock, fault in work.faults if of == material]
        self.offcuts = [offcut for of, offcut in work.offcuts if of == material]
        self.keeps_offcuts = work.keeps_offcuts
        if self.plan is not None and job is not None and self.plan.job.unit != job.job.unit:
            given, wanted = f"a plan in {self.plan.job.unit}", f"one in {job.job.unit}"
            raise InputError(Problem("the earlier plan", given, wanted, "Use the unit of the design."))

    # ---- pieces ----------------------------------------------------------------------------------

    def made(self) -> Counter[str]:
        """Pieces cut so far, by blank of the earlier plan, including spoiled and spare pieces."""
        counts = Counter({row.address: row.count for row in self.kept})
        for n, times in self.done.items():
            for piece in self.plan.layouts[n].pieces if self.plan is not None else ():
                counts[piece.id] += times
        return counts

    def _changed(self, blank: str, *changes: PieceChange) -> int:
        return sum(self.changes.get((blank, change), 0) for change in changes)

    def good(self) -> Counter[str]:
        """Good pieces on hand, by blank of the earlier plan."""
        counts = self.made()
        for blank in self.old_sizes:
            counts[blank] += self._changed(blank, "found", "made extra") - self._changed(blank, "spoiled", "lost")
        return counts

    @property
    def sizes(self) -> dict[str, Size]:
        """The size of each blank needed now."""
        return {} if self.job is None else {blank.id: size_of(blank) for blank in self.job.job.blanks}

    def served(self) -> Counter[str]:
        """Pieces on hand that meet the current need, by blank.

        They are assigned first to their original use, then to any part of equal size.
        """
        own = self.good()
        left = _by_size(own, self.old_sizes)
        blanks = () if self.job is None else self.job.job.blanks
        served: Counter[str] = Counter()
        for blank in blanks:
            if self.old_sizes.get(blank.id) == size_of(blank):
                served[blank.id] = max(0, min(own[blank.id], blank.count, left[size_of(blank)]))
                left[size_of(blank)] -= served[blank.id]
        for blank in blanks:
            more = max(0, min(left[size_of(blank)], blank.count - served[blank.id]))
            served[blank.id] += more
            left[size_of(blank)] -= more
        return served

    def served_rows(self) -> Iterable[KeptPieces]:
        """The pieces on hand that meet the current need."""
        served = self.served()
        for need in () if self.job is None else self.job.needs:
            if served[need.address]:
                size = self.sizes[need.address]
                yield KeptPieces(self.material, need.address, need.mark, size, served[need.address])

    def rack(self) -> Counter[Size]:
        """Kept pieces that are not needed, by size. They are offcuts now."""
        left = _by_size(self.good(), self.old_sizes)
        left.subtract(_by_size(self.served(), self.sizes))
        return +left

    def piece_rows(self) -> Iterable[PieceRow]:
        """Every size that was cut or is needed."""
        grid, old, now = self.grid, self.old_sizes, self.sizes
        made = _by_size(self.made(), old)
        gone = _by_size(Counter({blank: self._changed(blank, "spoiled", "lost") for blank in old}), old)
        more = _by_size(Counter({blank: self._changed(blank, "found", "made extra") for blank in old}), old)
        blanks = () if self.job is None else self.job.job.blanks
        wanted = _by_size(Counter({blank.id: blank.count for blank in blanks}), now)
        names: dict[Size, dict[str, None]] = {}
        for name, size in (*now.items(), *old.items()):
            names.setdefault(size, {})[name] = None
        for each, what in names.items():
            if made[each] or wanted[each] or more[each]:
                yield PieceRow(
                    material=self.material,
                    size=(grid * each[0], grid * each[1]),
                    what=tuple(what),
                    cut=made[each],
                    gone=gone[each],
                    more=more[each],
                    wanted=wanted[each],
                )

    @property
    def grid(self) -> Length:
        """The length of one unit of the material's jobs."""
        if self.job is not None:
            return self.job.grid
        if self.material.mesh is not None:
            return self.material.mesh.pitch
        return inch("1/64") if self.batch.unit == "in" else millimetre("1/10")

    # ---- stock -----------------------------------------------------------------------------------

    def cut_boards(self) -> Counter[str]:
        """Boards cut so far, by the earlier plan's stock."""
        counts: Counter[str] = Counter()
        for n, times in self.done.items():
            if self.plan is not None:
                counts[self.plan.layouts[n].stock] += times
        return counts

    def bad_boards(self) -> Counter[str]:
        """Boards found unusable or unlike what was bought, by the earlier plan's stock."""
        counts: Counter[str] = Counter()
        for stock, fault in self.faults:
            counts[stock] += fault.count
        return counts

    def on_hand(self) -> Counter[str]:
        """Boards on hand without faults and not cut yet, by the earlier plan's stock."""
        left = Counter(self.held)
        left.subtract(self.cut_boards())
        left.subtract(self.bad_boards())
        return +left

    def rest(self) -> RestOfPlan | None:
        """The job for the missing pieces, from stock on hand and stock for sale. None if no pieces are missing."""
        if self.job is None:
            return None
        served = self.served()
        rows = [
            (replace(blank, count=blank.count - served[blank.id]), replace(need, count=blank.count - served[blank.id]))
            for blank, need in zip(self.job.job.blanks, self.job.needs, strict=True)
            if blank.count > served[blank.id]
        ]
        if not rows:
            return None
        shelf = _Shelf(self)
        shelf.bought()
        shelf.faulty()
        shelf.offcuts(tuple(blank for blank, _ in rows))
        shelf.for_sale()
        rules = self.job.job.rules
        if self.material.is_lumber and any(stock.unusable for stock in shelf.stock):
            rules = replace(rules, defects="cut_out")
        job = replace(self.job.job, blanks=tuple(blank for blank, _ in rows), stock=tuple(shelf.stock), rules=rules)
        made = replace(self.job, job=job, needs=tuple(need for _, need in rows), offers=tuple(shelf.offers))
        left = [layout.times - self.done.get(n, 0) for n, layout in enumerate(self.plan.layouts if self.plan else ())]
        names = {stock: tuple(own) for stock, own in shelf.names.items()}
        return RestOfPlan(
            job=made,
            earlier=self.plan or _no_plan(job),
            left=tuple(left),
            names=names,
            faulty=tuple(shelf.faults),
            worth=shelf.worth,
            noticed=frozenset(
                self.numbers.index(fault.layout) for _, fault in self.faults if fault.layout in self.numbers
            ),
        )

    def is_as_it_was(self, rest: RestOfPlan) -> bool:
        """Whether the job equals the earlier plan's, including every price and count. The order of stock may differ."""
        if self.plan is None:
            return False
        own, now = (sorted(job.stock, key=lambda row: row.id) for job in (self.plan.job, rest.job.job))
        return own == now and replace(self.plan.job, stock=rest.job.job.stock) == rest.job.job

    def price_of(self, stock: str) -> int:
        """The price of a board, in cents, from the buy list, else the lumberyard file, else the earlier plan."""
        if stock in self.prices:
            return self.prices[stock]
        bare = stock.removeprefix(BOUGHT)
        own = next((offer.price.minor for offer in self.batch.lumberyard.offers if offer.id == bare), None)
        return own if own is not None else self.old_stock[stock].cost if stock in self.old_stock else 0

    def called(self, stock: str) -> str:
        """The name of a board of the earlier plan, from the buy list, else the lumberyard file; otherwise its id."""
        offers = {offer.id: offer.what for offer in self.batch.lumberyard.offers}
        bare, fault, _ = stock.removeprefix(BOUGHT).partition(FAULT)
        code = chalked(stock)
        set_aside = f", set aside{f', {self.material.how_marked} {code}' if code else ''}" if fault else ""
        return self.names.get(stock) or f"{offers.get(bare, bare)}{set_aside}"

    def stock_rows(self, used: Counter[str], *, is_bought: bool) -> Iterable[StockRow]:
        """Every kind of stock in the earlier plan or the new one.

        `used` counts the stock that the new plan uses, by id. `is_bought` says whether anything on the earlier buy list
        was bought. If not, `planned` counts the planned boards; otherwise it counts the boards that were bought or on
        hand.
        """
        planned = Counter(self.held) if is_bought else times_of(self.plan)
        cut, bad, there = self.cut_boards(), self.bad_boards(), self.on_hand()
        own = {offer.id for offer in self.job.offers} if self.job is not None else set()
        pool = Counter(used)
        for each in dict.fromkeys((*planned, *(row for row in used if row in own))):
            bare = each.removeprefix(BOUGHT)
            what = self.called(each)
            is_there = each in self.at_hand
            name = on_hand_name(each, self.at_hand)
            again = min(there[each], pool[name])
            pool[name] -= again
            yield StockRow(
                material=self.material,
                stock=each,
                what=f"{what}, bought before" if bare != each else what,
                price=Money(self.price_of(each), self.batch.lumberyard.currency),
                planned=planned[each],
                cut=cut[each],
                bad=bad[each],
                used=again,
                left=there[each] - again,
                buy=0 if is_there else used[each],
                is_offcut=is_there and bare == each,
            )


class _Shelf:
    """The stock of the new job: boards bought, boards with faults, offcuts, then stock for sale."""

    def __init__(self, of: MaterialRest) -> None:
        assert of.job is not None
        self.of, self.job, self.currency = of, of.job, of.batch.lumberyard.currency
        self.stock: list[Stock] = []
        self.offers: list[Offer] = []
        self.names: dict[str, list[str]] = {}
        self.faults: list[FaultyStock] = []
        self.worth: dict[str, int] = {}

    def add(self, row: Stock, offer: Offer, worth: int) -> None:
        """Adds stock on hand, with its value in cents."""
        self.stock.append(row)
        self.offers.append(replace(offer, id=row.id, count=row.count, price=Money(row.cost, self.currency)))
        self.worth[row.id] = worth

    def bought(self) -> None:
        """Adds boards bought and not cut, and the earlier plan's offcuts that are not cut.

        Boards of one kind that were bought for two plans become one stock.
        """
        there = self.of.on_hand()
        merged: Counter[str] = Counter()
        kinds: dict[str, str] = {}
        for stock, count in there.items():
            name = on_hand_name(stock, self.of.at_hand)
            merged[name] += count
            kinds.setdefault(name, stock)
            self.names.setdefault(stock, []).append(name)
        for name, count in merged.items():
            row = self._raw(kinds[name])
            self.add(replace(row, id=name, count=count), self._offer(name, row), self._worth(kinds[name]))

    def faulty(self) -> None:
        """Adds boards that are shorter than bought, or have bad stretches."""
        rows: dict[tuple[str, Stock, int | None, str], int] = {}
        for stock, fault in self.of.faults:
            row = None if fault.is_unusable else self._altered(self._raw(stock), fault)
            if row is not None:
                layout = None
                if fault.layout is not None and fault.layout in self.of.numbers:
                    layout = self.of.numbers.index(fault.layout)
                key = stock, row, layout, fault.board
                rows[key] = rows.get(key, 0) + fault.count
        known = {each.partition(FAULT)[2].partition(", ")[0] for each in self.of.old_stock}
        free = (str(n) for n in count_from(1) if str(n) not in known)
        for (stock, row, layout, board), count in rows.items():
            code = board or chalked(stock)
            name = f"{on_hand_name(stock, self.of.at_hand)}{FAULT}{next(free)}{f', {code}' if code else ''}"
            self.add(replace(row, id=name, count=count), self._offer(name, row), self._worth(stock))
            self.faults.append(FaultyStock(name, stock, layout))

    def offcuts(self, blanks: tuple[Blank, ...]) -> None:
        """Adds offcuts on hand: those listed, those kept from boards that were cut, and pieces that are not needed."""
        if not self.of.material.is_made_to_size and self.of.material.is_lumber:
            return
        end = self._end_trim()
        for offcut in self.of.offcuts:
            long, wide = self._down(offcut.length), self._down(offcut.width)
            bad = tuple(self._span(*each) for each in offcut.bad)
            self._piece(f"offcut {offcut.label}".rstrip(), (long, wide), offcut.count, end, bad)
        if self.of.keeps_offcuts and self.of.plan is not None:
            saw, counts = self.of.batch.saw, Counter[Size]()
            least = [-int(-each.mm // self.of.grid.mm) for each in (saw.shortest_offcut, saw.narrowest_offcut)]
            for n, times in self.of.done.items():
                for each in leftovers(self.of.plan.job, self.of.plan.layouts[n], *least):
                    counts[each.length, each.width] += times
            for size, count in sorted(counts.items(), reverse=True):
                self._piece("offcut", size, count, end, ())
        smallest = min(min(size_of(blank)) for blank in blanks)
        shortest = min(max(size_of(blank)) for blank in blanks)
        for size, count in sorted(self.of.rack().items(), reverse=True):
            if max(size) >= shortest and min(size) >= smallest:
                self._piece("piece left over", size, count, 0, ())

    def for_sale(self) -> None:
        """Adds the other stock of the current job: stock at the lumberyard, and stock newly on hand.

        A limited count is reduced by the boards already bought.
        """
        bought = Counter({stock: n for stock, n in self.of.held.items() if stock not in self.of.at_hand})
        for row in self.job.job.stock:
            if row.id in self.of.at_hand and self.of.plan is not None:
                continue  # was on hand for the earlier plan, so it is already added
            count = None if row.count is None else row.count - bought[row.id]
            if count is not None and count <= 0:
                continue
            offer = next(each for each in self.job.offers if each.id == row.id)
            self.stock.append(replace(row, count=count))
            self.offers.append(offer)
            if offer.label:
                self.worth[row.id] = row.cost
            for name in {row.id, f"{BOUGHT}{row.id}"}:
                if name in self.of.old_stock:
                    self.names.setdefault(name, []).append(row.id)

    def _raw(self, stock: str) -> Stock:
        """A board of the earlier plan as stock of the new job.

        On-hand stock that is still in the current job gets its trims. A board that was bought costs 1/SHARE of its
        price.
        """
        old = self.of.old_stock[stock]
        now = next((row for row in self.job.job.stock if row.id == stock.removeprefix(BOUGHT)), None)
        if stock in self.of.at_hand:
            return old if now is None else replace(now, cost=old.cost if now.id != stock else now.cost, count=old.count)
        return replace(old, cost=-(-old.cost // SHARE))

    def _worth(self, stock: str) -> int:
        is_offcut = stock in self.of.at_hand and not stock.startswith(BOUGHT)
        return self.of.old_stock[stock].cost if is_offcut else self.of.price_of(stock)

    def _offer(self, name: str, row: Stock) -> Offer:
        """The offer that describes a board on hand: its name, size, bad stretches, and the code chalked on it."""
        bare, fault, _ = name.removeprefix(BOUGHT).partition(FAULT)
        own = next((offer for offer in self.of.batch.lumberyard.offers if offer.id == bare), None)
        if own is None:
            own = self._new(bare, row)
        elif not own.label:
            own = replace(own, what=f"{own.what}, bought", label=ON_HAND)
        if not fault:
            return own
        grid, code = self.of.grid, chalked(name)
        length = grid * row.length
        words = [own.what, f"{length.text(self.of.batch.unit)} long" + " with a bad stretch" * bool(row.unusable)]
        words += [f"{self.of.material.how_marked} {code}"] * bool(code)
        bad = tuple((grid * low, grid * high) for low, high in row.unusable)
        return replace(own, what=", ".join(words), length=length, bad=bad, chalked=code)

    def _new(self, what: str, row: Stock) -> Offer:
        grid = self.of.grid
        return Offer(
            id=row.id,
            material=self.of.material,
            what=what,
            length=grid * row.length,
            width=grid * (row.width or 0),
            price=Money(row.cost, self.currency),
            count=row.count,
            label="offcut",
        )

    def _altered(self, raw: Stock, fault: BoardFault) -> Stock | None:
        """A board with its true length and its bad stretches. None if no part of it can be used."""
        length = raw.length if fault.length is None else min(raw.length, self._down(fault.length))
        spans = [*((low, high) for low, high in raw.unusable), *(self._span(*each) for each in fault.bad)]
        inside = sorted((low, min(high, length)) for low, high in spans if low < length)
        merged: list[tuple[int, int]] = []
        for low, high in inside:
            if merged and low <= merged[-1][1]:
                merged[-1] = (merged[-1][0], max(merged[-1][1], high))
            else:
                merged.append((low, high))
        if length <= 2 * raw.end_trim or merged == [(0, length)]:
            return None
        return replace(raw, length=length, unusable=tuple(merged))

    def _piece(self, what: str, size: Size, count: int, end: int, bad: tuple[tuple[int, int], ...]) -> None:
        grid = self.of.grid
        name = f"{what} {(grid * size[1]).number()} x {(grid * size[0]).number()}"
        if any(row.id == name for row in self.stock):
            rows = [n for n, row in enumerate(self.stock) if row.id == name]
            old = self.stock[rows[0]]
            if old.unusable == bad and old.length == size[0]:
                self.stock[rows[0]] = replace(old, count=(old.count or 0) + count)
                self.offers[rows[0]] = replace(self.offers[rows[0]], count=(old.count or 0) + count)
                return
            name = f"{name}, {len(self.stock)}"
        trim = end if end * 2 < size[0] else 0
        wide = size[1] if self.job.job.is_flat else None
        row = Stock(id=name, length=size[0], cost=0, width=wide, count=count, end_trim=trim, unusable=bad)
        if size[0] > 0 and size[1] > 0 and bad != ((0, size[0]),):
            self.add(row, self._new(name, row), 0)

    def _end_trim(self) -> int:
        if not self.of.material.is_lumber:
            return 0
        return -int(-self.of.batch.saw.least_end_trim.mm // self.of.grid.mm)

    def _down(self, length: Length) -> int:
        mesh = self.of.material.mesh
        if mesh is not None:
            return max(0, (length - mesh.wire) // mesh.pitch)
        return length // self.of.grid

    def _span(self, low: Length, high: Length) -> tuple[int, int]:
        return low // self.of.grid, -int(-high.mm // self.of.grid.mm)


def _by_size(counts: Counter[str], sizes: Mapping[str, Size]) -> Counter[Size]:
    found: Counter[Size] = Counter()
    for name, size in sizes.items():
        found[size] += counts[name]
    return found


BOUGHT, FAULT = "bought ", ", fault "


def chalked(stock: str) -> str:
    """The code chalked on a board that was set aside, from its id, or "" if it has none."""
    return stock.rpartition(FAULT)[2].partition(", ")[2] if FAULT in stock else ""


def on_hand_name(stock: str, at_hand: Iterable[str]) -> str:
    """The id in the new job of a board on hand, from its id in the earlier plan."""
    return stock if stock in at_hand else f"{BOUGHT}{stock}"


def times_of(plan: Plan | None) -> Counter[str]:
    """The number of boards of each stock in the layouts of a plan."""
    counts: Counter[str] = Counter()
    for layout in plan.layouts if plan is not None else ():
        counts[layout.stock] += layout.times
    return counts


def _no_plan(job: Job) -> Plan:
    """An empty plan, for a material that is not in the earlier plan."""
    return Plan(
        job=job,
        job_digest="",
        cost=0,
        bound=0,
        bound_kind="area",
        assurance="within",
        gap=0,
        layouts=(),
    )
