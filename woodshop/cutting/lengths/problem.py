"""The one-dimensional part of a job: lengths to cut from stock that is never ripped.

A job is one-dimensional if it has no widths, or if every blank is as wide as every stock. One kerf is added to each
length and to each stock, so that pieces fit if their sum is at most the room.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import gcd

from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Layout
from woodshop.cutting.planner.assemble import Counted, CutRegion, Leaf, Tree, finish
from woodshop.cutting.planner.network import Network

Counts = tuple[int, ...]
"""How often each length is in a pattern, in the order of `Lengths.sizes`."""
Cut = tuple[int, Counts]
"""A kind of stock (a number in `Lengths`) and the lengths that are cut from one piece of it."""


@dataclass(frozen=True, slots=True)
class Lengths:
    """Lengths with their kerf, longest first, the wanted count of each, and the stock: room, cost and maximum count.

    All lengths are in one unit, the largest possible. `size_of` and `stock_of` give the index of each length in the
    network and of each stock in the job.
    """

    sizes: tuple[int, ...]
    wanted: tuple[int, ...]
    rooms: tuple[int, ...]
    costs: tuple[int, ...]
    limits: tuple[int | None, ...]
    size_of: tuple[int, ...]
    stock_of: tuple[int, ...]

    @property
    def step(self) -> int:
        """The common divisor of all costs."""
        return gcd(*self.costs) or 1

    def cost(self, cuts: Sequence[tuple[Cut, int]]) -> int:
        """The cost of counted cuts."""
        return sum(self.costs[stock] * times for (stock, _), times in cuts)

    def room_left(self, cut: Cut) -> int:
        """The room that a cut leaves unused."""
        return self.rooms[cut[0]] - sum(size * count for size, count in zip(self.sizes, cut[1], strict=True))


def lengths_of(job: Job, network: Network) -> Lengths | None:
    """The job as a problem of lengths only, or None if widths matter too or stock has more than one usable stretch."""
    if any(size.rotate or size.width != board.width for size in network.sizes for board in network.boards):
        return None
    if any(len(board.segments) > 1 for board in network.boards):
        return None
    kerf = job.kerf.crosscut
    shortest = min(size.length for size in network.sizes)
    stock_of = [j for j, board in enumerate(network.boards) if board.segments and board.segments[0][1] >= shortest]
    size_of = sorted(range(len(network.sizes)), key=lambda i: -network.sizes[i].length)
    sizes = [network.sizes[i].length + kerf for i in size_of]
    wanted = tuple(network.sizes[i].count for i in size_of)
    unit = gcd(*sizes)
    rooms = [(network.boards[j].segments[0][1] + kerf) // unit for j in stock_of]
    return Lengths(
        sizes=tuple(size // unit for size in sizes),
        wanted=wanted,
        rooms=tuple(rooms),
        costs=tuple(job.stock[j].cost for j in stock_of),
        limits=tuple(job.stock[j].count for j in stock_of),
        size_of=tuple(size_of),
        stock_of=tuple(stock_of),
    )


def layouts_of(job: Job, network: Network, lengths: Lengths, cuts: Sequence[tuple[Cut, int]]) -> tuple[Layout, ...]:
    """The layouts of counted cuts, with the surplus dropped or marked as the job wants."""
    counted: Counted = []
    for (number, counts), times in cuts:
        stock = lengths.stock_of[number]
        own = counts
        if job.rules.surplus == "spare":
            own = with_spares(lengths, (number, counts))
        counted.append((stock, times, _tree(job, network, lengths, stock, own)))
    return finish(job, network, counted)


def with_spares(lengths: Lengths, cut: Cut) -> Counts:
    """The counts of a cut, plus the longest lengths that fit in its unused room, at most as many as are wanted."""
    left, filled = lengths.room_left(cut), []
    for size, count, wanted in zip(lengths.sizes, cut[1], lengths.wanted, strict=True):
        more = min(max(0, wanted - count), left // size)
        filled.append(count + more)
        left -= more * size
    return tuple(filled)


def _tree(job: Job, network: Network, lengths: Lengths, stock: int, counts: Counts) -> Tree:
    board = network.boards[stock]
    kept = [(lengths.size_of[i], count) for i, count in enumerate(counts) if count]
    leaves = [(network.sizes[i].length, ((0, Leaf(i, False)),)) for i, count in kept for _ in range(count)]
    pieces = CutRegion("crosscut", tuple(leaves))
    start = board.segments[0][0]
    if job.is_flat and job.cutting.first == "across":
        return CutRegion("open", ((1, ((start, pieces),)),))
    return CutRegion("rip", ((board.width, ((start, pieces),)),))
