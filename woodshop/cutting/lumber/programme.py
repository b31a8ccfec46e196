"""The program of a job in several thicknesses: home boards, the layouts of each, and the ways to buy and divide stock.

A region of a job of one thickness is cut from stock; here the stock of each thickness are home boards, which are made
by buying. A purchase is one bought board with its division and resawing. So a plan is a choice of purchases and
patterns in which every home board that is cut is also bought. A long home board may stand for a shorter one.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from math import gcd

from woodshop.cutting.lumber.dividing import NeededPart, divide, shortest_of, takes_home_whole
from woodshop.cutting.model.job import Job, Stock
from woodshop.cutting.model.lumber_job import Lumber, LumberJob, home_board
from woodshop.cutting.planner.knapsack import Key, empty_table, lays_of, spread_of, sums_of, with_item
from woodshop.cutting.planner.network import Network, build_network, sizes_of
from woodshop.cutting.planner.pricing import Column, Entry, Programme, programme_of
from woodshop.cutting.planner.solver import Model

Kind = tuple[int, int]
"""A kind of home board: the number of its thickness, and of its stock in that thickness's job."""


@dataclass(frozen=True, slots=True)
class BoardPurchase:
    """One board of stock `stock`, the parts that it is divided into, and the cost of all of it."""

    stock: int
    needs: tuple[NeededPart, ...]
    cost: int


@dataclass(frozen=True, slots=True)
class HomeBoards:
    """Every kind of home board that is considered: for each thickness its job, network and chains.

    `kinds` has, for each stock, the kind that each need becomes. `chains` are kinds that differ only in length, from
    the shortest to the longest. `is_all` says whether no other length can make a plan cheaper.
    """

    jobs: tuple[Job, ...]
    networks: tuple[Network, ...]
    kinds: tuple[dict[NeededPart, Kind], ...]
    chains: tuple[tuple[Kind, ...], ...]
    is_all: bool


@dataclass(frozen=True, slots=True)
class LumberProgramme:
    """The model, whose columns are, in order: the layouts of each thickness, shortenings, purchases.

    `size_rows` has the row of each size of each thickness, `board_rows` that of each kind, `stock_rows` that of each
    limited stock. `shortenings` are pairs of kinds, the longer first.
    """

    model: Model
    layouts: tuple[tuple[int, Column], ...]
    shortenings: tuple[tuple[Kind, Kind], ...]
    purchases: tuple[BoardPurchase, ...]
    size_rows: tuple[tuple[int, ...], ...]
    board_rows: dict[Kind, int]
    stock_rows: dict[int, int]


def home_boards(job: LumberJob, most_lengths: int) -> HomeBoards:
    """The home boards of a job, with at most `most_lengths` lengths of parts for each stock and thickness."""
    words = tuple(dict.fromkeys(job.thicknesses))
    stock: list[list[Stock]] = [[] for _ in words]
    found: dict[tuple[object, ...], Kind] = {}
    kinds: list[dict[NeededPart, Kind]] = []
    is_all = True
    for lumber in job.lumber:
        own: dict[NeededPart, Kind] = {}
        for way in range(-1, len(lumber.resaw)):
            resaw = lumber.resaw[way] if way >= 0 else None
            word = lumber.thickness if resaw is None else resaw.thickness
            if word not in words:
                continue
            t = words.index(word)
            lengths: list[int | None] = [None] if takes_home_whole(lumber, way) else []
            if lumber.cuts is not None:
                parts, is_whole = _part_lengths(job.of_thickness(word, (lumber.stock,)), lumber, way, most_lengths)
                lengths += parts
                is_all &= is_whole
            for length in lengths:
                board = replace(home_board(lumber, resaw, length).stock, count=1)
                key = (t, replace(board, id=""))
                if key not in found:
                    found[key] = (t, len(stock[t]))
                    stock[t].append(board)
                own[NeededPart(length, way)] = found[key]
        kinds.append(own)
    longest_rip = job.base.rules.longest_rip
    longest = [
        min(own.stock.length, own.cuts.longest or own.stock.length) for own in job.lumber if own.cuts is not None
    ]
    if longest_rip is not None and max(longest, default=0) > longest_rip:
        is_all = False  # a part too long to rip is divided at home, which is not tried where it can be avoided
    jobs = tuple(job.of_thickness(word, tuple(own)) for word, own in zip(words, stock, strict=True))
    networks = tuple(build_network(own) if own.stock else Network(sizes_of(own), (), (), True) for own in jobs)
    return HomeBoards(jobs, networks, tuple(kinds), _chains(jobs), is_all and all(n.complete for n in networks))


