"""Plans the rest of a material at the lowest cost, and with the fewest changes to boards of the earlier plan.

First, the earlier layouts that are not cut yet are kept, and only the missing pieces are planned, on the other stock.
Then boards are released singly, in pairs and so on, and their pieces are planned together with the missing pieces. A
board stays released only if that saves money. A plan from scratch shows the most that can be saved. It is left out if
the bound already shows that nothing can be saved, or if the job is too large. Last, the layouts of all these plans are
recombined.
"""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import combinations_with_replacement

from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.layouts.fewer_layouts import with_layouts
from woodshop.cutting.layouts.weigh import weigh
from woodshop.cutting.model.job import Blank, Direction, Stock, job_digest
from woodshop.cutting.model.plan import Effort, Layout, Piece, Plan, cost_of, order_layouts, order_pieces
from woodshop.cutting.order.sequence import as_sawn
from woodshop.cutting.planner.plan_job import plan_of_layouts
from woodshop.cutting.planner.solver import Model, SolverFailedError, solve_whole
from woodshop.design.settings.buying import Worth, wishes_for
from woodshop.errors import NothingToCutError
from woodshop.plan.plan_batch import is_large, plan_one
from woodshop.plan.values import MaterialJob, MaterialPlan

TRIES: dict[Effort, int] = {"quick": 24, "default": 60, "long": 600}
"""How many sets of released boards are planned, for each effort.

A job that is not small gets a fifth of this number.
"""
_SMALL = 40  # pieces
_NODES = 2_000

Size = tuple[int, int]


@dataclass(frozen=True, slots=True)
class FaultyStock:
    """Stock of the new job that is shorter than bought, or has bad stretches.

    `of` is the stock of the earlier plan that it was bought as. `layout` is the earlier layout that it was bought for,
    or None if not known.
    """

    id: str
    of: str
    layout: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RestOfPlan:
    """The rest of one material: its job, the earlier plan, and how many boards of each layout are `left` to cut.

    `names` has, for each stock of the earlier plan, its ids in the job: stock on hand first, then stock for sale.
    `worth` is the price of each stock on hand; stock not in `worth` is for sale. `noticed` are the layouts whose boards
    turned out to be bad.
    """

    job: MaterialJob
    earlier: Plan
    left: tuple[int, ...]
    names: Mapping[str, tuple[str, ...]]
    faulty: tuple[FaultyStock, ...]
    worth: Mapping[str, int]
    noticed: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastChange:
    """The plan of the rest of a material, and how it changes the earlier layouts.

    For each layout of the plan, `numbers` has the index of the earlier layout that it continues, or None; `like` has
    the index of an earlier layout with the same cuts, perhaps on other stock. `boards` counts the boards that were
    still to be cut, and `kept` those of them that are cut as planned. `to_buy` is the cost of the stock to buy. If the
    search found another plan, which keeps more boards but costs more, `fewer` is the number of boards it changes and
    its additional cost. `could_save` is the most that any other plan can save.
    """

    plan: MaterialPlan
    numbers: tuple[int | None, ...]
    like: tuple[int | None, ...]
    boards: int
    kept: int
    to_buy: int
    could_save: int
    fewer: tuple[int, int] | None = None


@dataclass(frozen=True, slots=True)
class _Board:
    """A board of an earlier layout, as used in the rest. `is_whole`: no pieces are left out or renamed."""

    layout: int
    stock: str
    first: Direction | None
    pieces: tuple[Piece, ...]
    is_whole: bool

    def on(self, stock: str, times: int = 1) -> Layout:
        return Layout(stock, times, self.pieces, self.first)


@dataclass(frozen=True, slots=True)
class _Found:
    """A way to cut the rest: layouts, cost to buy, value of on-hand stock used, number of boards not cut as planned."""

    layouts: tuple[Layout, ...]
    to_buy: int
    used: int
    changed: int


def size_of(blank: Blank) -> Size:
    """The length and width of a blank. If it may be turned, the longer side comes first."""
    width = blank.width or 0
    return (max(blank.length, width), min(blank.length, width)) if blank.rotate else (blank.length, width)


def _first_of(layout: int | None) -> Callable[[_Board], tuple[bool, int]]:
    """A sort key for boards: boards of this layout come first."""
    return lambda board: (board.layout != layout, board.layout)


