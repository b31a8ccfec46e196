"""Finds the highest worth of a layout on each stock at given prices, in exact integers, for the checks of proofs.

This is a knapsack inside a knapsack: find the best strip of each width and length, then the best board made of strips.
Two facts make the bound sharper. No layout contains more pieces of a blank than the job needs, because spare pieces
count nothing. No board needs more strips of a width than would make all its pieces of such strips, if each strip
contains only one kind of blank. If the exact value would take too long to calculate, an upper bound is used
(a blank is counted anew in every strip, or a rule is ignored). A proof stays valid; only its bound may be lower.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from math import gcd

from woodshop.cutting.checkers.tables import KnapsackTable, Load
from woodshop.cutting.model.job import Job, Rules, Stock

_MOST_BREAKS = 700


def worth_of_stock(job: Job, prices: Mapping[str, int]) -> list[int]:
    """An upper bound on the value of a layout on each stock.

    It is exact unless rules, or blanks that fit in strips of more than one width, make it too high.
    """
    return list(_worths(job, tuple(sorted(prices.items()))))


@lru_cache(maxsize=8)
def _worths(job: Job, prices: tuple[tuple[str, int], ...]) -> tuple[int, ...]:
    """The value for each stock, cached for the last few price lists, because proving a plan uses them again."""
    appraiser = _Appraiser(job, dict(prices))
    return tuple(appraiser.board(stock) for stock in job.stock)


@dataclass(frozen=True, slots=True)
class _Kind:
    """Blanks of one size and price: their possible sides (one or two ways), their count, and the value of one."""

    lays: tuple[tuple[int, int], ...]
    count: int
    price: int


class _Appraiser:
    def __init__(self, job: Job, prices: Mapping[str, int]) -> None:
        self.job, self.flat = job, job.is_flat
        self.kx, self.ky, self.trim = job.kerf.crosscut, job.kerf.rip, job.cutting.final_trim
        # The strips of a ripped area, each with its kerf, take at most its width plus this.
        least = job.rules.least_remainder
        self.rip_room = self.ky if least is None or not self.flat else -least
        counts: dict[tuple[tuple[tuple[int, int], ...], int], int] = {}
        for blank in job.blanks:
            sides = (blank.length, 1 if blank.width is None else blank.width)
            lays = tuple(sorted({sides, sides[::-1]} if blank.rotate else {sides}))
            price = prices.get(blank.id, 0)
            if price > 0:
                counts[lays, price] = counts.get((lays, price), 0) + blank.count
        self.kinds = [_Kind(lays, count, price) for (lays, price), count in sorted(counts.items())]
        lays_all = {lay for kind in self.kinds for lay in kind.lays}
        self.lengths = sorted({length for length, _ in lays_all})
        self.widths = sorted({width for _, width in lays_all})
        self.longest = max((stock.length for stock in job.stock), default=0)
        self.strips: dict[int, tuple[KnapsackTable, list[tuple[int, int]]]] = {}
        self.sections: dict[tuple[int, int, Rules], int] = {}
        self.stretches: dict[tuple[int, Rules], KnapsackTable] = {}

    # -- a whole board --------------------------------------------------------------------------------------

    def board(self, stock: Stock) -> int:
        """The maximum value over all ways to cut this stock."""
        parts = _usable(stock)
        length = stock.length - 2 * stock.end_trim
        width = 1 if stock.width is None else stock.width - 2 * stock.edge_trim
        if not self.flat:
            return self._ripped(parts, length, width)
        if not stock.rip:
            return sum(self._strip(width)[0].at(part + self.kx) for part in parts)
        cutting, rules = self.job.cutting, self.job.rules
        cut_out = rules.defects is not None and bool(stock.unusable)
        along, across = cutting.first in ("along", "either"), cutting.first in ("across", "either")
        too_long = rules.longest_rip is not None and length > rules.longest_rip
        worth = 0
        if along and not cut_out:
            worth = self._ripped(parts, length, width)
        if across:
            worth = max(worth, sum(self._to_sizes(part, width) for part in parts))
        if (along and (too_long or cut_out)) or (across and cutting.stages == 3):
            # A section over an unusable stretch is two sections. Each may be too short to rip, or lack the length that
            # must be left beyond its pieces, so these rules are omitted.
            apart = _of_parts(rules) if stock.unusable and not cut_out else rules
            worth = max(worth, sum(self._to_sections(part, width, apart) for part in parts))
        if along and cutting.stages == 3:
            worth = max(worth, self._to_panels(parts, width))
        return worth

    def _ripped(self, parts: Sequence[int], length: int, width: int) -> int:
        """The value if the whole board is ripped, and each strip, with all usable stretches, is crosscut."""
        strips = []
        for strip in self._strip_widths(width):
            table, pieces = self._strip(strip)
            worth = sum(table.at(part + self.kx) for part in parts)
            enough = 0
            for count, piece in pieces:
                per = sum((part + self.kx) // (piece + self.kx) for part in parts)
                enough += -(-count // per) if per else 0
            strips.append((strip, enough, worth))
        return self._rip(width, length, strips, self.job.rules)

    def _strip_widths(self, width: int) -> list[int]:
        return sorted({*self.widths, width}) if self.trim else self.widths

    def _rip(self, width: int, length: int, strips: Sequence[Load], rules: Rules) -> int:
        """The value of the best rip of a region into parts (width, maximum count, value), or of the uncut region."""
        narrow: list[Load] = []
        wide: list[Load] = []
        best = 0
        for strip, count, worth in strips:
            if strip == width:
                best = max(best, worth)
            elif strip < width and count > 0 and worth > 0 and self._may_rip(strip, length, rules):
                thin = self.flat and rules.narrow_below is not None and strip < rules.narrow_below
                (narrow if thin else wide).append((strip + self.ky, count, worth))
        space = max(0, width + self.rip_room)
        if not narrow:
            return max(best, KnapsackTable(_fitting(wide, space), space).at(space))
        hand = max(0, min(space, width - (rules.parent_wood or 0)))
        first = KnapsackTable(narrow, hand)
        return max(best, KnapsackTable(_fitting(wide, space), space, (first, hand)).at(space))

    def _may_rip(self, strip: int, length: int, rules: Rules) -> bool:
        if strip < (rules.least_strip or 0) or length < (rules.shortest_rip or 0):
            return False
        return rules.longest_rip is None or length <= rules.longest_rip

    # -- strips ---------------------------------------------------------------------------------------------

    def _strip(self, strip: int) -> tuple[KnapsackTable, list[tuple[int, int]]]:
        """The value of a strip this wide for each length, and the (count, length) of every piece that fits in it."""
        if strip not in self.strips:
            loads, pieces = [], []
            for kind in self.kinds:
                lengths = [length for length, width in kind.lays if self._goes_into(width, length, strip)]
                if lengths:
                    loads.append((min(lengths) + self.kx, kind.count, kind.price))
                    pieces.append((kind.count, min(lengths)))
            self.strips[strip] = KnapsackTable(loads, self.longest + self.kx), pieces
        return self.strips[strip]

    def _goes_into(self, width: int, length: int, strip: int) -> bool:
        if width >= strip or not self.trim:
            return width == strip
        rules = self.job.rules
        thin = rules.narrow_below is not None and width < rules.narrow_below
        return not thin and self._may_rip(width, length, rules)

    # -- sections -------------------------------------------------------------------------------------------

    def _to_sizes(self, part: int, width: int) -> int:
        """The value of crosscutting into sections as long as a blank, and ripping each into blanks."""
        rules = self.job.rules
        if self.trim:  # a section can be longer than any of its pieces, to be long enough to rip
            rules = _of_parts(rules)
        loads = []
        for length in self.lengths:
            if length <= part:
                worth = self._section(length, width, rules)
                often = sum(kind.count for kind in self.kinds if any(lay[0] <= length for lay in kind.lays))
                loads.append((length + self.kx, often, worth))
        return KnapsackTable(loads, part + self.kx).at(part + self.kx)

    def _section(self, length: int, width: int, rules: Rules) -> int:
        key = (length, width, rules)
        if key not in self.sections:
            pieces = []
            for kind in self.kinds:
                lays = [lay for lay in kind.lays if lay[0] == length or (self.trim and lay[0] < length)]
                pieces += [(across, kind.count, kind.price) for _, across in lays if across == width]
                ripped = [across for _, across in lays if across < width and self._may_rip(across, length, rules)]
                if ripped:
                    pieces.append((min(ripped), kind.count, kind.price))
            self.sections[key] = self._rip(width, length, pieces, rules)
        return self.sections[key]

    def _to_sections(self, part: int, width: int, rules: Rules) -> int:
        """The value of crosscutting into sections of any length, each ripped into strips that are crosscut.

        Crosscutting without ripping is included.
        """
        key = (width, rules)
        if key not in self.stretches:
            # A ripped section is this much longer than the pieces crosscut from its strips.
            spare = 0 if rules.least_remainder is None else self.kx + rules.least_remainder
            most = min(self.longest, self.longest if rules.longest_rip is None else rules.longest_rip)
            rooms: set[int] = set()
            for strip in self._strip_widths(width):
                table, pieces = self._strip(strip)
                rooms |= {step + spare for step in table.steps(most + self.kx - spare)}
                # Where another piece begins to fit, more strips can be needed, even if none of them is worth more.
                rooms |= {piece + self.kx + spare for _, piece in pieces if piece + spare <= most}
            if rules.shortest_rip is not None and rules.shortest_rip <= most:
                # Use a slightly smaller length, so that the table need not be finer.
                step = gcd(*rooms) or 1
                least = rules.shortest_rip + self.kx
                rooms = {size for size in rooms if size > least} | {least // step * step or least}
            loads = [(low, self.longest, self._part(low, high, spare, width, rules)) for low, high in _spread(rooms)]
            for kind in self.kinds:
                lengths = [length for length, across in kind.lays if self._goes_into(across, length, width)]
                if lengths:
                    loads.append((min(lengths) + self.kx, kind.count, kind.price))
            self.stretches[key] = KnapsackTable(_worthwhile(loads), self.longest + self.kx)
        return self.stretches[key].at(part + self.kx)

    def _part(self, low: int, high: int, spare: int, width: int, rules: Rules) -> int:
        """The value of a section, with its kerf, of any length from `low` to `high`, of which `spare` is empty."""
        strips = []
        ruled = Rules(narrow_below=rules.narrow_below, parent_wood=rules.parent_wood, least_strip=rules.least_strip)
        low, high = low - spare, high - spare
        for strip in self._strip_widths(width):
            table, pieces = self._strip(strip)
            enough = sum(-(-count // (low // (n + self.kx))) for count, n in pieces if low >= n + self.kx)
            enough += sum(count for count, n in pieces if low < n + self.kx <= high)
            strips.append((strip, enough, table.at(high)))
        return self._rip(width, low + spare - self.kx, strips, ruled)

    def _to_panels(self, parts: Sequence[int], width: int) -> int:
        """The value of ripping into panels of any width, crosscutting these into blocks, and ripping the blocks."""
        sums = {0}
        for kind in self.kinds:
            for _, across in kind.lays:
                size = across + self.ky
                sums = {s + n * size for s in sums for n in range(kind.count + 1) if s + n * size <= width + self.ky}
        blocks = [(length, *self._block(length)) for length in self.lengths]
        loads = []
        for low, high in _spread(sums - {0}):
            inside = [(length + self.kx, often, table.at(high)) for length, often, table in blocks]
            worth = sum(
                KnapsackTable(_fitting(inside, part + self.kx), part + self.kx).at(part + self.kx) for part in parts
            )
            loads.append((low, width, worth))
        return KnapsackTable(_worthwhile(loads), width + self.ky).at(width + self.ky)

    def _block(self, length: int) -> tuple[int, KnapsackTable]:
        """The maximum number of blocks of this length, and their value for each width."""
        often, loads = 0, []
        for kind in self.kinds:
            widths = [across for n, across in kind.lays if n == length or (self.trim and n < length)]
            if widths:
                often += kind.count
                loads.append((min(widths) + self.ky, kind.count, kind.price))
        widest = max(1 if stock.width is None else stock.width for stock in self.job.stock)
        return often, KnapsackTable(loads, widest + self.ky)


def _of_parts(rules: Rules) -> Rules:
    """The rules without the least length to rip, and without what must be left beyond the pieces."""
    return Rules(
        narrow_below=rules.narrow_below,
        parent_wood=rules.parent_wood,
        least_strip=rules.least_strip,
        longest_rip=rules.longest_rip,
    )


def _usable(stock: Stock) -> list[int]:
    """The lengths of the stretches between the trims and the unusable stretches."""
    x, end, parts = stock.end_trim, stock.length - stock.end_trim, []
    for x0, x1 in sorted(stock.unusable):
        parts.append(min(x0, end) - x)
        x = max(x, x1)
    return [part for part in [*parts, end - x] if part > 0]


def _spread(rooms: set[int]) -> list[tuple[int, int]]:
    """Capacities as (minimum size, maximum size); if there are many, neighbors are merged."""
    ordered = sorted(rooms)
    often = -(-len(ordered) // _MOST_BREAKS) or 1
    groups = [ordered[n : n + often] for n in range(0, len(ordered), often)]
    return [(group[0], group[-1]) for group in groups]


def _fitting(loads: Sequence[Load], room: int) -> list[Load]:
    return [load for load in loads if load[0] <= room and load[2] > 0]


def _worthwhile(loads: Sequence[Load]) -> list[Load]:
    """The loads, except any that a smaller load with at least the same count and value can replace."""
    kept: list[Load] = []
    for size, count, worth in sorted(loads, key=lambda load: (load[0], -load[2], -load[1])):
        if worth > 0 and not any(w >= worth and c >= count for _, c, w in kept):
            kept.append((size, count, worth))
    return kept
