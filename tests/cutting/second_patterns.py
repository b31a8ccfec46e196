"""Lists every pattern of a cutting job, from the guide's topics `proofs` and `jobs` alone.

Its author had those two topics and the schemas of a job and a proof, but none of this project's code. It imports the
standard library only. Jobs of three stages have no patterns; they, and what their stock is worth (`worth_in_three`),
were added from the topic `proofs` by authors who knew the project's own check.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterator
from functools import cache
from typing import Any, NamedTuple

Region = tuple[Any, ...]  # ("stock", id), ("strip", length, width) or ("section", length, width)
Content = tuple[tuple[Any, int], ...]  # sorted pairs: size number or region, and how often


class Size(NamedTuple):
    """Blanks of one length and width."""

    length: int
    width: int
    turn: bool
    wanted: int


class Stock(NamedTuple):
    """One stock of the job with its trims taken off."""

    name: str
    cost: int
    have: int | None
    between: int
    width: int
    stretches: tuple[int, ...]
    unusable: bool
    rip: bool


def need(condition: bool, reason: str) -> None:
    """Refuse unless the condition holds."""
    if not condition:
        raise ValueError(reason)


class Job:
    """The job's sizes, stock and rules, and all patterns of it."""

    def __init__(self, job: dict[str, Any]) -> None:
        """Read the job and list its patterns."""
        need(job.get("format") == "woodshop-job/1", "not a job of format 1")
        widths = ["width" in x for x in job["stock"] + job["blanks"]]
        self.alone = not any(widths)
        need(self.alone or all(widths), "some widths are left out")
        self.kx: int = job["kerf"]["crosscut"]
        self.ky: int = 0 if self.alone else job["kerf"]["rip"]
        self.rules: dict[str, Any] = {} if self.alone else job.get("rules", {})
        cutting = job["cutting"]
        self.first: str = "along" if self.alone else cutting["first"]
        self.trim: bool = not self.alone and cutting["final_trim"]
        self.three: bool = not self.alone and cutting["stages"] == 3
        self.number_of: dict[str, int] = {}  # of each blank's size
        self.sizes, self.parts = self._sizes(job["blanks"])
        self.stock = [self._stock(x) for x in job["stock"]]
        self._coverage()
        self.patterns: dict[Region, list[Content]] = {}
        for stock in self.stock:
            self.patterns["stock", stock.name] = [] if self.three else sorted(self._of_stock(stock))

    def _sizes(self, blanks: list[dict[str, Any]]) -> tuple[list[Size], list[str]]:
        """The sizes in the order of the job, and the id of each one's first blank."""
        counts: dict[tuple[int, int, bool], int] = {}
        names: dict[tuple[int, int, bool], str] = {}
        for b in blanks:
            width = 1 if self.alone else b["width"]
            turn = b.get("rotate", False) and b["length"] != width
            pair = (b["length"], width)
            key = (max(pair), min(pair), True) if turn else (*pair, False)  # turned, 30 x 15 is one size with 15 x 30
            counts[key] = counts.get(key, 0) + b["count"]
            self.number_of[b["id"]] = list(counts).index(key)
            names.setdefault(key, b["id"])
        return [Size(*key, n) for key, n in counts.items()], list(names.values())

    def _stock(self, s: dict[str, Any]) -> Stock:
        """The stock with its stretches and the width between the edge trims."""
        trim = s.get("end_trim", 0)
        end = s["length"] - trim
        stretches: list[int] = []
        at = trim
        for a, b in [*sorted(s.get("unusable", [])), (end, end)]:
            if min(a, end) > at:
                stretches.append(min(a, end) - at)
            at = max(at, b)
        width = 1 if self.alone else s["width"] - 2 * s.get("edge_trim", 0)
        return Stock(
            s["id"],
            s["cost"],
            s.get("count"),
            end - trim,
            width,
            tuple(stretches),
            bool(s.get("unusable")),
            s.get("rip", True),
        )

    def _too_long(self, stock: Stock) -> bool:
        """Whether the stock is longer than may be ripped."""
        return "longest_rip" in self.rules and stock.between > self.rules["longest_rip"]

    def is_in_sections(self, stock: Stock) -> bool:
        """Whether the stock is crosscut into sections before it is ripped."""
        return stock.rip and (self._too_long(stock) or (stock.unusable and "defects" in self.rules))

    def _coverage(self) -> None:
        """Refuse jobs to which trees do not apply."""
        if self.alone:
            return
        if self.three:
            need(not set(self.rules) - {"surplus"} and not self.trim, "three stages with rules or final_trim")
            need(all(s.rip and not s.unusable for s in self.stock), "three stages with defects or no rip")
            return
        for s in self.stock:
            crossing = self._too_long(s) and s.unusable and "defects" not in self.rules and s.rip
            need(not crossing, "stock too long to rip has unusable stretches")
            need(
                self.first == "along" or (not s.unusable and s.rip),
                "stock that is crosscut first has defects or no rip",
            )
        plain = not set(self.rules) - {"surplus"}
        need(plain or (not self.trim and self.first == "along"), "rules with final_trim, or not along")

    def _reach(self, across: bool, w: int) -> dict[int, int]:
        """The sizes that go into a strip of width w (a section of length w), each with what it takes there."""
        out: dict[int, int] = {}
        for i, s in enumerate(self.sizes):
            ways = [(s.length, s.width), (s.width, s.length)] if s.turn else [(s.length, s.width)]
            for length, width in ways:
                beside, along = (length, width) if across else (width, length)
                if beside == w or (self.trim and beside < w):
                    out[i] = min(along, out.get(i, along))
        return out

    def _breadths(self, across: bool) -> list[int]:
        """All widths of strips (lengths of sections) that a size asks for."""
        turned = {s.width if across else s.length for s in self.sizes if s.turn}
        return sorted(turned | {s.length if across else s.width for s in self.sizes})

    def _piece(self, region: Region) -> bool:
        """List the patterns of a strip or section; say whether something fits."""
        if region not in self.patterns:
            kind, length, width = region
            across = kind == "section"
            kerf = self.ky if across else self.kx
            reach = self._reach(across, length if across else width)
            items = [(i, take + kerf, self.sizes[i].wanted, False) for i, take in reach.items()]
            found = list(maximal(items, (width if across else length) + kerf, None))
            if not found:
                return False
            self.patterns[region] = found
        return True

    def most(self, across: bool, w: int, lengths: tuple[int, ...]) -> int:
        """E: how many strips of width w over these lengths are ever of use."""
        kerf = self.ky if across else self.kx
        total = 0
        for i, take in self._reach(across, w).items():
            n = sum((x + kerf) // (take + kerf) for x in lengths if x >= take)
            total += -(-self.sizes[i].wanted // n) if n else 0
        return total

    def _of_stock(self, s: Stock) -> set[Content]:
        """All patterns of one stock."""
        out: set[Content] = set()
        if self.first in ("along", "either"):
            if self.is_in_sections(s):
                out |= self._in_sections(s)
            else:
                out |= self._first(s, False, s.width, s.stretches)
        if self.first in ("across", "either") and s.width > 0:
            out |= self._first(s, True, s.between, (s.width,))
        return out

    def _first(self, s: Stock, across: bool, whole: int, lengths: tuple[int, ...]) -> set[Content]:
        """Patterns of stock that is cut to strips over these lengths, or to sections."""
        if whole <= 0:
            return set()
        kerf = self.kx if across else self.ky

        def regions(w: int) -> Counter[Region]:
            every = (("section", w, x) if across else ("strip", x, w) for x in lengths)
            return Counter(r for r in every if self._piece(r))

        out: set[Content] = set()
        items: list[tuple[int, int, int, bool]] = []
        barred = not self.alone and (not s.rip or s.between < self.rules.get("shortest_rip", 0))
        for w in self._breadths(across):
            if w <= whole:
                regions(w)  # such strips may be named, even where a rule leaves them out
            if w < whole and not barred and w >= self.rules.get("least_strip", 0):
                items.append((w, w + kerf, self.most(across, w, lengths), w < self.rules.get("narrow_below", 0)))
            elif w == whole and (strips := regions(w)):
                out.add(tuple(sorted(strips.items())))
        for counts in maximal(items, self._rip_room(whole, kerf), self._narrow_room(whole)):
            strips = Counter[Region]()
            for w, n in counts:
                strips.update({region: n * times for region, times in regions(w).items()})
            out.add(tuple(sorted(strips.items())))
        return out

    def _rip_room(self, width: int, kerf: int) -> int:
        """The most that strips with a kerf each may take of this width."""
        rest = self.rules.get("least_remainder")
        return width + kerf if rest is None else width - rest

    def _narrow_room(self, width: int) -> int | None:
        """The most that narrow strips may take of this width."""
        return width - self.rules["parent_wood"] if "narrow_below" in self.rules else None

    def _in_sections(self, s: Stock) -> set[Content]:
        """Patterns of stock that is crosscut to sections, which are ripped."""
        width = s.width
        if width <= 0:
            return set()
        reach = max(s.stretches, default=0)
        sums = {w: self._sums(w, reach) for w in self._breadths(False) if w <= width}
        items = [
            (w, w + self.ky, (width + self.ky) // (w + self.ky), w < self.rules.get("narrow_below", 0))
            for w in sums
            if w < width and w >= self.rules.get("least_strip", 0)
        ]
        ways = list(maximal(items, self._rip_room(width, self.ky), self._narrow_room(width)))
        partial: set[Content] = {()}
        for stretch in s.stretches:
            choices = Choices(self, width, stretch, ways, sums).found
            joined: set[Content] = set()
            for one in partial:
                joined.update(tuple(sorted((Counter(dict(one)) + Counter(dict(x))).items())) for x in choices)
            partial = joined
        partial.discard(())
        for pattern in partial:
            for region, _ in pattern:
                need(self._piece(region), "a strip in which nothing fits")
        return partial

    def _sums(self, w: int, reach: int) -> list[int]:
        """All sums of a width that are at most reach, ascending."""
        mask = 1
        room = (1 << (reach + self.kx + 1)) - 1 if reach > 0 else 1
        for i, take in self._reach(False, w).items():
            left, step = min(self.sizes[i].wanted, max(reach, 0) + 1), 1
            while left > 0:  # counts in doubling bundles
                n = min(step, left)
                if n * (take + self.kx) <= reach + self.kx:
                    mask |= (mask << (n * (take + self.kx))) & room
                elif step > 1:  # the rest of the bundle one at a time
                    for _ in range(min(n, (reach + self.kx) // (take + self.kx))):
                        mask |= (mask << (take + self.kx)) & room
                left -= n
                step *= 2
        bits = bin(mask)[:1:-1]
        return [v - self.kx for v, bit in enumerate(bits) if bit == "1" and v > 0]


class Choices:
    """All choices of sections for one stretch."""

    def __init__(self, job: Job, width: int, stretch: int, ways: list[Content], sums: dict[int, list[int]]) -> None:
        """List the sections of each way and then the choices."""
        self.job, self.width, self.stretch, self.ways = job, width, stretch, ways
        rules = job.rules
        self.e = job.kx + rules["least_remainder"] if "least_remainder" in rules else 0
        self.longest: int | None = rules.get("longest_rip")
        self.full = sums.get(width, [])
        shortest = rules.get("shortest_rip", 0)
        top = (stretch if self.longest is None else min(stretch, self.longest)) - self.e
        self.lengths: list[list[int]] = []
        for way in ways:
            every = {x for w, _ in way for x in sums[w]}
            good = {x for x in every if x + self.e > shortest and x <= top}
            if every and shortest - self.e >= min(every) and shortest - self.e <= top:
                good.add(shortest - self.e)
            self.lengths.append(sorted(good))
        self.least = min((xs[0] for xs in self.lengths if xs), default=None)
        self.most = cache(lambda w, x: job.most(False, w, (x,)))
        self.found: set[Content] = set()
        self._grow([], 0, 0, stretch + job.kx)

    def _grow(self, chosen: list[tuple[int, int]], way: int, at: int, room: int) -> None:
        """Keep this choice if nothing is left, and add sections from here on."""
        self._keep(chosen, room)
        if self.least is None or self.least + self.e + self.job.kx > room:
            return
        for a in range(way, len(self.ways)):
            xs = self.lengths[a]
            for j in range(at if a == way else 0, len(xs)):
                takes = xs[j] + self.e + self.job.kx
                if takes > room:
                    break
                if self._apart(chosen, a, xs[j]):
                    self._grow([*chosen, (a, j)], a, j, room - takes)

    def _apart(self, chosen: list[tuple[int, int]], way: int, x: int) -> bool:
        """Whether a section of this length may lie beside those chosen of its way."""
        for a, i in chosen:
            together = x + self.job.kx + self.lengths[a][i] + self.e
            if a == way and (self.longest is None or together <= self.longest):
                return False
        return True

    def _keep(self, chosen: list[tuple[int, int]], room: int) -> None:
        """Add the choice to those found, unless a section could be longer or be added."""
        kx = self.job.kx
        at = bisect_right(self.full, room - kx)
        left = room - self.full[at - 1] - kx if at else room
        for a, j in chosen:
            xs = self.lengths[a]
            if j + 1 < len(xs) and xs[j + 1] - xs[j] <= left:
                return
        if self.least is not None and self.least + self.e + kx <= left:
            for a, xs in enumerate(self.lengths):
                fit = bisect_right(xs, left - self.e - kx)
                if fit and self._apart(chosen, a, xs[fit - 1]):
                    return
        strips = Counter[Region]()
        for a, j in chosen:
            x = self.lengths[a][j]
            for w, n in self.ways[a]:
                if times := min(n, self.most(w, x)):
                    strips["strip", x, w] += times
        if at:
            strips["strip", self.full[at - 1], self.width] += 1
        self.found.add(tuple(sorted(strips.items())))


def maximal(items: list[tuple[Any, int, int, bool]], room: int, narrow_room: int | None) -> Iterator[Content]:
    """All counts of (name, what one takes, the most of it, narrow), not all 0, to which nothing can be added."""
    order = sorted((x for x in items if x[2] > 0), key=lambda x: (-x[1], x[0]))
    limit = max(room, 0) if narrow_room is None else narrow_room
    after = [0] * (len(order) + 1)
    for i in range(len(order) - 1, -1, -1):
        after[i] = after[i + 1] + order[i][1] * order[i][2]
    counts = [0] * len(order)

    def walk(i: int, room: int, narrow: int, open_take: int | None) -> Iterator[Content]:
        if open_take is not None and room - after[i] >= open_take:
            return  # whatever comes, this one could be added
        if i == len(order):
            for (_, take, most, thin), n in zip(order, counts, strict=True):
                if n < most and take <= room and not (thin and take > narrow):
                    return
            if any(counts):
                yield tuple(sorted((order[j][0], n) for j, n in enumerate(counts) if n))
            return
        _, take, most, thin = order[i]
        top = min(most, room // take)
        if thin:
            top = min(top, max(narrow, 0) // take)
        for n in range(top, -1, -1):
            counts[i] = n
            bare = n < most and not (thin and narrow_room is not None)
            still = min(take, open_take or take) if bare else open_take
            yield from walk(i + 1, room - n * take, narrow - n * take if thin else narrow, still)
        counts[i] = 0

    if room >= 0:
        yield from walk(0, room, limit, None)


def in_sections(job: dict[str, Any]) -> bool:
    """Whether some stock is crosscut into sections before it is ripped."""
    own = Job(job)
    return any(map(own.is_in_sections, own.stock))


def named_patterns(job: Job) -> dict[Region, set[Content]]:
    """The patterns of the job, with ("part", id) instead of the numbers of sizes."""

    def named(pattern: Content) -> Content:
        return tuple(sorted((("part", job.parts[x]) if isinstance(x, int) else x, n) for x, n in pattern))

    return {region: set(map(named, patterns)) for region, patterns in job.patterns.items()}


def _filled(items: list[tuple[int, int, int]], room: int) -> list[int]:
    """The most that items of (size, most, value) are worth together in each room up to this."""
    best = [0] * (room + 1)
    for size, most, value in items:
        for _ in range(min(most, room // size)):
            best = [max(b, best[i - size] + value) if i >= size else b for i, b in enumerate(best)]
    return best


def worth_in_three(job: Job, stock: Stock, prices: list[int]) -> int:
    """What a layout of three stages on this stock is worth at most."""
    kx, ky, long, wide = job.kx, job.ky, stock.between, stock.width
    priced = [
        ({(s.length, s.width), (s.width, s.length)} if s.turn else {(s.length, s.width)}, s.wanted, p)
        for s, p in zip(job.sizes, prices, strict=True)
        if p
    ]
    found = [0]
    if job.first != "along":
        strips = {}
        for w in sorted({w for ways, _, _ in priced for _, w in ways if w <= wide}):
            goes = [(min(x for x, v in ways if v == w), n, p) for ways, n, p in priced if any(v == w for _, v in ways)]
            strips[w] = goes, _filled([(x + kx, n, p) for x, n, p in goes], long + kx)

        def section(x: int) -> int:
            def enough(goes: list[tuple[int, int, int]]) -> int:
                return sum(-(-n // ((x + kx) // (size + kx))) for size, n, _ in goes if size <= x)

            rips = [(w + ky, enough(goes), best[x + kx]) for w, (goes, best) in strips.items() if w < wide]
            return max(_filled(rips, wide + ky)[-1], strips[wide][1][x + kx] if wide in strips else 0)

        whole = [(x + kx, n, p) for x, n, p in strips.get(wide, ([], []))[0]]
        found.append(_filled([(x + kx, long, section(x)) for x in range(1, long + 1)] + whole, long + kx)[-1])
    if job.first != "across":
        blocks = []
        for x in sorted({x for ways, _, _ in priced for x, _ in ways if x <= long}):
            goes = [(min(v for y, v in ways if y == x), n, p) for ways, n, p in priced if any(y == x for y, _ in ways)]
            blocks.append((x, sum(n for _, n, _ in goes), _filled([(v + ky, n, p) for v, n, p in goes], wide + ky)))

        def panel(w: int) -> int:
            return _filled([(x + kx, n, best[w + ky]) for x, n, best in blocks], long + kx)[-1]

        found.append(_filled([(w + ky, wide, panel(w)) for w in range(1, wide + 1)], wide + ky)[-1])
    return max(found)