def _part_lengths(job: Job, lumber: Lumber, way: int, most: int) -> tuple[list[int], bool]:
    """The useful lengths of parts at home, and whether they are all."""
    own, stock, rules = lumber.cuts, lumber.stock, job.rules
    assert own is not None
    trim, rough, kx = stock.end_trim, own.rough, job.kerf.crosscut
    longest = min(stock.length, own.longest or stock.length) - min(trim, rough) - rough
    width = 1 if stock.width is None else stock.width - 2 * stock.edge_trim
    groups: dict[int, dict[int, int]] = {}
    sections = job.is_flat and (job.cutting.first != "along" or job.cutting.stages == 3)
    is_long = rules.longest_rip is not None and longest > rules.longest_rip
    for size in sizes_of(job):
        for length, across, _ in lays_of(size):
            if across > width or length > longest:
                continue
            widths = {0} if sections or is_long or job.cutting.final_trim else {across}
            for group in widths:
                counts = groups.setdefault(group, {})
                counts[length] = counts.get(length, 0) + size.count
    is_all = not is_long and (job.cutting.stages == 2 or not job.is_flat)
    sums: set[int] = set()
    for counts in groups.values():
        more, is_whole = sums_of(counts, longest, kx)
        sums |= more
        is_all &= is_whole
    if rules.shortest_rip is not None and sums and rules.shortest_rip <= longest:
        sums.add(rules.shortest_rip)
    least = shortest_of(lumber, way) - rough - max(trim, rough)  # a shorter part takes as much of the board
    short = [length for length in sums if length < least]
    sums = (sums - set(short)) | ({max(1, least)} if short and least <= longest else set())
    ordered = sorted(sums or {longest} if longest > 0 else sums)  # where nothing fits, a board to compare it with
    if len(ordered) > most:
        is_all = False
        ordered = sorted({*spread_of(ordered, most, longest, own.kerf + 2 * rough, stock.length), ordered[0]})
    return ordered, is_all


def _chains(jobs: Sequence[Job]) -> tuple[tuple[Kind, ...], ...]:
    groups: dict[tuple[object, ...], list[tuple[int, Kind]]] = {}
    for t, job in enumerate(jobs):
        for v, stock in enumerate(job.stock):
            if not stock.end_trim and not stock.unusable:
                most = job.rules.longest_rip
                is_long = most is not None and stock.length > most  # ripped only in sections
                groups.setdefault((t, is_long, replace(stock, id="", length=1)), []).append((stock.length, (t, v)))
    return tuple(tuple(kind for _, kind in sorted(group)) for group in groups.values() if len(group) > 1)


def priced(job: LumberJob, stock: int, needs: Sequence[NeededPart]) -> BoardPurchase | None:
    """The purchase of one board for these needs, or None if it cannot be divided so."""
    lumber = job.lumber[stock]
    division = divide(lumber, needs, job.base.rules.longest_rip)
    if division is None:
        return None
    resaws = sum(lumber.resaw[need.way].cost for need in needs if need.way >= 0)
    return BoardPurchase(stock, tuple(sorted(needs, key=_order)), lumber.stock.cost + division.cost + resaws)


def _order(need: NeededPart) -> tuple[int, int]:
    return (need.length or 0, need.way)


