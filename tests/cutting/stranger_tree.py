"""A stranger's check of a proof tree, written from the guide's topic `proofs` alone: plain lists, no arrays, no solver.

It is slow, and meant for small jobs.
"""

import hashlib
import json
from itertools import product
from math import gcd


def proves(job, proof):
    """The cost that the proof proves, or None. Both are plain values, as read from JSON."""
    text = json.dumps(job, sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    if proof["job_digest"] != hashlib.sha256(text.encode()).hexdigest():
        return None
    sizes = sizes_of(job)
    if proof["parts"] != [ids[0] for _, _, ids in sizes]:
        return None
    try:
        ways = all_patterns(job, sizes)
        return proof["cost"] if _holds(job, proof, sizes, ways) else None
    except (KeyError, IndexError):
        return None


def sizes_of(job):
    found = {}
    for row in job["blanks"]:
        sides = (row["length"], row.get("width", 1))
        lays = frozenset([sides, sides[::-1]] if row.get("rotate") else [sides])
        found.setdefault(lays, []).append((row["id"], row["count"]))
    return [(lays, sum(n for _, n in ids), [name for name, _ in ids]) for lays, ids in found.items()]


def all_patterns(job, sizes):
    """Region: list of {name: count}."""
    ways = {}
    cutting = job.get("cutting", {"first": "along", "final_trim": False})
    for stock in job["stock"]:
        own = ways.setdefault(("stock", stock["id"]), [])
        for turned in (False, True):
            if cutting["first"] == ("along" if turned else "across"):
                continue
            for pattern in _first_cut(job, stock, sizes, cutting["final_trim"], turned, ways):
                if pattern not in own:
                    own.append(pattern)
    return ways


def _first_cut(job, stock, sizes, trim, turned, ways):
    rules, kx, ky = job.get("rules", {}), job["kerf"]["crosscut"], job["kerf"]["rip"]
    trim_x, low = stock.get("end_trim", 0), stock.get("end_trim", 0)
    high = stock["length"] - trim_x
    stretches = []
    for x0, x1 in [*sorted(stock.get("unusable", [])), (high, high)]:
        stretches += [min(x0, high) - low] if min(x0, high) > low else []
        low = max(low, x1)
    wide, length = stock.get("width", 1) - 2 * stock.get("edge_trim", 0), high - trim_x
    if turned:
        stretches, wide, length, kx, ky = [wide], length, wide, ky, kx
    lays = [{lay[::-1] for lay in lays} if turned else lays for lays, _, _ in sizes]
    strips = {}
    for w in sorted({w for some in lays for _, w in some if w <= wide}):
        inside = [min((n for n, v in some if v == w or (trim and v < w)), default=None) for some in lays]
        regions = []
        for stretch in stretches:
            region = ("section", w, stretch) if turned else ("strip", stretch, w)
            loads = [
                (("part", ids[0]), extent + kx, n)
                for extent, (_, n, ids) in zip(inside, sizes, strict=True)
                if extent is not None and extent <= stretch
            ]
            if loads:
                regions.append(region)
                ways.setdefault(region, maximal(loads, stretch + kx))
        fit = [
            (n, sum((stretch + kx) // (extent + kx) for stretch in stretches))
            for extent, (_, n, _) in zip(inside, sizes, strict=True)
            if extent
        ]
        if regions:
            strips[w] = regions, sum(-(-n // per) for n, per in fit if per)
    found = [_named({wide: 1}, strips)] if wide in strips else []
    may_rip = stock.get("rip", True) and length >= rules.get("shortest_rip", 0)
    flat = "width" in stock
    loads = [
        (w, w + ky, most)
        for w, (_, most) in strips.items()
        if w < wide and w >= rules.get("least_strip", 0) and may_rip
    ]
    room = wide - rules["least_remainder"] if flat and "least_remainder" in rules else wide + ky
    narrow = {w for w, _, _ in loads if flat and w < rules.get("narrow_below", 0)}
    hand = (narrow, wide - rules.get("parent_wood", 0))
    return found + [_named(p, strips) for p in (maximal(loads, room, hand) if loads else []) if p]


def _named(pattern, strips):
    total = {}
    for w, n in pattern.items():
        for region in strips[w][0]:
            total[region] = total.get(region, 0) + n
    return total


def maximal(loads, room, hand=((), 0)):
    """Every choice that fits and to which nothing can be added, found by trying all."""

    def fits(counts):
        thin = sum(n * size for n, (name, size, _) in zip(counts, loads, strict=True) if name in hand[0])
        all_fit = sum(n * size for n, (_, size, _) in zip(counts, loads, strict=True)) <= room
        return all_fit and (not thin or thin <= hand[1])

    fitting = {c for c in product(*(range(min(most, room // size) + 1) for _, size, most in loads)) if fits(c)}
    found = []
    for counts in fitting:
        more = [(*counts[:i], counts[i] + 1, *counts[i + 1 :]) for i in range(len(loads)) if counts[i] < loads[i][2]]
        if not fitting & set(more):
            found.append({name: n for (name, _, _), n in zip(loads, counts, strict=True) if n})
    return found


def _holds(job, proof, sizes, ways):
    step = gcd(*(row["cost"] for row in job["stock"])) or 1
    limit = (proof["cost"] - 1) // step * step
    most = {}
    for row in job["stock"]:
        limits = ([row["count"]] if "count" in row else []) + ([limit // row["cost"]] if row["cost"] else [])
        most["stock", row["id"]] = min(limits, default=None)
    costs = {("stock", row["id"]): row["cost"] for row in job["stock"]}
    whole, single = {}, []
    for t, total in enumerate(proof["totals"]):
        for term in total:
            of = tuple(term["of"])
            if of not in ways or not ways[of]:
                return False
            if "into" not in term:
                whole.setdefault(of, []).append((t, term["weight"]))
                continue
            into = {}
            for name, n in term["into"]:
                into[tuple(name)] = into.get(tuple(name), 0) + n
            if into not in ways[of]:
                return False
            single.append((of, into, t, term["weight"]))
    left = {region: list(patterns) for region, patterns in ways.items()}

    def worth(row):
        """S, the excess of each stock, the worth of each strip and of each pattern by place in `left`."""
        c, prices, pairs = row
        m = dict(zip(pairs[::2], pairs[1::2], strict=True))
        if len(prices) != len(sizes) or min([c, *prices]) < 0 or 0 in m.values() or [*m] != sorted(pairs[::2]):
            raise KeyError("evidence")
        if m and not 0 <= min(m) <= max(m) < len(proof["totals"]):
            raise KeyError("evidence")
        values = {("part", ids[0]): price for price, (_, _, ids) in zip(prices, sizes, strict=True)}
        patterns, excess = {}, {}
        for region in sorted(left, key=lambda region: region[0] == "stock"):
            own = []
            for pattern in left[region]:
                value = sum(n * values[name] for name, n in pattern.items())
                value += sum(m.get(t, 0) * w for of, into, t, w in single if (of, into) == (region, pattern))
                own.append(value)
            more = sum(m.get(t, 0) * w for t, w in whole.get(region, []))
            if region in costs:
                own = [value + more - c * costs[region] for value in own]
                excess[region] = max([0, *own])
                if excess[region] and most[region] is None:
                    raise KeyError("no limit")
            elif own:
                values[region] = max(own) + more
            patterns[region] = own
        total = sum(n * price for price, (_, n, _) in zip(prices, sizes, strict=True)) - c * limit
        return total - sum(most[s] * e for s, e in excess.items() if e), excess, patterns

    for number in proof["drops"]:
        if proof["evidence"][number][2]:
            return False
        total, excess, patterns = worth(proof["evidence"][number])
        room, least = max(0, -total), {}
        kept = {region: list(some) for region, some in left.items()}
        for stock in costs:
            kept[stock] = []
            for pattern, value in zip(left[stock], patterns[stock], strict=True):
                if excess[stock] - value <= room:
                    kept[stock].append(pattern)
                    for strip in pattern:
                        least[strip] = min(least.get(strip, excess[stock] - value), excess[stock] - value)
        for strip in kept.keys() - costs.keys():
            own = patterns[strip]
            kept[strip] = [
                pattern
                for pattern, value in zip(left[strip], own, strict=True)
                if strip in least and max(own) - value + least[strip] <= room
            ]
        left = kept
    sums = [worth(row)[0] for row in proof["evidence"]]
    return _walk(proof, sums) == len(proof["tree"])


def _walk(proof, sums):
    """Where the tree ends, or -1 if a leaf does not hold."""
    tree = proof["tree"]

    def down(place, low, high):
        head = tree[place]
        if head < 0:
            row = proof["evidence"][-1 - head]
            if -1 - head >= len(sums):
                raise IndexError("leaf")
            total = sums[-1 - head]
            for t, m in zip(row[2][::2], row[2][1::2], strict=True):
                bound = low.get(t, 0) if m > 0 else high.get(t)
                if bound is None:
                    return -1
                total += m * bound
            return place + 1 if total > 0 else -1
        limit = tree[place + 1]
        if head >= len(proof["totals"]) or not low.get(head, 0) <= limit or limit >= high.get(head, limit + 1):
            return -1
        place = down(place + 2, low, {**high, head: limit})
        return place if place < 0 else down(place, {**low, head: limit + 1}, high)

    return down(0, {}, {})
