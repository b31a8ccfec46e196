"""A check of proofs of cutting plans that a stranger wrote, who had the description alone (the guide's topic `proofs`).

It imports the standard library only, and nothing of this project. Where the description left a choice, it may read
more or less strictly than the project's own check. It refuses a name that `into` repeats, jobs in which all stock
is free, and squares of which only some may be turned as one size. It lets a term name what there is not, lets a drop
prove nothing, and lets `defects` go with a final trim. Stock that is cut in sections was added from the description by
the author of the project's own listing, so there only the code is another.
Rounded rows were added from the description by the author of the check too, and so was the worth of stock in three
stages (without rules, final trims, unusable stretches, and stock that is never ripped).
"""

import hashlib
import json
from itertools import combinations, product
from math import gcd

MOST_PATTERNS, MOST_DROPS = 20000, 100
KEYS = {"format", "job_digest", "cost", "parts", "totals", "evidence", "drops", "tree"}
RIP_RULES = ("narrow_below", "parent_wood", "least_strip", "shortest_rip", "longest_rip", "least_remainder")


def need(truth):
    if not truth:
        raise ValueError("the proof is malformed, too large, not covered, or does not hold")


def ints(x, least=None):
    """The list x, if it has whole numbers only, none below `least`."""
    need(type(x) is list and all(type(n) is int and (least is None or n >= least) for n in x))
    return x


def read_pairs(flat, below):
    need(len(ints(flat)) % 2 == 0)
    numbers, multipliers = flat[::2], flat[1::2]
    need(numbers == sorted(set(numbers)) and set(numbers) <= set(range(below)) and 0 not in multipliers)
    return list(zip(numbers, multipliers, strict=False))


def read_evidence(row, sizes, totals, rows):
    """`rows`: how many rounded rows there are; None: the first format, without any."""
    need(type(row) is list and len(row) == (3 if rows is None else 4))
    ints(row[:1] + row[1], 0)
    need(len(row[1]) == sizes)
    of_rows = read_pairs(row[3], rows) if rows else []
    need(all(m > 0 for _, m in of_rows) and (rows is None or rows or row[3] == []))
    return row[0], row[1], read_pairs(row[2], totals), of_rows


def read_row(row, sizes, strips, totals, rows):
    need(type(row) is list and len(row) == 5)
    ints(row[:1], 1)
    need(len(ints(row[1])) == sizes)
    return row[0], row[1], read_pairs(row[2], strips), read_pairs(row[3], totals), read_pairs(row[4], rows)


def read_name(raw):
    need(type(raw) is list and raw and raw[0] in ("stock", "part", "strip", "section"))
    if raw[0] in ("stock", "part"):
        need(len(raw) == 2 and type(raw[1]) is str)
    else:
        need(len(ints(raw[1:])) == 2)
    return tuple(raw)


def read_term(term):
    """(weight, region, pattern; None for all patterns)"""
    need(type(term) is dict and {"weight", "of"} <= set(term) <= {"weight", "of", "into"})
    ints([term["weight"]], 1)
    region, pattern = read_name(term["of"]), None
    need(region[0] != "part")
    if "into" in term:
        need(type(term["into"]) is list and all(type(x) is list and len(x) == 2 for x in term["into"]))
        ints([n for _, n in term["into"]], 1)
        pattern = tuple(sorted((read_name(name), n) for name, n in term["into"]))
        need(len(dict(pattern)) == len(pattern))
    return term["weight"], region, pattern


def between_trims(stock):
    return stock["length"] - 2 * stock.get("end_trim", 0)


def stretches_of(stock):
    at, end, out = stock.get("end_trim", 0), stock["length"] - stock.get("end_trim", 0), []
    for a, b in [*sorted(stock.get("unusable", [])), [end, end]]:
        if min(a, end) > at:
            out.append(min(a, end) - at)
        at = max(at, b)
    return out


