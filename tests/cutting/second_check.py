"""A second check of proofs of cutting plans, from the guide's topics `proofs` and `jobs` alone.

Its author had those two topics and the schemas of a job and a proof, but none of this project's code. It imports
nothing of the project. Three stages were added later (see `second_patterns`), and so were drops that count whole
boards, from the description by the author of these.
"""

import hashlib
import json
from collections import Counter
from itertools import pairwise
from math import gcd
from typing import Any, NamedTuple

from tests.cutting.second_patterns import Content, Job, Region, Stock, need, worth_in_three


class Value(NamedTuple):
    """What evidence comes to: S, or None if it proves nothing, and all worths."""

    s: int | None
    worth: list[int]  # of each pattern that is left
    best: dict[Region, int]  # the excess of stock, the best pattern's worth of a strip


class Row(NamedTuple):
    """A rounded row at its place."""

    value: list[int]
    right: int


class Evidence(NamedTuple):
    """One row of evidence."""

    cost: int
    prices: list[int]
    totals: list[tuple[int, int]]
    rows: list[tuple[int, int]]


def whole(x: Any, least: int | None = None) -> int:
    """A whole number, at least this."""
    need(type(x) is int and (least is None or x >= least), f"not a whole number that is allowed: {x!r}")
    return int(x)


def listed(x: Any) -> list[Any]:
    """A list."""
    need(type(x) is list, f"not a list: {x!r}")
    return list(x)


def flat(x: Any, below: int) -> list[tuple[int, int]]:
    """A flat list of a number and its multiplier in turn; numbers ascend, no multiplier is 0."""
    every = [whole(v) for v in listed(x)]
    need(len(every) % 2 == 0, "a flat list is odd")
    numbers, values = every[::2], every[1::2]
    need(all(0 <= n < below for n in numbers) and all(a < b for a, b in pairwise(numbers)), "numbers do not ascend")
    need(0 not in values, "a multiplier is 0")
    return list(zip(numbers, values, strict=True))


