"""Lists every way to cut a job's stock in two stages, for the check of a proof tree.

A pattern says into how many smaller regions, or blanks, one region is cut. Stock is cut into strips (rip first) or
sections (crosscut first), and these into blanks. Stock that must be crosscut before it is ripped is cut into the strips
of all its sections (`section_patterns`). Only maximal patterns are listed, because at least one cheapest plan
can be written with them (the guide's topic `proofs` gives the reason). This module shares no code with the planner.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import gcd
from typing import Any

from woodshop.cutting.model.job import Job, Rules, Stock

MOST_PATTERNS = 20_000
_MOST_STEPS = 500_000
_MOST_KINDS = 200
_MOST_WAYS = 10_000_000  # stock, times the square of the sizes
_MOST_ENTRIES = 20_000_000  # of an array

Region = tuple[str | int, ...]
"""("stock", id), ("strip", length, width) or ("section", length, width)."""

Load = tuple[int, int, bool]
"""A kind of part in a region: its size with kerf, its maximum count, and whether it is a narrow rip."""


class NotCoveredError(Exception):
    """The job has cuts that proof trees do not cover, or too many patterns; the text says which."""


@dataclass(frozen=True, slots=True)
class Patterns:
    """Every maximal pattern of a job. Arrays hold 64-bit integers.

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
class _Size:
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


def patterns_of(job: Job) -> Patterns:
    """Every maximal pattern of the job. Raises NotCoveredError."""
    _refuse(job)
    sizes = _sizes(job)
    if len(sizes) > _MOST_KINDS or len(job.stock) * len(sizes) ** 2 > _MOST_WAYS:
        raise NotCoveredError(f"{len(sizes)} sizes of part and {len(job.stock)} kinds of stock, which are too many")
    counter = _Counter()
    low: dict[Region, list[tuple[int, ...]]] = {}
    high: list[list[dict[Region, int]]] = []
    for stock in job.stock:
        rows: dict[tuple[tuple[Region, int], ...], None] = {}
        for frame in _frames(job, stock):
            listed = _in_sections if _needs_sections(job, stock) else _stock_patterns
            for row in listed(job, stock, frame, sizes, low, counter):
                rows.setdefault(tuple(sorted(row.items(), key=lambda pair: _place(pair[0]))))
        high.append([dict(row) for row in rows])
    strips = tuple(sorted(low, key=_place))
    number = {region: n for n, region in enumerate(strips)}
    of = [j for j, rows_of_stock in enumerate(high) for _ in rows_of_stock]
    if (len(of) + counter.patterns) * (len(strips) + len(sizes)) > _MOST_ENTRIES:
        raise NotCoveredError(f"{counter.patterns:,} patterns of {len(strips):,} strips, which are too many")
    import numpy

    table = numpy.zeros((len(of), len(strips)), dtype=numpy.int64)
    for n, row in enumerate(row for rows_of_stock in high for row in rows_of_stock):
        for region, count in row.items():
            table[n, number[region]] = count
    below = [pattern for region in strips for pattern in low[region]]
    return Patterns(
        tuple((size.ids, size.count) for size in sizes),
        strips,
        numpy.array(below, dtype=numpy.int64).reshape(len(below), len(sizes)),
        numpy.array([number[region] for region in strips for _ in low[region]], dtype=numpy.int64),
        table,
        numpy.array(of, dtype=numpy.int64),
    )


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


def _sizes(job: Job) -> list[_Size]:
    """The blanks of the job, those with equal sides and equal turning as one size, in the order of the job."""
    groups: dict[tuple[tuple[int, int], ...], list[tuple[str, int]]] = {}
    for blank in job.blanks:
        sides = (blank.length, 1 if blank.width is None else blank.width)
        lays = tuple(sorted({sides, sides[::-1]} if blank.rotate else {sides}))
        groups.setdefault(lays, []).append((blank.id, blank.count))
    return [_Size(lays, sum(n for _, n in ids), tuple(name for name, _ in ids)) for lays, ids in groups.items()]


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


def _stock_patterns(
    job: Job,
    stock: Stock,
    frame: _Frame,
    sizes: Sequence[_Size],
    low: dict[Region, list[tuple[int, ...]]],
    counter: "_Counter",
) -> list[dict[Region, int]]:
    """The patterns of one board, first cut in one direction. Adds the patterns of new strips to `low`."""
    rules, trim = job.rules, job.cutting.final_trim
    across = {lay[0] if frame.is_turned else lay[1] for size in sizes for lay in size.lays}
    yields: list[tuple[Region, ...]] = []
    loads: list[Load] = []
    found: list[dict[Region, int]] = []
    for width in sorted(across):
        if width > frame.width:
            continue
        inside = [_extent(size, width, is_turned=frame.is_turned, trim=trim) for size in sizes]
        regions = []
        for stretch in frame.stretches:
            region = frame.region(stretch, width)
            if region not in low:
                loads_inside = [
                    (extent + frame.inner, size.count if extent <= stretch else 0, False)
                    for size, extent in zip(sizes, inside, strict=True)
                ]
                low[region] = counter.some(loads_inside, stretch + frame.inner)
            if low[region]:
                regions.append(region)
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
    for pattern in counter.some(loads, *_room_across(job, frame, loads)):
        found.append(_added(*zip(yields, pattern, strict=True)))
    return found


