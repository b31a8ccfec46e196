"""Decides with one simple rule whether given pieces fit on one board, and how.

The rule fills strips by length. It does not find every layout that can be sawn (it does not try sections or blocks).
Each layout that it finds can be sawn by `check.Saw`, with all rules.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import islice, product

from woodshop.cutting.checkers.check import Box, Saw, area_of
from woodshop.cutting.layouts.recombine import Counts, LayoutGroup
from woodshop.cutting.model.job import DIRECTIONS, Direction, Job, Rules, Stock
from woodshop.cutting.model.plan import Layout, Piece, Plan, order_pieces
from woodshop.cutting.order.sequence import SawCut, cuts_and_leftovers, saw_cuts
from woodshop.cutting.planner.network import board_of, width_of

Want = tuple[str, bool, int]
"""The blank id, whether the pieces are spare, and their count."""

_MOST_TURNS = 60
_MOST_WAYS = 64  # combinations of six kinds, each turned or not
_MOST_WALKED = 2_000


def lay(job: Job, stock: Stock, wants: Sequence[Want]) -> Layout | None:
    """A layout of one board with exactly these pieces, cut once, or None if the rule finds none."""
    blanks = {blank.id: blank for blank in job.blanks}
    directions = tuple(way for way in DIRECTIONS if job.cutting.first in (way, "either"))
    turnable = [
        n for n, (name, _, _) in enumerate(wants) if blanks[name].rotate and blanks[name].length != blanks[name].width
    ]
    ways = 1
    for n in turnable:
        ways *= wants[n][2] + 1
    ranges = [range(wants[n][2] + 1) if ways <= _MOST_TURNS else (0, wants[n][2]) for n in turnable]
    for turned in islice(product(*ranges), _MOST_WAYS):
        wanted: list[tuple[Piece, int]] = []
        for n, (name, spare, count) in enumerate(wants):
            blank = blanks[name]
            if blank.width is None:
                wanted.append((Piece(name, 0, blank.length, spare=spare), count))
                continue
            over = turned[turnable.index(n)] if n in turnable else 0
            wanted.append(
                (Piece(name, 0, blank.length, y=0, width=blank.width, rotated=False, spare=spare), count - over)
            )
            wanted.append((Piece(name, 0, blank.width, y=0, width=blank.length, rotated=True, spare=spare), over))
        for direction in directions:
            placed = _placed(job, stock, [pair for pair in wanted if pair[1]], direction)
            if placed is not None:
                return Layout(stock.id, 1, order_pieces(placed), direction if job.is_flat else None)
    return None


def _placed(job: Job, stock: Stock, wanted: list[tuple[Piece, int]], direction: Direction) -> list[Piece] | None:
    """The positions of all pieces: in strips along the board, or in strips across each usable stretch."""
    board = board_of(job, stock)
    if direction == "along":
        bins, room, between, within = list(board.segments), board.width, job.kerf.rip, job.kerf.crosscut
        strips = _strips([(_across(p), p.length, p, n) for p, n in wanted], bins, within, trim=job.cutting.final_trim)
        if strips is None or sum(extent + between for extent, _ in strips) > room + between:
            return None
        out: list[tuple[int, int, Piece]] = []
        y = board.y0
        for extent, parts in sorted(strips, key=lambda strip: -strip[0]):
            out += [(x, y, piece) for x, piece in _each(parts)]
            y += extent + between
    else:
        bins, between, within = [(board.y0, board.width)], job.kerf.crosscut, job.kerf.rip
        strips = _strips([(p.length, _across(p), p, n) for p, n in wanted], bins, within, trim=job.cutting.final_trim)
        if strips is None:
            return None
        out = []
        ends = {start: start for start, _ in board.segments}
        for extent, parts in sorted(strips, key=lambda strip: -strip[0]):
            start = next((s for s, reach in board.segments if ends[s] + extent <= s + reach), None)
            if start is None:
                return None
            out += [(ends[start], y, piece) for y, piece in _each(parts)]
            ends[start] += extent + between
    # without rules, strips with a kerf between them can always be sawn
    if not stock.rip or job.cutting.final_trim or job.rules != Rules(surplus=job.rules.surplus):
        boxes: list[Box] = [(x, x + piece.length, y, y + _across(piece)) for x, y, piece in out]
        way = "yx" if direction == "along" else "xy"
        if not Saw(job, job.rules, stock).can_cut(boxes, area_of(stock), way):
            return None
    return [_at(job, piece, x, y) for x, y, piece in out]


def _across(piece: Piece) -> int:
    return 1 if piece.width is None else piece.width


def _at(job: Job, piece: Piece, x: int, y: int) -> Piece:
    return Piece(
        piece.id,
        x,
        piece.length,
        y=y if job.is_flat else None,
        width=piece.width,
        rotated=piece.rotated,
        spare=piece.spare,
    )


Part = tuple[int, int, Piece, int]
Run = tuple[int, int, int, Part]
"""Equal pieces side by side: the start of the first, the distance to the next start, their count, and the part."""
Strip = tuple[int, list[Run]]


def _each(runs: list[Run]) -> list[tuple[int, Piece]]:
    """Every piece of a strip, with its start."""
    return [(start + k * step, part[2]) for start, step, count, part in runs for k in range(count)]


def _strips(parts: list[Part], bins: list[tuple[int, int]], kerf: int, *, trim: bool) -> list[Strip] | None:
    """Packs parts (width, length, piece, count) into few strips; each strip is its width and its runs."""
    classes: dict[int, list[Part]] = {}
    for part in sorted(parts, key=lambda p: (-p[0], -p[1], p[2].id, p[2].spare)):
        classes.setdefault(0 if trim else part[0], []).append(part)
    out: list[Strip] = []
    for same in classes.values():
        filled = _first_fit(same, bins, kerf)
        if filled is None:
            return None
        total = sum((part[1] + kerf) * part[3] for part in same)
        least = -(-total // sum(room + kerf for _, room in bins))
        if not trim and len(filled) > least:
            each = [part for part in same for _ in range(part[3])]
            better = _exact([part[1] for part in each], bins, kerf, len(filled) - 1)
            if better is not None:
                filled = [[(where, 0, 1, each[n]) for where, n in strip] for strip in better]
        out += [(max(run[3][0] for run in strip), strip) for strip in filled]
    return out


def _first_fit(parts: list[Part], bins: list[tuple[int, int]], kerf: int) -> list[list[Run]] | None:
    strips: list[tuple[list[int], list[Run]]] = []
    rooms = [room for _, room in bins]
    at, last = 0, -1
    for part in parts:
        extent, left = part[1], part[3]
        if all(extent > room for room in rooms):
            return None
        if extent != last:  # a part as long as the last one does not fit before it
            at, last = 0, extent
        step = extent + kerf
        while True:
            if at == len(strips):
                strips.append(([0] * len(rooms), []))
            used, own = strips[at]
            for n, room in enumerate(rooms):
                some = min(left, (room + kerf - used[n]) // step)
                if some > 0:
                    own.append((bins[n][0] + used[n], step, some, part))
                    used[n] += some * step
                    left -= some
            if not left:
                break
            at += 1
    return [own for _, own in strips]


def _exact(sizes: list[int], bins: list[tuple[int, int]], kerf: int, strips: int) -> list[list[tuple[int, int]]] | None:
    """Packs parts (longest first) into this number of strips by backtracking. Returns None if it finds no way."""
    rooms = [room + kerf for _ in range(strips) for _, room in bins]
    used = [0] * len(rooms)
    where = [0] * len(sizes)
    walked = 0

    def put(place: int, start: int) -> bool:
        nonlocal walked
        walked += 1
        if place == len(sizes):
            return True
        if walked > _MOST_WALKED:
            return False
        seen: set[int] = set()
        for n in range(start, len(rooms)):
            left = rooms[n] - used[n]
            size = sizes[place] + kerf
            if size > left or left in seen:
                continue
            seen.add(left)
            used[n] += size
            where[place] = n
            same = place + 1 < len(sizes) and sizes[place + 1] == sizes[place]
            if put(place + 1, n if same else 0):
                return True
            used[n] -= size
        return False

    if not put(0, 0):
        return None
    out: list[list[tuple[int, int]]] = [[] for _ in range(strips)]
    reach = [bins[n % len(bins)][0] for n in range(len(rooms))]
    for place, n in enumerate(where):
        out[n // len(bins)].append((reach[n], place))
        reach[n] += sizes[place] + kerf
    return [strip for strip in out if strip]


def settings_of(job: Job, layout: Layout) -> int:
    """The number of different fence and stop settings of a layout."""
    return _settings(saw_cuts(job, layout))


def _settings(cuts: tuple[SawCut, ...]) -> int:
    return len({(cut.kind == "trim", cut.along, cut.is_narrow, cut.setting) for cut in cuts if cut.count})


def rank_of(job: Job, layout: Layout) -> tuple[int, int]:
    """The number of settings of a layout, and the negative of the sum of length squared times width of its offcuts."""
    cuts, rests = cuts_and_leftovers(job, layout, 1)
    return _settings(cuts), -sum(rest.length**2 * rest.width for rest in rests)


def score(job: Job, layouts: tuple[Layout, ...]) -> tuple[int, int, int]:
    """The score of a plan: its layouts, settings, and the offcuts of all boards. Lower is better."""
    ranks = [rank_of(job, layout) for layout in layouts]
    offcuts = sum(layout.times * own for layout, (_, own) in zip(layouts, ranks, strict=True))
    return len(layouts), sum(settings for settings, _ in ranks), offcuts


class Boards:
    """Decides what fits on a board of a plan.

    Kinds are the plan's kinds of stock. Items are its pieces (the blank, and whether the piece is spare).
    """

    def __init__(self, plan: Plan) -> None:
        self.job = job = plan.job
        self.kinds = {stock.id: n for n, stock in enumerate(job.stock)}
        self.items: list[tuple[str, bool]] = sorted({(p.id, p.spare) for lay in plan.layouts for p in lay.pieces})
        self.number = {item: n for n, item in enumerate(self.items)}
        kx, ky = job.kerf.crosscut, job.kerf.rip
        if not job.is_flat:
            ky = 0
        blanks = {blank.id: blank for blank in job.blanks}
        self.weights = []
        for name, _ in self.items:
            blank = blanks[name]
            plain = (blank.length + kx) * (width_of(blank) + ky)
            turned = (width_of(blank) + kx) * (blank.length + ky)
            self.weights.append(min(plain, turned) if blank.rotate else plain)
        self.rooms = []
        for stock in job.stock:
            x0, x1, y0, y1 = area_of(stock)
            # Unusable stretches are not subtracted: the capacity is only an upper limit.
            self.rooms.append((x1 - x0 + kx) * (y1 - y0 + ky))
        self.known: dict[tuple[int, Counts], Layout] = {}
        self.groups: list[LayoutGroup] = []
        merged = Counter[tuple[int, Counts]]()
        for layout in plan.layouts:
            counted = Counter(self.number[piece.id, piece.spare] for piece in layout.pieces)
            key = (self.kinds[layout.stock], tuple(sorted(counted.items())))
            merged[key] += layout.times
            old = self.known.get(key)
            if old is None or rank_of(job, layout) < rank_of(job, old):
                self.known[key] = replace(layout, times=1)
        self.groups = [LayoutGroup(kind, times, counts) for (kind, counts), times in merged.items()]
        self.laid = 0
        """The number of layouts packed so far. Packing is most of the work, so this measures it."""
        self._laid = lru_cache(maxsize=None)(self._lay)
        self._best = lru_cache(maxsize=None)(self._best_of)

    def room(self, kind: int) -> int:
        """The capacity of one board of a kind, in the unit of `weight`."""
        return self.rooms[kind]

    def weight(self, item: int) -> int:
        """The amount of a board's capacity that an item uses, including its kerfs."""
        return self.weights[item]

    def may_hold(self, kind: int, counts: Counts) -> bool:
        """Whether these items can be laid on a board of a kind."""
        if not self.job.is_flat and not self.job.stock[kind].unusable:
            return sum(self.weights[item] * count for item, count in counts) <= self.rooms[kind]
        return (kind, counts) in self.known or self._laid(kind, counts) is not None

    def accepts(self, kind: int, counts: Counts) -> bool:
        """Whether to accept a valid layout; here, always."""
        return True

    def most_distinct(self, kind: int) -> int:
        """The maximum number of different items on a board, considering only their weights."""
        room = self.rooms[kind]
        for n, weight in enumerate(sorted(self.weights)):
            room -= weight
            if room < 0:
                return n
        return len(self.weights)

    def _lay(self, kind: int, counts: Counts) -> Layout | None:
        self.laid += 1
        stock = self.job.stock[kind]
        if self.job.is_flat or stock.unusable:
            return lay(self.job, stock, [(*self.items[item], count) for item, count in counts])
        if sum(self.weights[item] * count for item, count in counts) > self.rooms[kind]:
            return None
        # Longest first, but single items last: the last piece of a full board needs no setting.
        ordered = sorted(counts, key=lambda pair: (pair[1] == 1, -self.weights[pair[0]], pair[0]))
        pieces: list[Piece] = []
        at, kerf = stock.end_trim, self.job.kerf.crosscut
        for item, count in ordered:
            name, spare = self.items[item]
            for _ in range(count):
                pieces.append(Piece(name, at, self.weights[item] - kerf, spare=spare))
                at += self.weights[item]
        return Layout(stock.id, 1, tuple(pieces), None)

    def layout(self, group: LayoutGroup) -> Layout:
        """The group's layout: the known one, or a new one if that takes fewer settings or leaves larger offcuts."""
        return replace(self._best(group.kind, group.counts)[0], times=group.times)

    def rank(self, group: LayoutGroup) -> tuple[int, int]:
        """The rank of a group: settings, then the offcuts of all its boards. Lower is better."""
        _, settings, offcuts = self._best(group.kind, group.counts)
        return settings, offcuts * group.times

    def choices(self, kind: int, counts: Counts) -> list[Layout]:
        """The known layouts, cut once, of some items on one board: an existing one and a newly packed one."""
        old, new = self.known.get((kind, counts)), self._laid(kind, counts)
        return [layout for layout in (old, new) if layout is not None]

    def _best_of(self, kind: int, counts: Counts) -> tuple[Layout, int, int]:
        ranked = [(layout, *rank_of(self.job, layout)) for layout in self.choices(kind, counts)]
        return min(ranked, key=lambda each: each[1:])