def all_purchases(job: LumberJob, boards: HomeBoards, limit: int) -> list[BoardPurchase] | None:
    """Every purchase that gives home boards, or None if they are many: more than four times `limit` would be tried."""
    found: list[BoardPurchase] = []
    tried = 0
    for j, lumber in enumerate(job.lumber):
        needs = sorted(boards.kinds[j], key=_order)
        parts = [need for need in needs if need.length is not None]
        todo: list[tuple[tuple[NeededPart, ...], int]] = [((need,), 0) for need in needs if need.length is None]
        todo += [((need,), n) for n, need in enumerate(parts)]
        while todo:
            chosen, start = todo.pop()
            tried += 1
            if tried > 4 * limit:
                return None
            purchase = priced(job, j, chosen)
            if purchase is not None:
                found.append(purchase)
            if chosen[0].length is None or lumber.cuts is None:
                continue
            used = sum((need.length or 0) + 2 * min(lumber.cuts.rough, lumber.stock.end_trim) for need in chosen)
            if used + len(chosen) * lumber.cuts.kerf > lumber.stock.length:
                continue  # even one more part of no length is too much
            todo += [((*chosen, parts[n]), n) for n in range(start, len(parts))]
    return found


def near_purchases(
    job: LumberJob,
    boards: HomeBoards,
    worth: Mapping[Kind, int],
    rents: Sequence[int],
    room: int,
    scale: int,
    most: int,
) -> list[tuple[BoardPurchase, int]] | None:
    """Every purchase that costs at most `room` more than its home boards are worth, and by how much it does.

    Amounts are in 1/`scale`; `rents` are added to the costs of stock. A part that can be longer, for no more, is left
    out. Returns None if more than `most` would have to be tried.
    """
    found: list[tuple[BoardPurchase, int]] = []
    tried = 0
    for j, lumber in enumerate(job.lumber):
        gains = {}
        for need, kind in boards.kinds[j].items():
            some, cost = (lumber.resaw[need.way].boards, lumber.resaw[need.way].cost) if need.way >= 0 else (1, 0)
            gains[need] = some * worth[kind] - cost * scale
        least = lumber.stock.cost * scale + rents[j] - room
        needs = sorted((need for need in gains if gains[need] > 0), key=_order)
        parts = [need for need in needs if need.length is not None and lumber.cuts is not None]
        # Each part but the first takes a cut at least; what is paid for it is taken off the gain of every part.
        paid, free = (lumber.cuts.cost * scale, lumber.cuts.free_cuts) if lumber.cuts is not None else (0, 0)
        values = _value_table(lumber, [(need, gains[need] - paid) for need in parts if gains[need] > paid])
        longer = {a: b for a, b in pairwise(sorted(parts, key=lambda n: (n.way, n.length or 0))) if a.way == b.way}
        todo: list[tuple[tuple[NeededPart, ...], int, int, int]] = [
            ((need,), 0, 0, gains[need]) for need in needs if need.length is None
        ]
        todo += [((), len(parts), 0, 0)] if parts else []
        while todo:
            chosen, last, used, gain = todo.pop()
            tried += 1
            if tried > most:
                return None
            cuts = max(0, len(chosen) - 1 - free)
            purchase = priced(job, j, chosen) if chosen and gain >= least + paid * cuts else None
            if purchase is not None:
                resaws = sum(lumber.resaw[need.way].cost for need in chosen if need.way >= 0)
                loss = scale * (purchase.cost - resaws) + rents[j] - gain
                if loss <= room and not any(_is_as_cheap(job, purchase, need, longer) for need in set(chosen)):
                    found.append((purchase, loss))
            if chosen and chosen[0].length is None:
                continue
            for n in range(min(last + 1, len(parts))):
                size = _least_room(lumber, parts[n])
                if used + size >= len(values):
                    continue
                more = gain + gains[parts[n]]
                most_more = more - paid * (len(chosen) - free) + values[len(values) - 1 - used - size]
                if most_more >= least:
                    todo.append(((*chosen, parts[n]), n, used + size, more))
    return found


def _is_as_cheap(
    job: LumberJob, purchase: BoardPurchase, need: NeededPart, longer: Mapping[NeededPart, NeededPart]
) -> bool:
    """Whether this part can be longer, as the next of its kind, at no more cost."""
    if need not in longer:
        return False
    needs = list(purchase.needs)
    needs[needs.index(need)] = longer[need]
    other = priced(job, purchase.stock, needs)
    return other is not None and other.cost <= purchase.cost