def sizes_of(job, flat):
    """(first id, the ways to lay it as (length, width), count) of each size."""
    sizes = {}
    for blank in job["blanks"]:
        way = blank["length"], 1 if flat else blank["width"]
        turns = not flat and blank.get("rotate", False)
        ways = frozenset({way, way[::-1]} if turns else {way})
        sizes.setdefault((ways, turns), [blank["id"], ways, 0])[2] += blank["count"]
    return list(sizes.values())


def check_covered(job, cutting, rules):
    if cutting.get("stages", 2) == 3:
        need(not any(rule in rules for rule in RIP_RULES) and not cutting.get("final_trim"))
        need(all(stock.get("rip", True) and not stock.get("unusable") for stock in job["stock"]))
        return
    across = cutting.get("first", "along") != "along"
    if across or cutting.get("final_trim"):
        need(not any(rule in rules for rule in RIP_RULES))
        need(all(stock.get("rip", True) for stock in job["stock"]))
    for stock in job["stock"]:
        need(not (across and stock.get("unusable")))
        need(not (in_sections(stock, rules) and stock.get("unusable") and rules.get("defects") != "cut_out"))


def in_sections(stock, rules):
    long = between_trims(stock) > rules.get("longest_rip", between_trims(stock))
    return stock.get("rip", True) and (long or bool(stock.get("unusable") and rules.get("defects") == "cut_out"))


def fits_in(ways, w):
    return any(v == w for _, v in ways)


def maximal(items, rooms):
    """Each choice of counts, not all 0, to which nothing can be added, as a sorted tuple of (name, count).

    An item is (names, what one takes of each of the rooms, the most it may count).
    """
    items = sorted(items, key=lambda item: item[1], reverse=True)
    later = [[0] * len(rooms)]  # the most that the items from here on could take
    for _, takes, most in reversed(items):
        later.insert(0, [a + most * t for a, t in zip(later[0], takes, strict=False)])

    def fits(rooms, takes):
        return all(r >= t for r, t in zip(rooms, takes, strict=False))

    def grow(i, rooms, counts):
        if i == len(items):
            if any(counts) and not any(
                n < most and fits(rooms, takes) for n, (_, takes, most) in zip(counts, items, strict=False)
            ):
                yield tuple(
                    sorted(
                        (x, names.count(x) * n)
                        for n, (names, _, _) in zip(counts, items, strict=False)
                        if n
                        for x in set(names)
                    )
                )
            return
        _, takes, most = items[i]
        for n in range(most + 1):
            # if one more fits even after the most of all later items, no choice from here is maximal
            if n == most or not fits([r - a for r, a in zip(rooms, later[i + 1], strict=False)], takes):
                yield from grow(i + 1, rooms, [*counts, n])
            if not fits(rooms, takes):
                return
            rooms = [r - t for r, t in zip(rooms, takes, strict=False)]

    return grow(0, rooms, [])


