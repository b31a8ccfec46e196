"""A stranger's check of a certificate, for two stages, rip first, without rules and final trim.

Written from the text of DEVELOPERS.md alone, on the plan's file as read from JSON: forty lines.
"""

from collections import Counter, defaultdict
from math import gcd


def stands(plan):
    job, own, kx, ky = plan["job"], plan["certificate"], plan["job"]["kerf"]["crosscut"], plan["job"]["kerf"]["rip"]
    prices, rents, scale = own["prices"], own["rents"], own["scale"]
    wanted = {row["id"]: row["count"] for row in job["blanks"]}
    there = {row["id"]: row["count"] for row in job["stock"] if "count" in row}
    numbers = [scale - 1, *prices.values(), *rents.values()]
    if min(numbers) < 0 or prices.keys() - wanted.keys() or rents.keys() - there.keys():
        return False
    kinds, strips = Counter(), defaultdict(list)
    for row in job["blanks"]:
        sides = (row["length"], row.get("width", 1))
        lays = tuple(sorted({sides, sides[::-1]} if row.get("rotate") else {sides}))
        kinds[lays, prices.get(row["id"], 0)] += row["count"]
    for (lays, price), count in kinds.items():
        for length, width in lays if price else ():
            strips[width].append((length + kx, count, price))
    for row in job["stock"]:
        low, high = row.get("end_trim", 0), row["length"] - row.get("end_trim", 0)
        spans = zip([(0, low), *row.get("unusable", [])], [*row.get("unusable", []), (high, high)], strict=True)
        rooms = [min(b[0], high) - max(a[1], low) + kx for a, b in spans if min(b[0], high) > max(a[1], low)]
        loads = []
        for width, inside in strips.items():
            most = [-(-count // n) for size, count, _ in inside if (n := sum(room // size for room in rooms))]
            loads.append((width + ky, sum(most), sum(knapsack(inside, room) for room in rooms)))
        board = knapsack(loads, row.get("width", 1) - 2 * row.get("edge_trim", 0) + ky)
        if board > scale * row["cost"] + rents.get(row["id"], 0):
            return False
    total = sum(wanted[name] * p for name, p in prices.items()) - sum(there[name] * m for name, m in rents.items())
    step = gcd(*(row["cost"] for row in job["stock"])) or 1
    trusted = plan["bound_kind"] == "solver" and plan["assurance"] != "proved"
    return (0 if trusted else plan["bound"]) <= own["bound"] <= max(0, -(-total // (scale * step)) * step)


def knapsack(loads, room):
    unit = gcd(*(size for size, _, _ in loads)) or 1
    worths = [0] * (room // unit + 1)
    for size, count, worth in loads:
        for _ in range(min(count, room // size)):
            worths = [max(w, worths[n - size // unit] + worth) if n * unit >= size else w for n, w in enumerate(worths)]
    return worths[-1]
