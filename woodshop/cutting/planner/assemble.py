"""Makes layouts from counted patterns: the strip pattern of each board, and the position and blank of each piece."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from woodshop.cutting.model.job import Blank, Direction, Job, Rules
from woodshop.cutting.model.plan import Layout, Piece, order_layouts, order_pieces
from woodshop.cutting.planner.knapsack import Axis, Key, SameBlanks
from woodshop.cutting.planner.network import Network
from woodshop.cutting.planner.pricing import Column


@dataclass(frozen=True, slots=True)
class Leaf:
    """One piece of a size, either turned or not."""

    size: int
    rotated: bool


@dataclass(frozen=True, slots=True)
class CutRegion:
    """A region cut along `axis` ("rip" or "crosscut") into parts side by side.

    Each part holds its extent and, for each usable stretch, the start of the stretch and its tree. A region that is no
    longer the whole board has one stretch, starting at 0. An `axis` of "open" is not a cut; it divides a board at its
    unusable stretches.
    """

    axis: Axis
    parts: "tuple[tuple[int, tuple[tuple[int, Tree], ...]], ...]"


Tree = Leaf | CutRegion
Part = tuple[int, tuple[tuple[int, Tree], ...]]
Counted = list[tuple[int, int, Tree]]
"""The number of the stock kind, the number of boards, and how they are cut."""


def lay_out(job: Job, network: Network, columns: Sequence[Column], counts: Sequence[int]) -> tuple[Layout, ...]:
    """The layouts for these pattern counts. The job decides whether surplus is dropped or marked as spare."""
    boards = _trees(network, columns, counts)
    return finish(job, network, boards)


def finish(job: Job, network: Network, boards: Counted) -> tuple[Layout, ...]:
    """The layouts for counted trees, with surplus dropped (unless the job keeps it), ids assigned and pieces placed."""
    made = Counter[int]()
    for _, times, tree in boards:
        for i, count in _sizes_in(tree).items():
            made[i] += times * count
    surplus = {i: made[i] - size.count for i, size in enumerate(network.sizes)}
    if any(extra < 0 for extra in surplus.values()):
        raise AssertionError("fewer pieces than wanted")
    boards = _needed(boards, surplus) if job.rules.surplus == "spare" else _without(boards, surplus)
    if job.cutting.final_trim and job.cutting.stages == 2 and job.rules == Rules(surplus=job.rules.surplus):
        # Without rules, a strip or section need not be wider than its contents after surplus is dropped.
        boards = [(stock, times, tightened(tree, network.sizes)) for stock, times, tree in boards]
    return _placed(job, network, boards)


def _trees(network: Network, columns: Sequence[Column], counts: Sequence[int]) -> Counted:
    pool: dict[Key, list[list[int]]] = {}
    for number, ((knapsack, _), count) in enumerate(zip(columns, counts, strict=True)):
        if count > 0:
            pool.setdefault(network.knapsacks[knapsack].of, []).append([number, count])
    used = Counter[int]()

    def take(key: Key) -> Tree | None:
        """A pattern for a region: the one with the highest remaining count, or None if no pattern is left."""
        entry = max(pool.get(key, []), key=lambda pair: pair[1], default=None)
        if entry is None or entry[1] == 0:
            return None
        entry[1] -= 1
        used[entry[0]] += 1
        return grow(entry[0])

    def grow(number: int) -> Tree:
        knapsack, pattern = network.knapsacks[columns[number][0]], columns[number][1]
        if knapsack.axis == "shorten":
            return take(knapsack.items[0].yields[0]) or CutRegion("crosscut", ())
        parts: list[Part] = []
        for item, count in zip(knapsack.items, pattern, strict=True):
            for _ in range(count):
                if item.yields[0][0] == "size":
                    parts.append((item.extent, ((0, Leaf(int(item.yields[0][1]), item.rotated)),)))
                    continue
                grown = [(start, take(key)) for start, key in _starts(network, knapsack.of, item.yields)]
                parts.append((item.extent, tuple((start, tree) for start, tree in grown if tree is not None)))
        return CutRegion(knapsack.axis, tuple(parts))

    boards: Counter[tuple[int, Tree]] = Counter()
    for key in sorted((key for key in pool if key[0] == "stock"), key=lambda key: int(key[1])):
        for entry in pool[key]:
            while entry[1] > 0:
                before = {pair[0]: pair[1] for pairs in pool.values() for pair in pairs}
                used.clear()
                entry[1] -= 1
                used[entry[0]] += 1
                tree = grow(entry[0])
                again = min(before[number] // often for number, often in used.items()) - 1
                for pairs in pool.values():
                    for pair in pairs:
                        pair[1] -= again * used.get(pair[0], 0)
                boards[int(key[1]), tidied(tree)] += again + 1
    return [(stock, times, tree) for (stock, tree), times in boards.items()]


def _starts(network: Network, of: Key, yields: tuple[Key, ...]) -> list[tuple[int, Key]]:
    """Where each region of a board starts along the board. Stretches without parts have no region."""
    if of[0] != "stock":
        return [(0, key) for key in yields]
    starts = []
    segments = iter(network.boards[int(of[1])].segments)
    for key in yields:
        starts.append((next(start for start, extent in segments if extent == key[1]), key))
    return starts


def tidied(tree: Tree) -> Tree:
    """The region without its empty parts, longest and widest first."""
    if isinstance(tree, Leaf):
        return tree
    parts = []
    for extent, inner in tree.parts:
        kept = tuple((start, tidied(sub)) for start, sub in inner if _has_pieces(sub))
        if kept:
            parts.append((extent, kept))
    if any(part != parts[0] for part in parts):  # many equal pieces are the rule in mesh and cloth
        parts.sort(key=lambda part: (-part[0], repr(part[1])))
    return CutRegion(tree.axis, tuple(parts))


def tightened(tree: Tree, sizes: Sequence[SameBlanks]) -> Tree:
    """The region with every part reduced to the size of its contents."""
    if isinstance(tree, Leaf):
        return tree
    parts: list[Part] = []
    for _, inner in tree.parts:
        kept = tuple((start, tightened(sub, sizes)) for start, sub in inner)
        across = 1 if tree.axis == "rip" else 0
        parts.append((max(_extent(sub, sizes)[across] for _, sub in kept), kept))
    return tidied(CutRegion(tree.axis, tuple(parts)))


def _extent(tree: Tree, sizes: Sequence[SameBlanks]) -> tuple[int, int]:
    """The greatest length and width of any single part inside: the minimum size of a region across its cuts."""
    if isinstance(tree, Leaf):
        size = sizes[tree.size]
        return (size.width, size.length) if tree.rotated else (size.length, size.width)
    inner = [_extent(sub, sizes) for _, subs in tree.parts for _, sub in subs]
    return max(length for length, _ in inner), max(width for _, width in inner)


def _sizes_in(tree: Tree) -> Counter[int]:
    total = Counter[int]()
    todo = [tree]
    while todo:
        node = todo.pop()
        if isinstance(node, Leaf):
            total[node.size] += 1
        else:
            todo += [sub for _, inner in reversed(node.parts) for _, sub in reversed(inner)]
    return total


def _has_pieces(tree: Tree) -> bool:
    return isinstance(tree, Leaf) or any(_has_pieces(sub) for _, inner in tree.parts for _, sub in inner)


def _needed(boards: Counted, surplus: dict[int, int]) -> Counted:
    """The boards, except those that yield only surplus. The solver sometimes uses stock that is free but not needed."""
    found: Counted = []
    for stock, times, tree in sorted(boards, key=lambda board: board[1]):
        sizes = _sizes_in(tree)
        idle = min((surplus[i] // count for i, count in sizes.items()), default=times)
        kept = times - min(idle, times)
        for i, count in sizes.items():
            surplus[i] -= (times - kept) * count
        if kept:
            found.append((stock, kept, tree))
    return found


def _without(boards: Counted, surplus: dict[int, int]) -> Counted:
    """The boards without the surplus, which is removed from the rarest layouts first."""
    todo = sorted(boards, key=lambda board: (board[1], -board[0], repr(board[2])))
    inside = [_sizes_in(tree) for _, _, tree in todo]
    for i in sorted(surplus):
        left = surplus[i]
        at = 0
        while left > 0:
            stock, times, tree = todo[at]
            own = inside[at]
            if own[i] == 0:
                at += 1
            elif times <= left:
                drop = min(own[i], left // times)
                todo[at] = (stock, times, _less(tree, i, drop))
                own[i] -= drop
                left -= drop * times
            else:
                drop = min(own[i], left)
                some = left // drop
                todo[at] = (stock, times - some, tree)
                todo.append((stock, some, _less(tree, i, drop)))
                inside.append(own - Counter({i: drop}))
                left -= some * drop
    merged: Counter[tuple[int, Tree]] = Counter()
    for stock, times, tree in todo:
        if times and _has_pieces(tree):
            merged[stock, tidied(tree)] += times
    return [(stock, times, tree) for (stock, tree), times in merged.items()]


def _less(tree: Tree, size: int, drop: int) -> Tree:
    """The cut tree without the last `drop` pieces of a size."""
    left = drop

    def prune(node: Tree) -> Tree | None:
        nonlocal left
        if isinstance(node, Leaf):
            if node.size == size and left > 0:
                left -= 1
                return None
            return node
        parts = []
        for extent, inner in reversed(node.parts):
            pruned = [(start, prune(sub)) for start, sub in reversed(inner)]
            kept = tuple((start, sub) for start, sub in reversed(pruned) if sub is not None)
            if kept:
                parts.append((extent, kept))
        return CutRegion(node.axis, tuple(reversed(parts))) if parts else None

    return prune(tree) or CutRegion("rip", ())


def _placed(job: Job, network: Network, boards: Counted) -> tuple[Layout, ...]:
    layouts: list[Layout] = []
    left = [dict(size.ids) for size in network.sizes]
    blanks = {blank.id: blank for blank in job.blanks}
    for stock, times, tree in sorted(boards, key=lambda board: (board[0], -board[1], repr(board[2]))):
        spots: list[tuple[int, int, int, bool]] = []
        board = network.boards[stock]
        _place(job, tree, 0, board.y0, spots)
        first = _first_of(tree)
        is_too_long = job.rules.longest_rip is not None and board.length > job.rules.longest_rip
        if job.cutting.stages == 3 and job.cutting.first != "either" and not (first == "across" and is_too_long):
            first = job.cutting.first  # with three stages, the first can be omitted
        while times > 0:
            # Handle together as many boards as get the same ids.
            again, taken = times, Counter[tuple[int, str]]()
            names: list[tuple[str, bool]] = []
            for _, _, i, _ in spots:
                name = next((n for n, rest in left[i].items() if rest - taken[i, n] >= 1), None)
                if name is None:
                    names.append((network.sizes[i].ids[-1][0], True))
                else:
                    taken[i, name] += 1
                    names.append((name, False))
            for (i, name), often in taken.items():
                again = min(again, left[i][name] // often)
            for (i, name), often in taken.items():
                left[i][name] -= again * often
            pieces = [
                _piece(blanks[name], network.sizes[i], x, y=y, turned=turned, spare=spare)
                for (x, y, i, turned), (name, spare) in zip(spots, names, strict=True)
            ]
            layouts.append(Layout(job.stock[stock].id, again, order_pieces(pieces), first if job.is_flat else None))
            times -= again
    return order_layouts(layouts)


def _first_of(tree: Tree) -> Direction:
    if isinstance(tree, CutRegion) and tree.axis == "open":
        inner = tree.parts[0][1][0][1]
        return _first_of(inner)
    return "along" if isinstance(tree, CutRegion) and tree.axis == "rip" else "across"


def _place(job: Job, tree: Tree, x: int, y: int, spots: list[tuple[int, int, int, bool]]) -> None:
    """Adds (x, y, size, turned) for every piece of a region. The region's corner is at (x, y)."""
    if isinstance(tree, Leaf):
        spots.append((x, y, tree.size, tree.rotated))
        return
    for extent, inner in tree.parts:
        for start, sub in inner:
            _place(job, sub, x + start, y, spots)
        if tree.axis == "rip":
            y += extent + job.kerf.rip
        elif tree.axis == "crosscut":
            x += extent + job.kerf.crosscut


def _piece(blank: Blank, size: SameBlanks, x: int, *, y: int, turned: bool, spare: bool) -> Piece:
    length, width = (size.width, size.length) if turned else (size.length, size.width)
    if blank.width is None:
        return Piece(blank.id, x, length, spare=spare)
    rotated = (length, width) != (blank.length, blank.width)
    return Piece(blank.id, x, length, y=y, width=width, rotated=rotated, spare=spare)
