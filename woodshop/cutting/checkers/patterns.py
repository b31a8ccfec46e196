"""Lists every way to cut a job's stock in two stages, for the check of a proof tree.

A pattern says into how many smaller regions, or blanks, one region is cut. Stock is cut into strips (rip first) or
sections (crosscut first), and these into blanks. Stock that must be crosscut before it is ripped is cut into the strips
of all its sections (`section_patterns`). Only maximal patterns are listed, because at least one cheapest plan
can be written with them (the guide's topic `proofs` gives the reason). With the prices of a proof's first drop, only
patterns that it keeps are listed, so that a long list need not be made. This module shares no code with the planner.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import cache
from math import gcd
from typing import Any

from woodshop.cutting.checkers.drops import FirstDrop, least_worths
from woodshop.cutting.checkers.listing import Aim, Lister, Load, NotCoveredError, TooManyPatternsError
from woodshop.cutting.checkers.prove_rows import InvalidProofError
from woodshop.cutting.checkers.tables import KnapsackTable
from woodshop.cutting.model.job import Job, Rules, Stock

_MOST_KINDS = 200
_MOST_WAYS = 10_000_000  # stock, times the square of the sizes
_MOST_ENTRIES = 20_000_000  # of an array

Region = tuple[str | int, ...]
"""("stock", id), ("strip", length, width) or ("section", length, width)."""


@dataclass(frozen=True, slots=True)
class Patterns:
    """Every maximal pattern of a job, or those that the first drop keeps. Arrays hold 64-bit integers.

    `sizes`: for each size, the ids of its blanks and their total count. `strips`: the regions cut from stock.
    `low`: one row for each pattern of a strip, one column for each size; `low_of`: the number of the strip.
    `high`: one row for each pattern of stock, one column for each strip; `high_of`: the number of the stock.
    Rows of the same region are next to each other, in the order of the regions.
    """

    sizes: tuple[tuple[tuple[str, ...], int], ...]
    strips: tuple[Region, ...]
    low: Any
    low_of: Any
    high: Any
    high_of: Any


@dataclass(frozen=True, slots=True)
class PartSize:
    """Blanks with equal sides and equal turning: their ids and total count; `lays`: (length, width), each way round."""

    lays: tuple[tuple[int, int], ...]
    count: int
    ids: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Frame:
    """A board as it is first cut: its stretches along the first cuts, its width across them, and both kerfs."""

    stretches: tuple[int, ...]
    width: int
    length: int
    _kerfs: tuple[int, int]
    is_turned: bool

    @property
    def inner(self) -> int:
        """The kerf between two pieces of a strip."""
        return self._kerfs[0]

    @property
    def outer(self) -> int:
        """The kerf between two strips."""
        return self._kerfs[1]

    def region(self, stretch: int, width: int) -> Region:
        """The name of a strip, or of a section if the board is crosscut first."""
        return ("section", width, stretch) if self.is_turned else ("strip", stretch, width)


def patterns_of(job: Job, first: FirstDrop | None = None) -> Patterns:
    """Every maximal pattern of the job, or those that the first drop keeps.

    Raises NotCoveredError, and InvalidProofError if the first drop has not one price for each size, or no limit.
    """
    _refuse(job)
    sizes = sizes_of(job)
    if len(sizes) > _MOST_KINDS or len(job.stock) * len(sizes) ** 2 > _MOST_WAYS:
        raise NotCoveredError(f"{len(sizes)} sizes of part and {len(job.stock)} kinds of stock, which are too many")
    if first is not None and len(first.prices) != len(sizes):
        raise InvalidProofError("evidence or a rounded row without one price for each size")
    own = _Regions(job, sizes, None if first is None else first.prices)
    lister = own.lister
    aims = _Aims(own, first)
    high: list[list[dict[Region, int]]] = []
    for j, stock in enumerate(job.stock):
        rows: dict[tuple[tuple[Region, int], ...], None] = {}
        for frame in _frames(job, stock):
            for row in _listed(own, stock, frame, aims.of_stock(j)):
                rows.setdefault(tuple(sorted(row.items(), key=lambda pair: _place(pair[0]))))
        high.append([dict(row) for row in rows])
        aims.add(j, high[-1])
    low: dict[Region, list[tuple[int, ...]]] = {}
    for region in own.made if first is None else aims.spare:
        loads, room = own.loads[region]
        low[region] = lister.some(loads, room, None, own.prices, aims.of_strip(region))
        lister.patterns_found(len(low[region]))
    strips = tuple(sorted(low, key=_place))
    number = {region: n for n, region in enumerate(strips)}
    of = [j for j, rows_of_stock in enumerate(high) for _ in rows_of_stock]
    below = [pattern for region in strips for pattern in low[region]]
    if (len(of) + len(below)) * (len(strips) + len(sizes)) > _MOST_ENTRIES:
        raise TooManyPatternsError(f"{len(of) + len(below):,} patterns of {len(strips):,} strips, which are too many")
    import numpy

    table = numpy.zeros((len(of), len(strips)), dtype=numpy.int64)
    for n, row in enumerate(row for rows_of_stock in high for row in rows_of_stock):
        for region, count in row.items():
            table[n, number[region]] = count
    return Patterns(
        tuple((size.ids, size.count) for size in sizes),
        strips,
        numpy.array(below, dtype=numpy.int64).reshape(len(below), len(sizes)),
        numpy.array([number[region] for region in strips for _ in low[region]], dtype=numpy.int64),
        table,
        numpy.array(of, dtype=numpy.int64),
    )


class _Regions:
    """The strips and sections of a job: what fits in each, and what the best pattern of each is worth."""

    def __init__(self, job: Job, sizes: "Sequence[PartSize]", prices: Sequence[int] | None) -> None:
        self.job, self.sizes, self.prices = job, sizes, prices
        self.lister = Lister()
        self.loads: dict[Region, tuple[list[Load], int]] = {}
        self.made: dict[Region, None] = {}
        """Those that are cut from stock, if all patterns are listed."""
        self._longest = max(max(stock.length, stock.width or 1) for stock in job.stock)
        self._tables: dict[tuple[str | int, str | int], KnapsackTable] = {}
        self._worth: dict[Region, int] = {}

    def fits(self, frame: "_Frame", stretch: int, width: int, extents: Sequence[int]) -> Region | None:
        """The strip or section of this width, if anything fits in it. `extents`: the length that each size takes."""
        region = frame.region(stretch, width)
        if region not in self.loads:
            loads = [
                (extent + frame.inner, size.count if extent <= stretch else 0, False)
                for size, extent in zip(self.sizes, extents, strict=True)
            ]
            self.loads[region] = loads, stretch + frame.inner
        return region if any(most for _, most, _ in self.loads[region][0]) else None

    def worth(self, region: Region) -> int:
        """What the best pattern of the strip is worth at the prices; 0 if there are none."""
        if self.prices is None:
            return 0
        if region not in self._worth:
            loads, room = self.loads[region]
            key = region[0], region[2] if region[0] == "strip" else region[1]
            if key not in self._tables:
                fitting = [
                    (size, part.count, price)
                    for (size, _, _), part, price in zip(loads, self.sizes, self.prices, strict=True)
                    if size < _NEVER
                ]
                self._tables[key] = KnapsackTable(
                    fitting, self._longest + max(self.job.kerf.crosscut, self.job.kerf.rip)
                )
            table = self._tables[key]
            self._worth[region] = table.at(room) if table.is_exact else self.lister.best(loads, room, None, self.prices)
        return self._worth[region]

    def value(self, row: dict[Region, int]) -> int:
        """What the strips of a pattern of stock are worth."""
        return sum(n * self.worth(region) for region, n in row.items())


class _Aims:
    """What the first drop wants patterns to be worth. Without one, any will do."""

    def __init__(self, own: _Regions, first: FirstDrop | None) -> None:
        self.own = own
        self.least: list[int] = []
        """For each stock, what the strips of a pattern must be worth."""
        self.spare: dict[Region, int] = {}
        """For each strip, the most by which a pattern of stock that contains it is worth more than it must be."""
        if first is not None:
            job = own.job
            best = [max((_best(own, stock, frame) for frame in _frames(job, stock)), default=0) for stock in job.stock]
            needed = sum(size.count * price for size, price in zip(own.sizes, first.prices, strict=True))
            self.least = least_worths(job, best, needed, first)

    def of_stock(self, number: int) -> Aim:
        """What the strips of a pattern of this stock must be worth."""
        return Aim(self.least[number]) if self.least else Aim()

    def add(self, number: int, rows: Sequence[dict[Region, int]]) -> None:
        """Takes note of the patterns of a stock."""
        for row in rows if self.least else ():
            spare = self.own.value(row) - self.least[number]
            for region in row:
                self.spare[region] = max(spare, self.spare.get(region, spare))

    def of_strip(self, region: Region) -> Aim:
        """What a pattern of the strip must be worth."""
        return Aim(self.own.worth(region) - self.spare[region]) if self.least else Aim()


def most_of_cheaper(job: Job, cost: int) -> int:
    """The most that a plan costs that costs less than `cost`."""
    step = price_step(job)
    return (cost - 1) // step * step


def _place(region: Region) -> tuple[str, int, int]:
    return str(region[0]), int(region[1]), int(region[2])


def _refuse(job: Job) -> None:
    """Raises NotCoveredError for a job with cuts that are not listed here."""
    if not job.is_flat:
        return  # nothing is ripped
    rules = job.rules
    is_ruled = rules != Rules(surplus=rules.surplus)
    if job.cutting.stages != 2:
        raise NotCoveredError("three stages of cuts")
    if is_ruled and (job.cutting.final_trim or job.cutting.first != "along"):
        raise NotCoveredError("rules for rips, with a final trim or crosscuts first")
    for stock in job.stock:
        if _needs_sections(job, stock) and stock.unusable and rules.defects is None:
            raise NotCoveredError(f"sections of {stock.id!r} across its unusable stretches")
        if job.cutting.first != "along" and (stock.unusable or not stock.rip):
            raise NotCoveredError(f"crosscuts first on {stock.id!r}, which has unusable stretches or is never ripped")


def _needs_sections(job: Job, stock: Stock) -> bool:
    """Whether the stock must be crosscut into sections before it can be ripped."""
    rules, length = job.rules, stock.length - 2 * stock.end_trim
    too_long = rules.longest_rip is not None and length > rules.longest_rip
    return job.is_flat and stock.rip and (too_long or (rules.defects is not None and bool(stock.unusable)))


def sizes_of(job: Job) -> list[PartSize]:
    """The blanks of the job, those with equal sides and equal turning as one size, in the order of the job."""
    groups: dict[tuple[tuple[int, int], ...], list[tuple[str, int]]] = {}
    for blank in job.blanks:
        sides = (blank.length, 1 if blank.width is None else blank.width)
        lays = tuple(sorted({sides, sides[::-1]} if blank.rotate else {sides}))
        groups.setdefault(lays, []).append((blank.id, blank.count))
    return [PartSize(lays, sum(n for _, n in ids), tuple(name for name, _ in ids)) for lays, ids in groups.items()]


def _frames(job: Job, stock: Stock) -> list[_Frame]:
    """The board, once for each direction that the first cuts may have."""
    length = stock.length - 2 * stock.end_trim
    width = 1 if stock.width is None else stock.width - 2 * stock.edge_trim
    kx, ky = job.kerf.crosscut, job.kerf.rip
    frames = []
    if job.cutting.first in ("along", "either") or not job.is_flat:
        frames.append(_Frame(_stretches(stock), width, length, (kx, ky), False))
    if job.cutting.first in ("across", "either") and job.is_flat:
        frames.append(_Frame((width,), length, width, (ky, kx), True))
    return frames


def _stretches(stock: Stock) -> tuple[int, ...]:
    x, end, found = stock.end_trim, stock.length - stock.end_trim, []
    for x0, x1 in sorted(stock.unusable):
        found.append(min(x0, end) - x)
        x = max(x, x1)
    return tuple(stretch for stretch in [*found, end - x] if stretch > 0)


def _listed(own: _Regions, stock: Stock, frame: _Frame, aim: Aim) -> list[dict[Region, int]]:
    """The patterns of a board that reach the aim, first cut in one direction."""
    if _needs_sections(own.job, stock):
        return _in_sections(own, frame, aim)
    loads, yields, found = _strips_across(own, stock, frame)
    values = [own.value(_added((regions, 1))) for regions in yields]
    found = [row for row in found if aim.least is None or own.value(row) >= aim.least]
    for pattern in own.lister.some(loads, *_room_across(own.job, frame, loads), values, aim):
        found.append(_added(*zip(yields, pattern, strict=True)))
    own.lister.patterns_found(len(found))
    return found


def _best(own: _Regions, stock: Stock, frame: _Frame) -> int:
    """What the strips of the best pattern of a board are worth, first cut in one direction."""
    if _needs_sections(own.job, stock):
        aim = Aim(0, is_best=True)
        _in_sections(own, frame, aim)
        return aim.best
    loads, yields, found = _strips_across(own, stock, frame)
    values = [own.value(_added((regions, 1))) for regions in yields]
    best = own.lister.best(loads, *_room_across(own.job, frame, loads), values)
    return max([best, *map(own.value, found)])


def _strips_across(
    own: _Regions, stock: Stock, frame: _Frame
) -> tuple[list[Load], list[tuple[Region, ...]], list[dict[Region, int]]]:
    """The strips that are cut across a board, as loads and as what each yields; and the pattern of the board unripped,
    if there is one."""
    job, sizes = own.job, own.sizes
    rules, trim = job.rules, job.cutting.final_trim
    across = {lay[0] if frame.is_turned else lay[1] for size in sizes for lay in size.lays}
    yields: list[tuple[Region, ...]] = []
    loads: list[Load] = []
    found: list[dict[Region, int]] = []
    for width in sorted(across):
        if width > frame.width:
            continue
        inside = [_extent(size, width, is_turned=frame.is_turned, trim=trim) for size in sizes]
        fitting = (own.fits(frame, stretch, width, inside) for stretch in frame.stretches)
        regions = [region for region in fitting if region is not None]
        own.made.update(dict.fromkeys(regions))
        if not regions:
            continue
        if width == frame.width:
            found.append(_added((regions, 1)))  # the board as it is, without a rip
            continue
        if not stock.rip or width < (rules.least_strip or 0) or frame.length < (rules.shortest_rip or 0):
            continue
        enough = 0
        for size, extent in zip(sizes, inside, strict=True):
            per = sum((stretch + frame.inner) // (extent + frame.inner) for stretch in frame.stretches)
            enough += -(-size.count // per) if per and extent else 0
        narrow = job.is_flat and rules.narrow_below is not None and width < rules.narrow_below
        loads.append((width + frame.outer, enough, narrow))
        yields.append(tuple(regions))
    return loads, yields, found


def _room_across(job: Job, frame: _Frame, loads: Sequence[Load]) -> tuple[int, int]:
    """What all strips together may take of the width, and what narrow ones may."""
    rules, room = job.rules, frame.width + frame.outer
    if rules.least_remainder is not None and job.is_flat:
        room = frame.width - rules.least_remainder
    hand = room
    if any(narrow for _, _, narrow in loads):
        hand = min(room, frame.width - (rules.parent_wood or 0))
    return room, hand


def _in_sections(own: _Regions, frame: _Frame, aim: Aim) -> list[dict[Region, int]]:
    """The patterns of a board that is crosscut into sections, each of which is ripped into strips.

    Pieces as wide as the board are crosscut beside the sections.
    """
    rules, kerf, sizes, lister = own.job.rules, frame.inner, own.sizes, own.lister
    extents: dict[int, list[int]] = {}
    for width in sorted({across for size in sizes for _, across in size.lays if across <= frame.width}):
        extents[width] = [_extent(size, width, is_turned=False, trim=False) for size in sizes]
    widths = [width for width in extents if (rules.least_strip or 0) <= width < frame.width]
    room = frame.width + frame.outer
    thin = rules.narrow_below or 0
    loads = [(width + frame.outer, room // (width + frame.outer), width < thin) for width in widths]
    ways = lister.some(loads, *_room_across(own.job, frame, loads))
    spare = 0 if rules.least_remainder is None else kerf + rules.least_remainder
    sums = {width: _sums(extents[width], sizes, max(frame.stretches, default=0), kerf, lister) for width in extents}

    @cache
    def strip(length: int, width: int) -> tuple[Region | None, int]:
        """The strip of a section, if anything fits in it, and the most such strips that a section has."""
        often = 0
        for size, extent in zip(sizes, extents[width], strict=True):
            often += -(-size.count // ((length + kerf) // (extent + kerf))) if extent <= length else 0
        return own.fits(frame, length, width, extents[width]), often

    def strips(length: int, width: int, count: int) -> tuple[Region | None, int]:
        """The strip of a section, if anything fits in it, and how many of `count` such strips a pattern has."""
        region, often = strip(length, width)
        return region, min(count, often)

    def of_section(way: int, length: int) -> list[tuple[Region, int]]:
        """The strips of a section that is ripped in this way."""
        made = [strips(length, width, n) for width, n in zip(widths, ways[way], strict=True) if n]
        return [(region, n) for region, n in made if region is not None]

    def of_stretch(stretch: int, target: Aim) -> list[dict[Region, int]]:
        """The choices of sections of one stretch that reach the aim."""
        longest = min(stretch, rules.longest_rip or stretch) - spare
        base = (rules.shortest_rip or 0) - spare
        lengths: list[list[int]] = []
        for way in ways:
            inside = {length for width, n in zip(widths, way, strict=True) for length in sums[width] if n}
            fits = {length for length in inside if base < length <= longest}
            if base > 0 and base <= longest and any(length <= base for length in inside):
                fits.add(base)
            lengths.append(sorted(fits))
        wholes = sums.get(frame.width, [])
        plan = _Sections(
            lengths,
            wholes,
            stretch,
            kerf,
            spare,
            None if rules.longest_rip is None else rules.longest_rip - spare - kerf,
        )
        if target.least is not None:
            plan.values = [
                {length: sum(n * own.worth(region) for region, n in of_section(way, length)) for length in fits}
                for way, fits in enumerate(lengths)
            ]
            for whole in wholes:
                region, n = strips(whole, frame.width, 1)
                plan.whole_values[whole] = n * own.worth(region) if region else 0
        rows: dict[tuple[tuple[Region, int], ...], None] = {}
        for chosen, whole in plan.maximal(lister, target):
            parts = [pair for way, length in chosen for pair in of_section(way, length)]
            if whole:
                region, n = strips(whole, frame.width, 1)
                parts += [(region, n)] if region is not None else []
            row = _added(*(((region,), n) for region, n in parts))
            if row:
                rows.setdefault(tuple(sorted(row.items(), key=lambda pair: _place(pair[0]))))
        return [dict(row) for row in rows]

    best = [0] * len(frame.stretches)
    if aim.least is not None:
        for n, stretch in enumerate(frame.stretches):
            target = Aim(0, is_best=True)
            of_stretch(stretch, target)
            best[n] = target.best
        if aim.is_best:
            aim.found(sum(best))
            return []
    found: list[dict[Region, int]] = [{}]
    for n, stretch in enumerate(frame.stretches):
        others = sum(best) - best[n]
        rows = of_stretch(stretch, Aim(None if aim.least is None else aim.least - others))
        if rows:
            both = []
            for one in found:
                for two in rows:
                    lister.step()
                    row = _added(*(((region,), n) for region, n in (*one.items(), *two.items())))
                    if aim.least is None or own.value(row) + sum(best[n + 1 :]) >= aim.least:
                        both.append(row)
            found = both
    found = [row for row in found if row]
    own.made.update(dict.fromkeys(region for row in found for region in row))
    lister.patterns_found(len(found))
    return found


def _sums(extents: Sequence[int], sizes: Sequence[PartSize], longest: int, kerf: int, lister: Lister) -> list[int]:
    """The lengths up to `longest` of parts with kerfs between them, each size at most as often as it is needed."""
    sums = {0}
    for extent, size in zip(extents, sizes, strict=True):
        if extent <= longest:
            more = set(sums)
            for total in sums:
                for n in range(1, min(size.count, (longest + kerf - total) // (extent + kerf)) + 1):
                    lister.step()
                    more.add(total + n * (extent + kerf))
            sums = more
    return sorted(total - kerf for total in sums if total)


@dataclass(slots=True)
class _Sections:
    """The sections that one stretch may be crosscut into.

    `lengths` has the useful lengths of the strips of a section that is ripped in each way, `wholes` those of what is
    as wide as the board. Two sections of one way are joined if their lengths are together at most `join`; if that is
    None, always. `values` and `whole_values`: what they are worth, if only some are wanted.
    """

    lengths: Sequence[Sequence[int]]
    wholes: Sequence[int]
    stretch: int
    kerf: int
    spare: int
    join: int | None
    values: Sequence[dict[int, int]] = ()
    whole_values: dict[int, int] = field(default_factory=dict)

    def maximal(self, lister: Lister, aim: Aim) -> Iterator[tuple[list[tuple[int, int]], int]]:
        """Every maximal choice of sections, as (way, length), and the length of what is as wide as the board."""
        lengths, kerf = self.lengths, self.kerf
        chosen: list[tuple[int, int]] = []
        tables = self._tables() if aim.least is not None else []

        def least_apart(way: int) -> int:
            """A section of this way must be at least as long as this, or it would be joined with another."""
            own = [length for k, length in chosen if k == way]
            return 0 if not own else _NEVER if self.join is None else self.join - min(own) + 1

        def is_full(slack: int) -> bool:
            for way, length in chosen:
                longer = bisect_right(lengths[way], length)
                if longer < len(lengths[way]) and lengths[way][longer] - length <= slack:
                    return False
            for way, own in enumerate(lengths):
                least = bisect_left(own, least_apart(way))
                if least < len(own) and own[least] + self.spare + kerf <= slack:
                    return False
            return True

        def choose(way: int, most: int, left: int, value: int) -> Iterator[tuple[list[tuple[int, int]], int]]:
            """Adds sections of ways from `way` on; of this way, none longer than `most`."""
            if tables and aim.least is not None and value + tables[way].at(left) < aim.least:
                return
            lister.step()
            if way == len(lengths):
                place = bisect_right(self.wholes, left - kerf)
                whole = self.wholes[place - 1] if place else 0
                if is_full(left - whole - kerf if whole else left):
                    aim.found(value + self.whole_values.get(whole, 0))
                    yield list(chosen), whole
                return
            least = least_apart(way)
            for length in lengths[way]:
                if least <= length <= most and length + self.spare + kerf <= left:
                    chosen.append((way, length))
                    more = self.values[way][length] if tables else 0
                    yield from choose(way, length, left - length - self.spare - kerf, value + more)
                    chosen.pop()
            yield from choose(way + 1, _NEVER, left, value)

        yield from choose(0, _NEVER, self.stretch + kerf, 0)

    def _tables(self) -> list[KnapsackTable]:
        """For each way, the most that sections of it and of later ways are worth at each length, or more."""
        room = self.stretch + self.kerf
        # The longest of these that fits is worth most, so one of them is enough.
        tables = [KnapsackTable([(whole + self.kerf, 1, self.whole_values[whole]) for whole in self.wholes], room)]
        for values in reversed(self.values):
            loads = []
            best = -1
            for length, value in sorted(values.items()):
                if value > best:  # otherwise a shorter section is as good
                    loads.append((length + self.spare + self.kerf, 1 if self.join is None else room, value))
                    best = value
            tables.append(KnapsackTable(loads, room, (tables[-1], room)))
        return tables[::-1]


def _added(*parts: tuple[Sequence[Region], int]) -> dict[Region, int]:
    total: dict[Region, int] = {}
    for regions, count in parts:
        for region in regions if count else ():
            total[region] = total.get(region, 0) + count
    return total


def _extent(size: PartSize, width: int, *, is_turned: bool, trim: bool) -> int:
    """The least length that a blank takes in a strip of this width; a length that never fits if it cannot lie there."""
    lays = [lay[::-1] for lay in size.lays] if is_turned else list(size.lays)
    fitting = [length for length, across in lays if across == width or (trim and across < width)]
    return min(fitting, default=_NEVER)


_NEVER = 10**10  # longer than any stock


def price_step(job: Job) -> int:
    """The greatest common divisor of all costs; every plan costs a multiple of it."""
    return gcd(*(stock.cost for stock in job.stock)) or 1