class Check:
    """One check of one proof."""

    def __init__(self, job: dict[str, Any], proof: dict[str, Any]) -> None:
        """Read the proof and compare it with the job."""
        form = proof.get("format")
        need(form in ("woodshop-proof/1", "woodshop-proof/2", "woodshop-proof/3"), "no format that is known")
        self.second = form != "woodshop-proof/1"
        self.third = form == "woodshop-proof/3"
        keys = {"format", "job_digest", "cost", "parts", "totals", "evidence", "drops", "tree"}
        need(set(proof) == keys | ({"strips", "rows"} if self.second else set()), "keys are missing or too many")
        text = json.dumps(job, sort_keys=True, separators=(",", ":"))
        need(proof["job_digest"] == hashlib.sha256(text.encode()).hexdigest(), "the proof is for another job")
        self.cost = whole(proof["cost"], 1)
        self.job = Job(job)
        need(proof["parts"] == self.job.parts, "the parts are not those of the job")
        self.content: list[tuple[Region, Content]] = []
        self.number: dict[tuple[Region, Content], int] = {}
        for region, patterns in self.job.patterns.items():
            for pattern in patterns:
                self.number[region, pattern] = len(self.content)
                self.content.append((region, pattern))
        every = self.job.patterns.items()
        self.left: dict[Region, list[int]] = {r: [self.number[r, x] for x in patterns] for r, patterns in every}
        g = gcd(*(s.cost for s in self.job.stock)) or 1
        self.limit = (self.cost - 1) // g * g
        self.totals = [self._total(x) for x in listed(proof["totals"])]
        self.strips = [self._region(x) for x in listed(proof["strips"])] if self.second else []
        need(all(r[0] != "stock" for r in self.strips), "stock is named as a strip")
        need(len(set(self.strips)) == len(self.strips), "a strip is there twice")
        rows = listed(proof["rows"]) if self.second else []
        self.rows = [self._row(x, len(rows)) for x in rows]
        self.evidence = [self._evidence(x) for x in listed(proof["evidence"])]
        self.drops = [whole(x, 0) for x in listed(proof["drops"])]
        self.tree = [whole(x) for x in listed(proof["tree"])]
        if self.job.three:
            need(not self.drops + self.strips + self.rows, "three stages with drops, strips or rounded rows")
            named = [region for patterns, regions in self.totals for region in (*patterns, *regions)]
            need(all(region in self.left for region in named), "three stages with a term that names a pattern")
        self.valued: dict[int, Value] = {}
        self.made: dict[int, Row] = {}

    def _region(self, x: Any) -> Region:
        """A region of the job."""
        region = tuple(listed(x))
        if len(region) == 2 and region[0] == "stock" and type(region[1]) is str:
            need(region in self.left, f"no such stock: {x}")
            return region
        need(len(region) == 3 and region[0] in ("strip", "section"), f"not a region: {x}")
        whole(region[1]), whole(region[2])
        need(region in self.left, f"no such strip or section: {x}")
        return region

    def _total(self, x: Any) -> tuple[dict[int, int], dict[Region, int]]:
        """A total: weights of patterns, and of regions."""
        patterns: dict[int, int] = {}
        regions: dict[Region, int] = {}
        for term in listed(x):
            need(type(term) is dict and {"weight", "of"} <= set(term) <= {"weight", "of", "into"}, "not a term")
            weight, region = whole(term["weight"], 1), self._region(term["of"])
            if "into" not in term:
                regions[region] = regions.get(region, 0) + weight
                continue
            into = Counter[Any]()
            for pair in listed(term["into"]):
                need(type(pair) is list and len(pair) == 2, "not a name and how often")
                if pair[0][:1] == ["part"] and region[0] != "stock":
                    need(len(pair[0]) == 2 and pair[0][1] in self.job.parts, f"no such part: {pair[0]}")
                    into[self.job.parts.index(pair[0][1])] += whole(pair[1], 1)
                else:
                    need(region[0] == "stock", f"not in a strip: {pair[0]}")
                    into[self._region(pair[0])] += whole(pair[1], 1)
            number = self.number.get((region, tuple(sorted(into.items()))))
            if number is None:
                raise ValueError(f"no such pattern: {term}")
            patterns[number] = patterns.get(number, 0) + weight
        return patterns, regions

    def _row(self, x: Any, rows: int) -> tuple[int, list[int], list[list[tuple[int, int]]]]:
        """A rounded row: divisor, multipliers of the sizes, and three lists of multipliers."""
        need(type(x) is list and len(x) == 5, "not a rounded row")
        sizes = [whole(v) for v in listed(x[1])]
        need(len(sizes) == len(self.job.sizes), "not one multiplier for each size")
        return whole(x[0], 1), sizes, [flat(x[2], len(self.strips)), flat(x[3], len(self.totals)), flat(x[4], rows)]

    def _evidence(self, x: Any) -> Evidence:
        """A row of evidence."""
        need(type(x) is list and len(x) == (4 if self.second else 3), "not a row of evidence")
        prices = [whole(v, 0) for v in listed(x[1])]
        need(len(prices) == len(self.job.sizes), "not one price for each size")
        rows = flat(x[3], len(self.rows)) if self.second else []
        need(all(v > 0 for _, v in rows), "the multiplier of a rounded row is negative")
        return Evidence(whole(x[0], 0), prices, flat(x[2], len(self.totals)), rows)

    def _uses(self, stock: Stock) -> int | None:
        """How often a stock can be used in a cheaper plan."""
        most = [] if stock.cost == 0 else [self.limit // stock.cost]
        return min([*most, stock.have] if stock.have is not None else most, default=None)

    def value(self, ev: Evidence) -> Value:
        """Value evidence with the patterns that are left."""
        extra: list[int] = [0] * len(self.content)
        named: dict[Region, int] = {}
        for n, m in ev.totals:
            patterns, regions = self.totals[n]
            for number, weight in patterns.items():
                extra[number] += m * weight
            for region, weight in regions.items():
                named[region] = named.get(region, 0) + m * weight
        for n, v in ev.rows:
            for number, value in enumerate(self.made[n].value):
                extra[number] += v * value
        best: dict[Region, int] = {}
        strip: dict[Region, int] = {}
        for region, numbers in self.left.items():
            if region[0] != "stock":
                for number in numbers:
                    extra[number] += sum(ev.prices[i] * n for i, n in self.content[number][1])
                best[region] = max((extra[number] for number in numbers), default=0)
                strip[region] = best[region] + named.get(region, 0)
        s: int | None = (
            sum(size.wanted * p for size, p in zip(self.job.sizes, ev.prices, strict=True)) - ev.cost * self.limit
        )
        for stock in self.job.stock:
            region = ("stock", stock.name)
            base = named.get(region, 0) - ev.cost * stock.cost
            if self.job.three:
                best[region] = max(0, base + worth_in_three(self.job, stock, ev.prices))
            for number in self.left[region]:
                extra[number] += base + sum(strip[r] * n for r, n in self.content[number][1])
            if not self.job.three:
                best[region] = max(0, max((extra[number] for number in self.left[region]), default=0))
            uses = self._uses(stock)
            if best[region]:
                s = None if uses is None or s is None else s - uses * best[region]
        return Value(s, extra, best)

    def drop(self, number: int) -> None:
        """Drop the patterns that cost too much by one row of evidence."""
        need(number < len(self.evidence), "a drop has no evidence")
        ev = self.evidence[number]
        need(not ev.totals + ev.rows, "the evidence of a drop has totals or rows")
        value = self.value(ev)
        if value.s is None:
            raise ValueError("the evidence of a drop proves nothing")
        by_boards = self.third and ev.cost == 0
        kept: dict[Region, list[int]] = {}
        spare: dict[Region, int] = {}
        for stock in self.job.stock:
            region = ("stock", stock.name)
            kept[region] = []
            most = max(0, -value.s)
            if by_boards:
                if self._uses(stock) == 0:
                    continue
                needed = sum(size.wanted * p for size, p in zip(self.job.sizes, ev.prices, strict=True))
                most = self.worth_of_others(stock, value.best) + value.best[region] - needed
            for n in self.left[region]:
                loss = value.best[region] - value.worth[n]
                if loss <= most:
                    kept[region].append(n)
                    for r, _ in self.content[n][1]:
                        spare[r] = max(most - loss, spare.get(r, 0))
        for region, numbers in self.left.items():
            if region[0] != "stock":
                room = spare.get(region, -1)
                kept[region] = [n for n in numbers if value.best[region] - value.worth[n] <= room]
        self.left = kept

    def worth_of_others(self, stock: Stock, best: dict[Region, int]) -> int:
        """The most that boards besides one of this stock are worth, if with it they cost no more than the limit."""
        worth = {stock.cost: 0}  # by cost
        for other in self.job.stock:
            own = best["stock", other.name]
            for _ in range((self._uses(other) or 0) - (other is stock) if own else 0):
                more = dict(worth)
                for cost, total in worth.items():
                    if cost + other.cost <= self.limit:
                        more[cost + other.cost] = max(more.get(cost + other.cost, 0), total + own)
                if more == worth:
                    break
                worth = more
        return max(worth.values())

    def _named_are_left(self) -> None:
        """Refuse if something is named of which the first drop leaves nothing."""
        kept = {n for numbers in self.left.values() for n in numbers}
        named = {region for _, regions in self.totals for region in regions} | set(self.strips)
        named |= {self.content[n][0] for patterns, _ in self.totals for n in patterns}
        named = {region for region in named if region[0] != "stock"}
        need(all(self.left[region] for region in named), "a strip or section is named of which nothing is left")
        need(all(n in kept for patterns, _ in self.totals for n in patterns), "a pattern is named that was dropped")

    def make(self, number: int, low: list[int], high: list[int | None], counting: frozenset[int]) -> Row:
        """A rounded row, as it is at its place."""
        divisor, sizes, (strips, totals, rows) = self.rows[number]
        need(all(n in counting for n, _ in rows), "a rounded row refers to one that does not count here")
        every = [n for numbers in self.left.values() for n in numbers]
        parts: list[tuple[int, dict[int, int], int, bool]] = []  # multiplier, values, right side, exact
        for i, u in enumerate(sizes):
            values = {n: dict(c).get(i, 0) for n in every for r, c in [self.content[n]] if r[0] != "stock"}
            parts.append((u, values, self.job.sizes[i].wanted, False))
        for i, u in strips:
            region = self.strips[i]
            values = {n: dict(c).get(region, 0) for n in every for r, c in [self.content[n]] if r[0] == "stock"}
            parts.append((u, values | dict.fromkeys(self.left[region], -1), 0, True))
        for i, u in totals:
            patterns, regions = self.totals[i]
            sign = 1 if u > 0 else -1
            values = {n: sign * (patterns.get(n, 0) + regions.get(self.content[n][0], 0)) for n in every}
            top = high[i]
            if u < 0 and top is None:
                raise ValueError("a rounded row needs a greatest value that its total does not have")
            parts.append((abs(u), values, low[i] if u > 0 else -(top or 0), False))
        for i, u in rows:
            before = self.made[i]
            parts.append((u, {n: before.value[n] for n in every}, before.right, False))
        b = sum(u * right for u, _, right, _ in parts)
        f = b % divisor
        need(f != 0, "a rounded row has nothing to round")
        k = -(-f // (divisor - f))

        def up(z: int) -> int:
            q, e = divmod(z, divisor)
            return (k + 1) * q + (min(k + 1, 1 + k * e // f) if e else 0)

        value = [0] * len(self.content)
        for n in every:
            held = [(u, values.get(n, 0), exact) for u, values, _, exact in parts]
            value[n] = up(sum(u * v for u, v, _ in held)) + sum(up(-u) * v for u, v, exact in held if not exact and v)
        return Row(value, up(b) + sum(up(-u) * right for u, _, right, exact in parts if not exact))

    def leaf(self, number: int, low: list[int], high: list[int | None], counting: frozenset[int]) -> None:
        """Refuse unless this leaf holds."""
        need(number < len(self.evidence), "a leaf has no evidence")
        ev = self.evidence[number]
        need(all(n in counting for n, _ in ev.rows), "a leaf refers to a rounded row that does not count there")
        if number not in self.valued:
            self.valued[number] = self.value(ev)
        total = self.valued[number].s
        if total is None:
            raise ValueError("the evidence of a leaf proves nothing")
        for n, m in ev.totals:
            at = low[n] if m > 0 else high[n]
            if at is None:
                raise ValueError("a leaf needs a greatest value that its total does not have")
            total += m * at
        total += sum(v * self.made[n].right for n, v in ev.rows)
        need(total > 0, f"a leaf does not hold, by {-total}")

    def run(self) -> int:
        """Follow drops and tree; return the cost that is proved."""
        for place, number in enumerate(self.drops):
            self.drop(number)
            if not place:
                self._named_are_left()
        count = len(self.totals)
        waiting: list[tuple[list[int], list[int | None], frozenset[int]]] = [([0] * count, [None] * count, frozenset())]
        at = 0
        while waiting:
            low, high, counting = waiting.pop()
            need(at < len(self.tree), "the tree ends early")
            n = self.tree[at]
            at += 1
            if n < 0:
                self.leaf(-1 - n, low, high, counting)
            elif n >= count:
                row = n - count
                need(row < len(self.rows), "no such total or rounded row")
                need(row not in self.made, "a rounded row is started twice")
                self.made[row] = self.make(row, low, high, counting)
                waiting.append((low, high, counting | {row}))
            else:
                need(at < len(self.tree), "the tree ends early")
                k = self.tree[at]
                at += 1
                top = high[n]
                need(low[n] <= k and (top is None or k < top), "a side of a branch is not possible")
                waiting.append(([*low[:n], k + 1, *low[n + 1 :]], high, counting))
                waiting.append((low, [*high[:n], k, *high[n + 1 :]], counting))
        need(at == len(self.tree), "numbers of the tree are left over")
        return self.cost


def bound(job: dict[str, Any], proof: dict[str, Any]) -> int:
    """Return the cost that the proof shows to be the least possible; raise ValueError if it shows none."""
    try:
        return Check(job, proof).run()
    except (KeyError, TypeError, AttributeError, IndexError, RecursionError) as error:
        raise ValueError(f"the job or the proof is not as described: {error!r}") from error


def proves(job: dict[str, Any], proof: dict[str, Any]) -> int | None:
    """The cost that the proof shows to be the least possible, or None."""
    try:
        return bound(job, proof)
    except ValueError:
        return None