def _least_room(lumber: Lumber, need: NeededPart) -> int:
    """What a part takes of a board at least, with a kerf."""
    assert lumber.cuts is not None
    ends = 2 * min(lumber.stock.end_trim, lumber.cuts.rough)
    return max((need.length or 0) + ends, shortest_of(lumber, need.way)) + lumber.cuts.kerf


def _value_table(lumber: Lumber, gains: Sequence[tuple[NeededPart, int]]) -> list[int]:
    """The most that parts are worth within each length of a board, without its cuts."""
    if lumber.cuts is None:
        return []
    top = lumber.stock.length + lumber.cuts.kerf
    table = empty_table(top, top * max((gain for _, gain in gains), default=0))
    for size, gain in sorted({(_least_room(lumber, need), gain) for need, gain in gains}):
        table = with_item(table, size, top // size, gain, keep=False)
    return table if isinstance(table, list) else list(table.tolist())


def yields_of(job: LumberJob, boards: HomeBoards, purchase: BoardPurchase) -> dict[Kind, int]:
    """How many of each kind of home board a purchase gives."""
    total: dict[Kind, int] = {}
    for need in purchase.needs:
        kind = boards.kinds[purchase.stock][need]
        some = job.lumber[purchase.stock].resaw[need.way].boards if need.way >= 0 else 1
        total[kind] = total.get(kind, 0) + some
    return total


def lumber_programme(
    job: LumberJob,
    boards: HomeBoards,
    columns: Sequence[Sequence[Column]],
    purchases: Sequence[BoardPurchase],
    known: list[dict[Column, Entry]],
) -> LumberProgramme:
    """The program of these patterns and purchases. `known` keeps entries of patterns, one table for each thickness."""
    costs: list[int] = []
    entries: list[Entry] = []
    rows: list[tuple[int | None, int | None]] = []
    layouts: list[tuple[int, Column]] = []
    size_rows: list[tuple[int, ...]] = []
    board_rows: dict[Kind, int] = {}
    for t, (own, network) in enumerate(zip(boards.jobs, boards.networks, strict=True)):
        part: Programme = programme_of(own, network, columns[t], is_whole=False, known=known[t])
        start = len(rows)
        size_rows.append(tuple(start + part.row_of["size", i] for i in range(len(network.sizes))))
        for v in range(len(own.stock)):
            board_rows[t, v] = start + part.row_of["stock", v]
        made = {part.row_of[key] for key in _stock_keys(own)}
        rows += [(None, 0) if n in made else row for n, row in enumerate(part.model.rows)]
        entries += [tuple((start + row, value) for row, value in entry) for entry in part.model.columns]
        costs += [0] * len(part.columns)
        layouts += [(t, column) for column in part.columns]
    shortenings = [(longer, shorter) for chain in boards.chains for shorter, longer in pairwise(chain)]
    for longer, shorter in shortenings:
        costs.append(0)
        entries.append(((board_rows[longer], 1), (board_rows[shorter], -1)))
    stock_rows: dict[int, int] = {}
    for j, lumber in enumerate(job.lumber):
        if lumber.stock.count is not None:
            stock_rows[j] = len(rows)
            rows.append((None, lumber.stock.count))
    for purchase in purchases:
        entry = [(board_rows[kind], -some) for kind, some in yields_of(job, boards, purchase).items()]
        if purchase.stock in stock_rows:
            entry.append((stock_rows[purchase.stock], 1))
        costs.append(purchase.cost)
        entries.append(tuple(sorted(entry)))
    model = Model(tuple(costs), tuple(entries), tuple(rows))
    return LumberProgramme(
        model, tuple(layouts), tuple(shortenings), tuple(purchases), tuple(size_rows), board_rows, stock_rows
    )


def _stock_keys(job: Job) -> list[Key]:
    return [("stock", v) for v in range(len(job.stock))]


def cost_step(job: LumberJob) -> int:
    """The common divisor of all costs; the cost of every plan is a multiple of it."""
    step = gcd(*(lumber.stock.cost for lumber in job.lumber), *(way.cost for own in job.lumber for way in own.resaw))
    return gcd(step, *(lumber.cuts.cost for lumber in job.lumber if lumber.cuts is not None)) or 1