def patterns_of(job, flat, cutting, rules):
    """The patterns of each region."""
    sizes, patterns, space = sizes_of(job, flat), {}, iter(range(MOST_PATTERNS))

    def add(region, found):
        for pattern in found:
            need(next(space, None) is not None)
            patterns.setdefault(region, []).append(pattern)

    def add_stock(stock, kind, W, lengths, kx, ky):
        """As for stock that is ripped first; for sections, length and width are exchanged by the caller."""
        rip, whole, items = kind == "strip", ("stock", stock["id"]), []
        laid = [(id, ways if rip else {way[::-1] for way in ways}, count) for id, ways, count in sizes]
        for w in sorted({w for _, ways, _ in laid for _, w in ways if w <= W}):
            goes = []
            for id, ways, count in laid:
                fit = [x for x, v in ways if v == w or (cutting.get("final_trim") and v < w)]
                if fit:
                    goes.append((("part", id), min(fit), count))
            names = [(kind, L, w) if rip else (kind, w, L) for L in lengths]
            for L, name in zip(lengths, names, strict=False):
                if name not in patterns:
                    add(name, maximal([([part], [size + kx], count) for part, size, count in goes], [L + kx]))
            names = [name for name in names if name in patterns]
            if not names:
                continue
            if w == W:
                add(whole, [tuple(sorted((x, names.count(x)) for x in set(names)))])
            elif not rip or (
                w >= rules.get("least_strip", 0)
                and stock.get("rip", True)
                and between_trims(stock) >= rules.get("shortest_rip", 0)
            ):
                fit = [(count, sum((L + kx) // (size + kx) for L in lengths)) for _, size, count in goes]
                narrow = w < rules.get("narrow_below", 0)
                items.append((names, [w + ky, w + ky if narrow else 0], sum(-(-c // n) for c, n in fit if n)))
        room = W - rules["least_remainder"] if "least_remainder" in rules else W + ky
        add(whole, maximal(items, [room, max(0, W - rules.get("parent_wood", 0))]))

    def add_sectioned(stock, W, kx, ky):
        lays, rips = {}, []  # of each width: (part, length, count); the widths that can be ripped
        for w in sorted({v for _, ways, _ in sizes for _, v in ways if v <= W}):
            lays[w] = [
                (("part", id), min(x for x, v in ways if v == w), n) for id, ways, n in sizes if fits_in(ways, w)
            ]
            if rules.get("least_strip", 0) <= w < W:
                narrow = w < rules.get("narrow_below", 0)
                rips.append(([w], [w + ky, w + ky if narrow else 0], (W + ky) // (w + ky)))
        room = W - rules["least_remainder"] if "least_remainder" in rules else W + ky
        ways = list(maximal(rips, [room, max(0, W - rules.get("parent_wood", 0))]))
        e = kx + rules["least_remainder"] if "least_remainder" in rules else 0
        top, least = rules.get("longest_rip"), rules.get("shortest_rip", 0)

        def sums(w):
            found = {0}
            for _, size, count in lays.get(w, []):
                found = {x + n * (size + kx) for x in found for n in range(count + 1) if x + n * size <= 2**20}
            return {x - kx for x in found if x}

        def enough(x, w):
            return sum(-(-count // ((x + kx) // (size + kx))) for _, size, count in lays[w] if size <= x)

        def choices(s):
            lengths = []
            for way in ways:
                every = set().union(*(sums(w) for w, _ in way))
                own = {x for x in every if x + e > least} | {least - e for x in every if x <= least - e}
                lengths.append(sorted(x for x in own if x + e <= min(s, s if top is None else top)))
            wide = sums(W)

            def apart(chosen):
                return not any(
                    i == j and (top is None or x + kx + y + e <= top) for (i, x), (j, y) in combinations(chosen, 2)
                )

            def left(chosen):
                return s + kx - sum(x + e + kx for _, x in chosen)

            items = [(i, x) for i, own in enumerate(lengths) for x in own]
            todo = [((), 0)]
            while todo:
                chosen, start = todo.pop()
                more = [(n, (*chosen, item)) for n, item in enumerate(items)]
                more = [(n, new) for n, new in more if left(new) >= 0 and apart(new)]
                todo += [(new, n) for n, new in more if n >= start]
                whole = max((x for x in wide if x + kx <= left(chosen)), default=0)
                rest = left(chosen) - (whole + kx if whole else 0)
                if any(left(chosen) - left(new) <= rest for _, new in more):
                    continue
                if not any(y - x <= rest for i, x in chosen for y in lengths[i] if y > x):
                    yield chosen, whole

        every = []  # of each stretch: the strips of each choice, as (length, width, count)
        for s in stretches_of(stock):
            cuts = set()
            for chosen, whole in choices(s):
                strips = [(x, w, min(n, enough(x, w))) for i, x in chosen for w, n in ways[i]]
                strips += [(whole, W, 1)] if whole else []
                cuts.add(tuple(sorted(strip for strip in strips if strip[2])))
                need(len(cuts) < MOST_PATTERNS)
            every.append(cuts)
        found = set()
        for cuts in product(*every):
            counts = {}
            for length, w, n in [strip for each in cuts for strip in each]:
                name = "strip", length, w
                counts[name] = counts.get(name, 0) + n
                if name not in patterns:
                    add(name, maximal([([part], [size + kx], count) for part, size, count in lays[w]], [length + kx]))
            found.add(tuple(sorted(counts.items())))
            need(len(found) < MOST_PATTERNS)
        add(("stock", stock["id"]), sorted(found - {()}))

    for stock in job["stock"]:
        need(("stock", stock["id"]) not in patterns)
        patterns["stock", stock["id"]] = []
        width = 1 if flat else stock["width"] - 2 * stock.get("edge_trim", 0)
        rip, crosscut = job["kerf"].get("rip", 0), job["kerf"].get("crosscut", 0)
        if in_sections(stock, rules):
            add_sectioned(stock, width, crosscut, rip)
            continue
        if cutting.get("first", "along") != "across":
            add_stock(stock, "strip", width, stretches_of(stock), crosscut, rip)
        if cutting.get("first", "along") != "along":
            add_stock(stock, "section", between_trims(stock), [width], rip, crosscut)
    return patterns


def filled(items, room):
    """The most that items of (size, most, value) are worth together in each room up to this."""
    best = [0] * (room + 1)
    for size, most, value in items:
        for _ in range(min(most, room // size)):
            best = [max(b, best[i - size] + value) if i >= size else b for i, b in enumerate(best)]
    return best


def worth_in_three(job, stock, sizes, prices):
    """What a layout of three stages on this stock is worth at most."""
    kx, ky = job["kerf"]["crosscut"], job["kerf"]["rip"]
    L, W = between_trims(stock), stock["width"] - 2 * stock.get("edge_trim", 0)
    priced = [(ways, count, p) for (_, ways, count), p in zip(sizes, prices, strict=True) if p]
    found = [0]
    if job["cutting"]["first"] != "along":
        strips = {}
        for w in sorted({w for ways, _, _ in priced for _, w in ways if w <= W}):
            goes = [(min(x for x, v in ways if v == w), n, p) for ways, n, p in priced if fits_in(ways, w)]
            strips[w] = goes, filled([(x + kx, n, p) for x, n, p in goes], L + kx)

        def section(x):
            def enough(goes):
                return sum(-(-n // ((x + kx) // (size + kx))) for size, n, _ in goes if size <= x)

            rips = [(w + ky, enough(goes), best[x + kx]) for w, (goes, best) in strips.items() if w < W]
            return max(filled(rips, W + ky)[-1], strips[W][1][x + kx] if W in strips else 0)

        whole = [(x + kx, n, p) for x, n, p in strips.get(W, ([], []))[0]]
        found.append(filled([(x + kx, L, section(x)) for x in range(1, L + 1)] + whole, L + kx)[-1])
    if job["cutting"]["first"] != "across":
        blocks = []
        for x in sorted({x for ways, _, _ in priced for x, _ in ways if x <= L}):
            goes = [(min(v for y, v in ways if y == x), n, p) for ways, n, p in priced if any(y == x for y, _ in ways)]
            blocks.append((x, sum(n for _, n, _ in goes), filled([(v + ky, n, p) for v, n, p in goes], W + ky)))

        def panel(w):
            return filled([(x + kx, n, best[w + ky]) for x, n, best in blocks], L + kx)[-1]

        found.append(filled([(w + ky, W, panel(w)) for w in range(1, W + 1)], W + ky)[-1])
    return max(found)


def rounded_row(row, names, counts, totals, limits, known, left, stocks):
    """(the value of each (region, pattern), the right side) of a rounded row."""
    D, prices, of_strips, of_totals, of_rows = row
    every = [(region, pattern) for region in left for pattern in left[region]]
    parts = []  # u, the values of patterns, the right side, whether the sum is exact
    for (part, count), u in zip(counts, prices, strict=False):
        made = {x: dict(x[1]).get(part, 0) for x in every if x[0] not in stocks}
        parts.append((u, made, count, False))
    for number, u in of_strips:
        name = names[number]
        own = {x: dict(x[1]).get(name, 0) if x[0] in stocks else -(x[0] == name) for x in every}
        parts.append((u, own, 0, True))
    for number, u in of_totals:
        limit, sign = limits[number][u < 0], 1 if u > 0 else -1
        need(limit is not None)
        own = {}
        for weight, region, pattern in totals[number]:
            for x in [(region, pattern)] if pattern is not None else [(region, p) for p in left.get(region, [])]:
                own[x] = own.get(x, 0) + weight * sign
        parts.append((abs(u), own, limit * sign, False))
    parts += [(u, *known[number], False) for number, u in of_rows]
    b = sum(u * right for u, _, right, _ in parts)
    F = b % D
    need(F)
    k = -(-F // (D - F))

    def N(z):
        q, e = divmod(z, D)
        return (k + 1) * q + (min(k + 1, 1 + k * e // F) if e else 0)

    parts = [(u, 0 if exact else N(-u), own, right) for u, own, right, exact in parts if u]
    values = {
        x: N(sum(u * own.get(x, 0) for u, _, own, _ in parts)) + sum(n * own.get(x, 0) for _, n, own, _ in parts)
        for x in every
    }
    return values, N(b) + sum(n * right for _, n, _, right in parts)


def check(job, proof):
    need(type(proof) is dict)
    rounds = proof["format"] == "woodshop-proof/2"
    need(set(proof) == (KEYS | {"strips", "rows"} if rounds else KEYS))
    need(rounds or proof["format"] == "woodshop-proof/1")
    texts = [json.dumps(job, sort_keys=True, separators=(",", ":"), ensure_ascii=a) for a in (True, False)]
    need(proof["job_digest"] in [hashlib.sha256(text.encode()).hexdigest() for text in texts])
    flat = not any("width" in x for x in job["stock"] + job["blanks"])
    cutting, rules = ({}, {}) if flat else (job.get("cutting", {}), job.get("rules", {}))
    check_covered(job, cutting, rules)
    sizes, (cost,), tree = sizes_of(job, flat), ints([proof["cost"]], 1), iter(ints(proof["tree"]))
    need(proof["parts"] == [id for id, _, _ in sizes])
    need(type(proof["totals"]) is list and all(type(t) is list for t in proof["totals"]))
    totals = [[read_term(term) for term in total] for total in proof["totals"]]
    need(type(proof["evidence"]) is list)
    names, raw_rows = proof.get("strips", []), proof.get("rows", [])
    need(type(names) is list and type(raw_rows) is list)
    names = [read_name(name) for name in names]
    rows = [read_row(row, len(sizes), len(names), len(totals), len(raw_rows)) for row in raw_rows]
    of_rows = len(rows) if rounds else None
    evidence = [read_evidence(row, len(sizes), len(totals), of_rows) for row in proof["evidence"]]
    need(len(ints(proof["drops"], 0)) <= MOST_DROPS)
    g = gcd(*(s["cost"] for s in job["stock"]))
    T = (cost - 1) // g * g
    costs = {("stock", s["id"]): s["cost"] for s in job["stock"]}
    uses = {}  # u of each stock; None: no limit
    for s in job["stock"]:
        limits = ([s["count"]] if "count" in s else []) + ([T // s["cost"]] if s["cost"] else [])
        uses["stock", s["id"]] = min(limits, default=None)
    three = cutting.get("stages", 2) == 3
    left = dict.fromkeys(costs, ()) if three else patterns_of(job, flat, cutting, rules)
    if three:
        need(not proof["drops"] and not names and not rows)
        need(all(region in costs and into is None for total in totals for _, region, into in total))
    known = {}  # the rounded rows that were started
    need(len(set(names)) == len(names) and all(name in left and name not in uses for name in names))
    pieces = [region for region in left if region not in uses]  # strips and sections

    def value(e):
        """S (None: proves nothing), the worth of each strip and excess of each stock, the worth of each pattern."""
        c, prices, pairs, of_rows = evidence[e]
        bonus = {}
        for number, v in of_rows:
            for x, n in known[number][0].items():
                bonus[x] = bonus.get(x, 0) + v * n
        for number, m in pairs:
            for weight, region, pattern in totals[number]:
                bonus[region, pattern] = bonus.get((region, pattern), 0) + m * weight
        worth, own = {("part", id): p for (id, _, _), p in zip(sizes, prices, strict=False)}, {}
        S = sum(count * p for (_, _, count), p in zip(sizes, prices, strict=False)) - c * T
        for region in pieces + list(uses):
            own[region] = [
                sum(n * worth[x] for x, n in pattern) + bonus.get((region, pattern), 0) for pattern in left[region]
            ]
            plus = bonus.get((region, None), 0) - c * costs.get(region, 0)
            worth[region] = max(own[region], default=0) + plus  # no pattern left: it is in no pattern left
            if region in uses:
                own[region] = [w + plus for w in own[region]]
                if three:
                    stock = next(s for s in job["stock"] if s["id"] == region[1])
                    own[region] = [worth_in_three(job, stock, sizes, prices) + plus]
                worth[region] = max(own[region] + [0])
                if worth[region] > 0 and S is not None:
                    S = None if uses[region] is None else S - uses[region] * worth[region]
        return S, worth, own

    for e_place, e in enumerate(proof["drops"]):
        need(e < len(evidence) and not evidence[e][2] and not evidence[e][3])
        S, worth, own = value(e)
        if S is None:  # it proves nothing, so it drops nothing
            continue
        R, least = max(0, -S), {}  # least: the least loss of a pattern of stock that contains the strip
        for region in list(uses) + pieces:
            more = 0 if region in uses else least.get(region, R + 1)
            losses = [
                (pattern, worth[region] - w + more) for pattern, w in zip(left[region], own[region], strict=False)
            ]
            losses = [(pattern, loss) for pattern, loss in losses if loss <= R]
            left[region] = [pattern for pattern, _ in losses]
            for pattern, loss in losses if region in uses else []:
                least.update((x, min(loss, least.get(x, loss))) for x, _ in pattern)
        if e_place == 0:
            need(all(left[name] for name in names))

    counts = [(("part", id), count) for id, _, count in sizes]
    todo, sums = [([(0, None)] * len(totals), frozenset())], {}
    while todo:
        (limits, held), n = todo.pop(), next(tree)
        while n >= len(totals):
            row = n - len(totals)
            need(row < len(rows) and row not in known and {x for x, _ in rows[row][4]} <= held)
            known[row] = rounded_row(rows[row], names, counts, totals, limits, known, left, uses)
            held, n = held | {row}, next(tree)
        if n >= 0:
            k, (low, high) = next(tree), limits[n]
            need(low <= k and (high is None or k < high))
            todo += [([*limits[:n], side, *limits[n + 1 :]], held) for side in ((k + 1, high), (low, k))]
            continue
        need(-1 - n < len(evidence))
        need({x for x, _ in evidence[-1 - n][3]} <= held)
        if n not in sums:
            sums[n] = value(-1 - n)[0]
        bounds = [(m, limits[t][m < 0]) for t, m in evidence[-1 - n][2]]
        need(sums[n] is not None and all(bound is not None for _, bound in bounds))
        more = sum(v * known[x][1] for x, v in evidence[-1 - n][3])
        need(sums[n] + more + sum(m * bound for m, bound in bounds) > 0)
    need(next(tree, None) is None)
    return cost


def proves(job: dict, proof: dict) -> int | None:
    """The cost that the tree proves (no plan costs less), or None."""
    try:
        return check(job, proof)
    except (StopIteration, KeyError, IndexError, TypeError, ValueError, AttributeError, ZeroDivisionError):
        return None