def least_change(rest: RestOfPlan, worth: Worth | None, effort: Effort) -> LeastChange:
    """The cheapest plan found for the rest.

    Of equally cheap plans, it is the one that changes the fewest boards of the earlier plan. Raises NothingToCutError
    if the stock is short.
    """
    return _Search(rest, worth, effort).run()


class _Search:
    def __init__(self, rest: RestOfPlan, worth: Worth | None, effort: Effort) -> None:
        self.rest, self.worth, self.effort = rest, worth, effort
        self.job = rest.job.job
        self.stock = {stock.id: stock for stock in self.job.stock}
        self.sawn: dict[tuple[object, ...], Layout | None] = {}
        self.known: dict[tuple[object, ...], tuple[Layout, ...] | None] = {}
        self.boards, self.missing = self._boards()
        self.is_cut_down = any(not board.is_whole for board in self.boards) or sum(self.boards.values()) < sum(
            rest.left
        )
        self.wishes = wishes_for(worth, rest.job.material, rest.job.grid, self.job)
        is_small = sum(blank.count for blank in self.job.blanks) <= _SMALL
        self.tries = TRIES[effort] if is_small else TRIES[effort] // 5

    def run(self) -> LeastChange:
        bound = plan_of_layouts(self.job, (), self.rest.earlier.certificate)
        options: list[_Found] = []
        forced = self._forced()
        self._level(forced, options, None)
        free: MaterialPlan | None = None
        is_whole = bool(options) and not (self.missing or self.is_cut_down or options[0].changed or options[0].to_buy)
        if not is_whole and not (options and self._is_least(options[0], bound.bound)):
            if not options or self.is_cut_down or not is_large(self.rest.job):
                free = plan_one(self.rest.job, self.worth, self.effort)
                bound = free.plan
            target = None if free is None else self._found(free.plan.layouts)
            if target is None or not options or self._cost(target) < min(map(self._cost, options)):
                more = forced + 1 if options else forced
                while self.tries > 0 and more <= sum(self.boards.values()):
                    self._level(more, options, target)
                    if options and self._is_enough(min(options, key=self._key), target, bound.bound):
                        break
                    more += 1
            if target is not None:
                options.append(target)
            if min(options, key=self._key).changed > forced and (mixed := self._recombined(options)) is not None:
                options.append(mixed)
        best = min(options, key=self._key)
        return self._least_change(best, options, bound)

    # ---- the earlier boards ----------------------------------------------------------------------

    def _boards(self) -> tuple[Counter[_Board], Counter[str]]:
        """The earlier boards that are not cut yet, and the needed pieces that they lack.

        Pieces are assigned to needed blanks of their size. Other pieces become spares if the job keeps spares;
        otherwise they are left out.
        """
        rest, job = self.rest, self.job
        needed = Counter({blank.id: blank.count for blank in job.blanks})
        by_size: dict[Size, list[str]] = {}
        for blank in job.blanks:
            by_size.setdefault(size_of(blank), []).append(blank.id)
        sizes = {blank.id: size_of(blank) for blank in rest.earlier.job.blanks}
        boards: Counter[_Board] = Counter()
        for n, layout in enumerate(rest.earlier.layouts):
            for _ in range(rest.left[n]):
                board = self._served(n, layout, needed, sizes, by_size)
                if board is not None:
                    boards[board] += 1
        return boards, +needed

    def _served(
        self,
        n: int,
        layout: Layout,
        needed: Counter[str],
        sizes: Mapping[str, Size],
        by_size: Mapping[Size, list[str]],
    ) -> _Board | None:
        """A board of a layout, with only the pieces that are still needed. They are subtracted from `needed`.

        None if the board has no needed pieces, or can no longer be sawn.
        """
        pieces: list[Piece] = []
        taken: Counter[str] = Counter()
        for piece in layout.pieces:
            alike = by_size.get(sizes[piece.id], [])
            order = [piece.id, *alike] if piece.id in alike else alike
            wanting = None if piece.spare else next((name for name in order if needed[name] > taken[name]), None)
            if wanting is not None:
                taken[wanting] += 1
                pieces.append(replace(piece, id=wanting))
            elif self.job.rules.surplus == "spare" and alike:
                pieces.append(replace(piece, id=order[0], spare=True))
        if not taken:
            return None
        whole = order_pieces(pieces)
        is_whole = whole == layout.pieces
        for name in self.rest.names.get(layout.stock, ()):
            if (sawn := self._sawn(Layout(name, 1, whole, layout.first))) is not None:
                needed.subtract(taken)
                return _Board(n, layout.stock, layout.first, sawn.pieces, is_whole and sawn.pieces == layout.pieces)
        if any(each.of == layout.stock for each in self.rest.faulty):
            needed.subtract(taken)
            return _Board(n, layout.stock, layout.first, whole, is_whole)
        return None

    def _sawn(self, layout: Layout) -> Layout | None:
        """The layout in sawing order, if it can be cut from its stock under the job's rules."""
        key = self._cuts(layout.stock, layout.first, layout.pieces)
        if key not in self.sawn:
            self.sawn[key] = self._saw(layout)
        return self.sawn[key]

    def _saw(self, layout: Layout) -> Layout | None:
        counts = Counter(piece.id for piece in layout.pieces if not piece.spare)
        blanks = tuple(
            replace(blank, count=max(1, counts[blank.id]))
            for blank in self.job.blanks
            if blank.id in {piece.id for piece in layout.pieces}
        )
        job = replace(self.job, stock=(self.stock[layout.stock],), blanks=blanks)
        try:
            sawn = as_sawn(job, layout)
        except ValueError:
            return None
        cost = cost_of(job, (sawn,))
        made = Plan(
            job=job,
            job_digest=job_digest(job),
            cost=cost,
            bound=0,
            bound_kind="area",
            assurance="within",
            gap=cost,
            layouts=(sawn,),
        )
        return None if any(fault.code != "plan-count" for fault in check_plan(made)) else sawn

    # ---- sets of released boards -----------------------------------------------------------------

    def _room(self, stock: str) -> int | None:
        """How many boards of an earlier stock, without faults, are on hand or for sale. None if there is no limit."""
        counts = [self.stock[name].count for name in self.rest.names.get(stock, ())]
        return None if None in counts else sum(count or 0 for count in counts)

    def _forced(self) -> int:
        """The smallest number of boards that cannot be cut as planned, because their stock is lacking."""
        kinds: Counter[str] = Counter()
        for board, count in self.boards.items():
            kinds[board.stock] += count
        faulty: Counter[str] = Counter()
        for each in self.rest.faulty:
            if any(self._fits(board, each) for board in self.boards):
                faulty[each.of] += self.stock[each.id].count or 0
        return sum(
            max(0, count - room - faulty[stock])
            for stock, count in kinds.items()
            if (room := self._room(stock)) is not None
        )

    def _fits(self, board: _Board, faulty: FaultyStock) -> bool:
        if board.stock != faulty.of:
            return False
        sawn = self._sawn(board.on(faulty.id))
        return sawn is not None and sawn.pieces == board.pieces

    def _level(self, size: int, options: list[_Found], target: _Found | None) -> None:
        """Tries every set of `size` released boards, as long as tries are left."""
        for released in self._sets(size):
            if self.tries <= 0 and options:
                return
            self.tries -= 1
            found = self._without(released)
            if found is not None:
                options.append(found)
                if found.to_buy == 0 and not self.is_cut_down and self.wishes is None:
                    return

    def _sets(self, size: int) -> Iterator[Counter[_Board]]:
        """All sets of `size` boards. Boards of layouts whose boards are missing or bad come first."""
        short = {each.of for each in self.rest.faulty}
        totals: Counter[str] = Counter()
        for board, count in self.boards.items():
            totals[board.stock] += count
        for stock, count in totals.items():
            there = sum(self.stock[n].count or 0 for n in self.rest.names.get(stock, ()) if n in self.rest.worth)
            if count > there:
                short.add(stock)
        order = sorted(
            self.boards,
            key=lambda b: (
                b.layout not in self.rest.noticed,
                b.stock not in short,
                b.is_whole,
                len(b.pieces),
                b.layout,
            ),
        )
        for chosen in combinations_with_replacement(order, size):
            released = Counter(chosen)
            if all(count <= self.boards[board] for board, count in released.items()):
                yield released

    def _without(self, released: Counter[_Board]) -> _Found | None:
        """The rest with these boards released and all others kept. None if this cannot be cut."""
        kept = self.boards - released
        placed = self._placed(kept)
        if placed is None:
            return None
        wanted = Counter(self.missing)
        for board, count in released.items():
            for piece in board.pieces:
                if not piece.spare:
                    wanted[piece.id] += count
        used: Counter[str] = Counter()
        for layout in placed:
            used[layout.stock] += layout.times
        more: tuple[Layout, ...] = ()
        if wanted:
            stock = tuple(
                each if each.count is None else replace(each, count=each.count - used[each.id])
                for each in self.job.stock
                if each.count is None or each.count > used[each.id]
            )
            sub = self._planned(wanted, stock)
            if sub is None:
                return None
            more = sub
        return self._found((*placed, *more))

    def _place_of(self, board: _Board) -> tuple[bool, int, str]:
        """A sort key for boards: layouts whose own board turned out to be bad come last, to get the new board."""
        return board.layout in self.rest.noticed, board.layout, str(board.pieces)

    def _placed(self, kept: Counter[_Board]) -> list[Layout] | None:
        """Layouts for the kept boards: first on stock on hand, then on faulty boards that fit, last on new stock."""
        layouts: list[Layout] = []
        by_stock: dict[str, list[tuple[_Board, int]]] = {}
        for board, count in sorted(kept.items(), key=lambda each: self._place_of(each[0])):
            by_stock.setdefault(board.stock, []).append((board, count))
        for stock, boards in by_stock.items():
            names = self.rest.names.get(stock, ())
            free = {name: self.stock[name].count for name in names}
            left = Counter(dict(boards))
            excess = sum(left.values()) - sum(free[n] or 0 for n in names if n in self.rest.worth)
            for each in self.rest.faulty:
                room = min(self.stock[each.id].count or 0, max(0, excess))
                for board in sorted(left, key=_first_of(each.layout)):
                    times = min(room, left[board])
                    if times and self._fits(board, each):
                        layouts.append(board.on(each.id, times))
                        left[board] -= times
                        room, excess = room - times, excess - times
            for board, count in (+left).items():
                todo = count
                for name in names:
                    own = free[name]
                    times = todo if own is None else min(todo, own)
                    if times:
                        layouts.append(board.on(name, times))
                        todo -= times
                        free[name] = None if own is None else own - times
                if todo:
                    return None
        return layouts

    def _planned(self, wanted: Counter[str], stock: tuple[Stock, ...]) -> tuple[Layout, ...] | None:
        key = (tuple(sorted(wanted.items())), tuple((each.id, each.count) for each in stock))
        if key not in self.known:
            self.known[key] = self._plan(wanted, stock)
        return self.known[key]

    def _plan(self, wanted: Counter[str], stock: tuple[Stock, ...]) -> tuple[Layout, ...] | None:
        whole = self.rest.job
        rows = [
            (replace(blank, count=wanted[blank.id]), replace(need, count=wanted[blank.id]))
            for blank, need in zip(self.job.blanks, whole.needs, strict=True)
            if wanted[blank.id]
        ]
        if not stock:
            return None
        job = replace(self.job, blanks=tuple(blank for blank, _ in rows), stock=stock)
        part = replace(whole, job=job, needs=tuple(need for _, need in rows))
        try:
            return plan_one(part, self.worth, "quick").plan.layouts
        except NothingToCutError:
            return None

    def _recombined(self, options: list[_Found]) -> _Found | None:
        """The cheapest choice among all options' layouts, with the most boards kept.

        None if the plan is not chosen by cost alone, or if no choice is found.
        """
        if self.wishes is not None:
            return None
        fresh = dict.fromkeys(Layout(lay.stock, 1, lay.pieces, lay.first) for each in options for lay in each.layouts)
        columns = [(lay, None) for lay in fresh] + [
            (board.on(name), board)
            for board in self.boards
            for name in (
                *self.rest.names.get(board.stock, ()),
                *(each.id for each in self.rest.faulty if self._fits(board, each)),
            )
        ]
        limits: list[tuple[int | None, int | None]] = []
        rows: dict[object, int] = {}
        for blank in self.job.blanks:
            rows["blank", blank.id] = len(limits)
            limits.append((blank.count, blank.count))
        for stock in self.job.stock:
            if stock.count is not None:
                rows["stock", stock.id] = len(limits)
                limits.append((None, stock.count))
        for board, count in self.boards.items():
            rows["board", board] = len(limits)
            limits.append((None, count))
        sold = {each.id: each.cost for each in self.job.stock if each.id not in self.rest.worth}
        aims = [tuple(sold.get(layout.stock, 0) for layout, _ in columns)]
        if self.is_cut_down:
            aims.append(tuple(self.rest.worth.get(layout.stock, 0) for layout, _ in columns))
        aims.append(tuple(0 if board is None else -1 for _, board in columns))
        entries: list[tuple[tuple[int, int], ...]] = []
        for n, (layout, own) in enumerate(columns):
            held = Counter(piece.id for piece in layout.pieces if not piece.spare)
            column = [(rows["blank", name], count) for name, count in held.items()]
            column += [(rows["stock", layout.stock], 1)] if ("stock", layout.stock) in rows else []
            column += [(rows["board", own], 1)] if own is not None else []
            entries.append((*column, *((len(limits) + k, aim[n]) for k, aim in enumerate(aims) if aim[n])))
        best: list[tuple[int | None, int | None]] = [(None, None)] * len(aims)
        counts: tuple[int, ...] | None = None
        for k, aim in enumerate(aims):
            try:
                model = Model(aim, tuple(entries), (*limits, *best))
                answer = solve_whole(model, nodes=_NODES, absolute_gap=0.5, hint=counts)
            except SolverFailedError:
                break
            if answer.counts is None:
                break
            counts = answer.counts
            best[k] = (None, sum(each * count for each, count in zip(aim, counts, strict=True)))
        if counts is None:
            return None
        return self._found(
            tuple(replace(lay, times=count) for (lay, _), count in zip(columns, counts, strict=True) if count)
        )

    # ---- comparing -------------------------------------------------------------------------------

    def _found(self, layouts: tuple[Layout, ...]) -> _Found:
        merged: Counter[tuple[str, Direction | None, tuple[Piece, ...]]] = Counter()
        for layout in layouts:
            merged[layout.stock, layout.first, layout.pieces] += layout.times
        own = order_layouts([Layout(stock, times, pieces, first) for (stock, first, pieces), times in merged.items()])
        to_buy = sum(self.stock[lay.stock].cost * lay.times for lay in own if lay.stock not in self.rest.worth)
        used = sum(self.rest.worth.get(lay.stock, 0) * lay.times for lay in own)
        return _Found(own, to_buy, used, sum(self.boards.values()) - self._kept(own))

    def _kept(self, layouts: tuple[Layout, ...]) -> int:
        """How many boards are cut as in the earlier plan."""
        left = Counter({self._cuts(board.stock, board.first, board.pieces): 0 for board in self.boards})
        for board, count in self.boards.items():
            left[self._cuts(board.stock, board.first, board.pieces)] += count
        return self._matched(layouts, left)

    def _matched(self, layouts: tuple[Layout, ...], left: Counter[tuple[object, ...]]) -> int:
        """How many boards of the layouts have cuts that are in `left`. Subtracts these boards from `left`."""
        matched = 0
        for layout in layouts:
            key = self._cuts(self._base(layout.stock), layout.first, layout.pieces)
            times = min(layout.times, left[key])
            left[key] -= times
            matched += times
        return matched

    def _base(self, stock: str) -> str:
        """The stock of the earlier plan that this stock was bought as, or equals."""
        for each in self.rest.faulty:
            if each.id == stock:
                return each.of
        return next((own for own, names in self.rest.names.items() if stock in names), stock)

    @staticmethod
    def _cuts(stock: str, first: Direction | None, pieces: tuple[Piece, ...]) -> tuple[object, ...]:
        return (stock, first, pieces)

    def _cost(self, found: _Found) -> tuple[int, int]:
        """The costs to compare: first money or the weighted sum, then (if pieces became unneeded) the stock used."""
        if self.wishes is not None:
            return weigh(self.job, found.layouts, self.wishes).total, 0
        return found.to_buy, found.used if self.is_cut_down else 0

    def _key(self, found: _Found) -> tuple[tuple[int, int], int, int, int]:
        return self._cost(found), found.changed, found.used, len(found.layouts)

    def _is_least(self, found: _Found, bound: int) -> bool:
        """Whether the bound alone shows that no plan can cost less."""
        if self.wishes is not None or self.is_cut_down:
            return False
        return found.to_buy <= self._least_to_buy(found.to_buy, bound)

    def _is_enough(self, found: _Found, target: _Found | None, bound: int) -> bool:
        return self._is_least(found, bound) or (target is not None and self._cost(found) <= self._cost(target))

    def _least_to_buy(self, most: int, bound: int) -> int:
        """The least sum of whole prices, up to `most`, that reaches the bound minus the cost of all stock on hand."""
        on_hand = sum(each.cost * (each.count or 0) for each in self.job.stock if each.id in self.rest.worth)
        least = max(0, bound - on_hand)
        if least == 0 or least >= most:
            return min(least, most)
        reached = 1  # bit n: whether some prices add up to n
        for price in {each.cost for each in self.job.stock if each.id not in self.rest.worth and each.cost}:
            step = price
            while step <= most:
                reached |= reached << step
                step *= 2
            reached &= (1 << (most + 1)) - 1
        above = reached >> least
        return least + (above & -above).bit_length() - 1 if above else most

    def _least_change(self, best: _Found, options: list[_Found], bound: Plan) -> LeastChange:
        plan = with_layouts(bound, best.layouts)
        if plan.gap < 0:  # the solver's bound belongs to a plan that turned out to cost more
            plan = plan_of_layouts(self.job, best.layouts, self.rest.earlier.certificate)
        numbers, like = self._numbers(best.layouts)
        order = sorted(
            range(len(best.layouts)), key=lambda n: (numbers[n] is None, numbers[n] if numbers[n] is not None else n)
        )
        plan = replace(plan, layouts=tuple(best.layouts[n] for n in order))
        closer = [each for each in options if each.changed < best.changed]
        fewer = None
        if closer:
            other = min(closer, key=self._key)
            fewer = (other.changed, self._cost(other)[0] - self._cost(best)[0])
        least = 0 if self.wishes is not None else self._least_to_buy(best.to_buy, bound.bound)
        return LeastChange(
            plan=MaterialPlan(self.rest.job, plan),
            numbers=tuple(numbers[n] for n in order),
            like=tuple(like[n] for n in order),
            boards=sum(self.rest.left),
            kept=sum(self.boards.values()) - best.changed - self._cut_down(best.layouts),
            to_buy=best.to_buy,
            could_save=best.to_buy - least,
            fewer=fewer,
        )

    def _cut_down(self, layouts: tuple[Layout, ...]) -> int:
        """How many of the kept boards lack pieces, or have pieces that are now used for other parts."""
        part = Counter({self._cuts(b.stock, b.first, b.pieces): n for b, n in self.boards.items() if not b.is_whole})
        return self._matched(layouts, part)

    def _numbers(self, layouts: tuple[Layout, ...]) -> tuple[list[int | None], list[int | None]]:
        """For each layout, the earlier layout that it continues, and an earlier layout with the same cuts (or None)."""
        known = {self._cuts(lay.stock, lay.first, lay.pieces): n for n, lay in enumerate(self.rest.earlier.layouts)}
        left = Counter(dict(enumerate(self.rest.left)))
        taken: set[int] = set()
        numbers: list[int | None] = []
        like: list[int | None] = []
        for layout in sorted(layouts, key=lambda lay: lay.stock not in self.rest.worth):
            n = known.get(self._cuts(self._base(layout.stock), layout.first, layout.pieces))
            is_faulty = any(each.id == layout.stock for each in self.rest.faulty)
            is_same = n is not None and n not in taken and not is_faulty and layout.times <= left[n]
            if is_same and n is not None:
                taken.add(n)
            numbers.append(n if is_same else None)
            like.append(n)
        order = sorted(range(len(layouts)), key=lambda i: layouts[i].stock not in self.rest.worth)
        back = sorted(range(len(order)), key=lambda i: order[i])
        return [numbers[i] for i in back], [like[i] for i in back]
