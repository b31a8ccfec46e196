"""A stranger's check of a certificate, for two stages, rip first, without rules and final trim.

Written from the text of DEVELOPERS.md alone, on the plan's file as read from JSON: 44 lines.
"""

from collections import Counter, defaultdict
from math import gcd


def stands(plan):
    job, own, kx, ky = plan["job"], plan["certificate"], plan["job"]["kerf"]["crosscut"], plan["job"]["kerf"]["rip"]
    prices, rents, scale = own["prices"], own["rents"], own["scale"]
    wanted = {row["id"]: row["count"] for row in job["blanks"]}
    there = {row["id"]: row["count"] for row in job["stock"] if "count" in row}
    if min(scale - 1, own["bound"], *prices.values(), *rents.values()) < 0:
        return False
    if prices.keys() - wanted.keys() or rents.keys() - there.keys():
        return False
    kinds, strips, boards = Counter(), defaultdict(list), []
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
        boards.append((row["cost"], row.get("count", own["bound"]), board))
    needed, step = sum(wanted[name] * p for name, p in prices.items()), gcd(*(cost for cost, _, _ in boards)) or 1
    total, free = needed - sum(there[n] * m for n, m in rents.items()), sum(n * w for cost, n, w in boards if not cost)
    if plan["bound"] > own["bound"] and (plan["bound_kind"] != "solver" or plan["assurance"] == "proved"):
        return False
    weak = own["bound"] <= max(0, -(-total // (scale * step)) * step)
    return weak or free + knapsack([each for each in boards if each[0]], own["bound"] - 1) < needed


def knapsack(loads, room):
    unit = gcd(*(size for size, _, _ in loads)) or 1
    worths = [0] * (room // unit + 1)
    for size, count, worth in loads:
        for _ in range(min(count, room // size)):
            worths = [max(w, worths[n - size // unit] + worth) if n * unit >= size else w for n, w in enumerate(worths)]
    return worths[-1]