def _room_across(job: Job, frame: _Frame, loads: Sequence[Load]) -> tuple[int, int]:
    """What all strips together may take of the width, and what narrow ones may."""
    rules, room = job.rules, frame.width + frame.outer
    if rules.least_remainder is not None and job.is_flat:
        room = frame.width - rules.least_remainder
    hand = room
    if any(narrow for _, _, narrow in loads):
        hand = min(room, frame.width - (rules.parent_wood or 0))
    return room, hand


def _in_sections(
    job: Job,
    stock: Stock,
    frame: _Frame,
    sizes: Sequence[_Size],
    low: dict[Region, list[tuple[int, ...]]],
    counter: "_Counter",
) -> list[dict[Region, int]]:
    """The patterns of a board that is crosscut into sections, each of which is ripped into strips.

    Pieces as wide as the board are crosscut beside the sections. Adds the patterns of new strips to `low`.
    """
    rules, kerf = job.rules, frame.inner
    extents: dict[int, list[int]] = {}
    for width in sorted({across for size in sizes for _, across in size.lays if across <= frame.width}):
        extents[width] = [_extent(size, width, is_turned=False, trim=False) for size in sizes]
    widths = [width for width in extents if (rules.least_strip or 0) <= width < frame.width]
    room = frame.width + frame.outer
    thin = rules.narrow_below or 0
    loads = [(width + frame.outer, room // (width + frame.outer), width < thin) for width in widths]
    ways = counter.some(loads, *_room_across(job, frame, loads))
    spare = 0 if rules.least_remainder is None else kerf + rules.least_remainder
    sums = {width: _sums(own, sizes, max(frame.stretches, default=0), kerf, counter) for width, own in extents.items()}
    found: list[dict[Region, int]] = [{}]
    for stretch in frame.stretches:
        longest = min(stretch, rules.longest_rip or stretch) - spare
        base = (rules.shortest_rip or 0) - spare
        lengths: list[list[int]] = []
        for way in ways:
            inside = {length for width, n in zip(widths, way, strict=True) for length in sums[width] if n}
            fits = {length for length in inside if base < length <= longest}
            if base > 0 and base <= longest and any(length <= base for length in inside):
                fits.add(base)
            lengths.append(sorted(fits))
        join = None if rules.longest_rip is None else rules.longest_rip - spare - kerf
        rows: dict[tuple[tuple[Region, int], ...], None] = {}
        for chosen, whole in _sections(lengths, sums.get(frame.width, []), stretch, kerf, spare, join, counter):
            row: dict[Region, int] = {}
            parts = [(length, width, n) for k, length in chosen for width, n in zip(widths, ways[k], strict=True) if n]
            for length, width, n in [*parts, *([(whole, frame.width, 1)] if whole else [])]:
                region = frame.region(length, width)
                if region not in low:
                    low[region] = counter.some(
                        [
                            (extent + kerf, size.count if extent <= length else 0, False)
                            for size, extent in zip(sizes, extents[width], strict=True)
                        ],
                        length + kerf,
                    )
                if low[region]:
                    enough = sum(
                        -(-size.count // ((length + kerf) // (extent + kerf)))
                        for size, extent in zip(sizes, extents[width], strict=True)
                        if extent <= length
                    )
                    row[region] = row.get(region, 0) + min(n, enough)
            if row:
                rows.setdefault(tuple(sorted(row.items(), key=lambda pair: _place(pair[0]))))
        if rows:
            both = []
            for first in found:
                for second in rows:
                    counter.pattern()
                    both.append(_added(*(((region,), n) for region, n in (*first.items(), *second))))
            found = both
    return [row for row in found if row]


def _sums(extents: Sequence[int], sizes: Sequence[_Size], longest: int, kerf: int, counter: "_Counter") -> list[int]:
    """The lengths up to `longest` of parts with kerfs between them, each size at most as often as it is needed."""
    sums = {0}
    for extent, size in zip(extents, sizes, strict=True):
        if extent <= longest:
            more = set(sums)
            for total in sums:
                for n in range(1, min(size.count, (longest + kerf - total) // (extent + kerf)) + 1):
                    counter.step()
                    more.add(total + n * (extent + kerf))
            sums = more
    return sorted(total - kerf for total in sums if total)


def _sections(
    lengths: Sequence[Sequence[int]],
    wholes: Sequence[int],
    stretch: int,
    kerf: int,
    spare: int,
    join: int | None,
    counter: "_Counter",
) -> Iterator[tuple[list[tuple[int, int]], int]]:
    """Every maximal choice of sections of a stretch, as (way, length), and the length of what is as wide as the board.

    `lengths` has the useful lengths of the strips of a section that is ripped in each way. Two sections of one way are
    joined if their lengths are together at most `join`; if that is None, always.
    """
    chosen: list[tuple[int, int]] = []

    def least_apart(way: int) -> int:
        """A section of this way must be at least as long as this, or it would be joined with another."""
        own = [length for k, length in chosen if k == way]
        return 0 if not own else _NEVER if join is None else join - min(own) + 1

    def is_full(slack: int) -> bool:
        for way, length in chosen:
            longer = bisect_right(lengths[way], length)
            if longer < len(lengths[way]) and lengths[way][longer] - length <= slack:
                return False
        for way, own in enumerate(lengths):
            least = bisect_left(own, least_apart(way))
            if least < len(own) and own[least] + spare + kerf <= slack:
                return False
        return True

    def choose(way: int, most: int, left: int) -> Iterator[tuple[list[tuple[int, int]], int]]:
        """Adds sections of ways from `way` on; of this way, none longer than `most`."""
        counter.step()
        if way == len(lengths):
            place = bisect_right(wholes, left - kerf)
            whole = wholes[place - 1] if place else 0
            if is_full(left - whole - kerf if whole else left):
                yield list(chosen), whole
            return
        least = least_apart(way)
        for length in lengths[way]:
            if least <= length <= most and length + spare + kerf <= left:
                chosen.append((way, length))
                yield from choose(way, length, left - length - spare - kerf)
                chosen.pop()
        yield from choose(way + 1, _NEVER, left)

    yield from choose(0, _NEVER, stretch + kerf)


def _added(*parts: tuple[Sequence[Region], int]) -> dict[Region, int]:
    total: dict[Region, int] = {}
    for regions, count in parts:
        for region in regions if count else ():
            total[region] = total.get(region, 0) + count
    return total


def _extent(size: _Size, width: int, *, is_turned: bool, trim: bool) -> int:
    """The least length that a blank takes in a strip of this width; a length that never fits if it cannot lie there."""
    lays = [lay[::-1] for lay in size.lays] if is_turned else list(size.lays)
    fitting = [length for length, across in lays if across == width or (trim and across < width)]
    return min(fitting, default=_NEVER)


_NEVER = 10**10  # longer than any stock


class _Counter:
    """Lists maximal patterns, and counts the patterns and the steps of all lists of a job."""

    def __init__(self) -> None:
        self.patterns = 0
        self.steps = 0

    def step(self) -> None:
        """Counts one more step. Raises NotCoveredError."""
        self.steps += 1
        if self.steps > _MOST_STEPS:
            raise NotCoveredError("too many patterns to list")

    def pattern(self) -> None:
        """Counts one more pattern. Raises NotCoveredError."""
        self.patterns += 1
        if self.patterns > MOST_PATTERNS:
            raise NotCoveredError(f"more than {MOST_PATTERNS:,} patterns")

    def some(self, loads: Sequence[Load], room: int, hand: int | None = None) -> list[tuple[int, ...]]:
        """The choices of `maximal` that have at least one part."""
        return [choice for choice in self.maximal(loads, room, hand) if any(choice)]

    def maximal(self, loads: Sequence[Load], room: int, hand: int | None = None) -> list[tuple[int, ...]]:
        """Every choice of the loads that fits `room` and to which nothing can be added.

        The narrow ones together take at most `hand`. The empty choice is the only one if nothing fits.
        """
        thin_room = room if hand is None else hand
        order = sorted(
            (i for i, load in enumerate(loads) if load[1] > 0 and load[0] <= room), key=lambda i: -loads[i][0]
        )
        rest = [0] * (len(order) + 1)
        for place in reversed(range(len(order))):
            size, most, _ = loads[order[place]]
            rest[place] = rest[place + 1] + size * most
        counts = [0] * len(loads)
        found: list[tuple[int, ...]] = []

        def is_maximal(left: int, thin: int) -> bool:
            return not any(
                counts[i] < loads[i][1] and loads[i][0] <= (min(left, thin) if loads[i][2] else left) for i in order
            )

        def fill(place: int, left: int, thin: int, gap: int) -> None:
            """`gap`: nothing that is already passed over would fit if less than this were left."""
            self.step()
            if place == len(order):
                if is_maximal(left, thin):
                    self.pattern()
                    found.append(tuple(counts))
                return
            i = order[place]
            size, most, narrow = loads[i]
            most = min(most, max(0, min(left, thin) if narrow else left) // size)
            for count in range(most, -1, -1):
                after = left - count * size
                passed = min(gap, size) if count < loads[i][1] and not narrow else gap
                if after - rest[place + 1] >= passed:
                    break  # one more of something wider always fits
                counts[i] = count
                fill(place + 1, after, thin - count * size if narrow else thin, passed)
            counts[i] = 0

        fill(0, room, thin_room, room + 1)
        return found


def price_step(job: Job) -> int:
    """The greatest common divisor of all costs; every plan costs a multiple of it."""
    return gcd(*(stock.cost for stock in job.stock)) or 1
