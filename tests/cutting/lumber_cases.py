"""Small random jobs in several thicknesses; what they cost at least, by trying everything; and a judge of their plans.

Written from the words of the format, apart from the planner, the check and the proof.
"""

import random
from collections import Counter
from collections.abc import Iterator, Mapping
from functools import cache
from itertools import product
from typing import Any

from tests.cutting.brute_force import GREAT, fits
from tests.cutting.judge import judge
from woodshop.cutting.model.job import job_digest, read_job
from woodshop.cutting.model.lumber_plan import LumberPlan, lumber_plan_to_json
from woodshop.cutting.model.plan import Plan

Load = tuple[int, ...]


def lumber_job(seed: int) -> dict[str, Any]:
    """A job of one or two kinds of thick board that may be resawn, or divided where they are bought, or both."""
    rng = random.Random(f"lumber {seed}")
    flat = rng.random() < 0.85
    value: dict[str, Any] = {"format": "woodshop-job/2", "unit": "1", "money": "c"}
    value["kerf"] = {"rip": rng.randint(0, 1), "crosscut": rng.randint(0, 1)}
    if flat:
        value["cutting"] = {"stages": 2, "first": rng.choice(("along", "along", "across", "either"))}
        value["cutting"]["final_trim"] = rng.random() < 0.2
    rules: dict[str, Any] = {"surplus": "spare"} if rng.random() < 0.2 else {}
    if flat and value["cutting"]["first"] == "along" and not value["cutting"]["final_trim"] and rng.random() < 0.4:
        ruled = {"least_remainder": 1, "shortest_rip": rng.randint(3, 6), "longest_rip": rng.randint(6, 12)}
        kept = rng.choice(tuple(ruled))
        rules[kept] = ruled[kept]
    if rules:
        value["rules"] = rules
    value["stock"] = [_stock(n, flat, rng) for n in range(rng.randint(1, 2))]
    value["blanks"] = []
    left = 5
    for n in range(rng.randint(1, 3)):
        count = rng.randint(1, min(3, left))
        left -= count
        row = {"id": f"b{n}", "thickness": rng.choice("112"), "length": rng.randint(2, 9), "count": count}
        value["blanks"].append(row | ({"width": rng.randint(2, 4)} if flat else {}))
        if not left:
            break
    return value


def _stock(n: int, flat: bool, rng: random.Random) -> dict[str, Any]:
    row: dict[str, Any] = {"id": f"s{n}", "thickness": rng.choice("1222"), "length": rng.randint(10, 22)}
    row["cost"] = rng.randint(0, 12)
    if flat:
        row["width"] = rng.randint(3, 7)
    if rng.random() < 0.3:
        row["end_trim"] = 1
    if rng.random() < 0.3:
        row["count"] = rng.randint(1, 3)
    if row["thickness"] == "2" and rng.random() < 0.8:
        way = {"thickness": "1", "boards": rng.choice((1, 2, 2, 3)), "cost": rng.choice((0, 0, 1, 3))}
        row["resaw"] = [way | ({"shortest": rng.randint(4, 9)} if rng.random() < 0.4 else {})]
    if rng.random() < 0.7:
        own = {"cost": rng.choice((0, 1, 1, 2, 4)), "kerf": rng.randint(0, 1), "free_cuts": rng.choice((0, 0, 1, 2))}
        own |= {"rough": rng.randint(0, 2), "shortest_cut": rng.randint(2, 5)}
        row["lumberyard_cuts"] = own | ({"longest": rng.randint(6, row["length"])} if rng.random() < 0.7 else {})
    return row


# -- what it costs at least -----------------------------------------------------------------------------------


def least_lumber_cost(job: Mapping[str, Any]) -> int | None:
    """The optimum; None when the job cannot be done."""
    _KNOWN.clear()
    want = tuple(blank["count"] for blank in job["blanks"])
    offers = [(j, cost, load) for j, stock in enumerate(job["stock"]) for load, cost in _board(job, stock).items()]

    @cache
    def cover(need: Load, left: Load) -> int:
        if not any(need):
            return 0
        best = GREAT
        for j, cost, load in offers:
            rest = tuple(max(0, b - a) for a, b in zip(load, need, strict=True))
            if left[j] and rest != need:
                best = min(best, cost + cover(rest, tuple(n - (k == j) for k, n in enumerate(left))))
        return best

    most = sum(want)
    answer = cover(want, tuple(min(most, stock.get("count", most)) for stock in job["stock"]))
    return None if answer >= GREAT else answer


def _board(job: Mapping[str, Any], stock: Mapping[str, Any]) -> dict[Load, int]:
    """What one bought board can yield, with the least cost of each yield."""
    own, found = stock.get("lumberyard_cuts"), dict[Load, int]()
    trim = stock.get("end_trim", 0)
    if own is None or stock["length"] <= own.get("longest", GREAT):
        whole = _part(job, stock, stock["length"], stock["length"], trim)
        found = {load: stock["cost"] + cost for load, cost in whole.items()}
    for lengths in _compositions(stock["length"], own) if own else ():
        fee = stock["cost"] + own["cost"] * max(0, len(lengths) - 1 - own.get("free_cuts", 0))
        sums = {(0,) * len(job["blanks"]): fee}
        for n, length in enumerate(lengths):
            ends = [trim if n == 0 else own.get("rough", 0)]
            ends += [trim if n == len(lengths) - 1 else own.get("rough", 0)]
            part = _part(job, stock, length, length - sum(ends), 0) if length <= own.get("longest", GREAT) else {}
            sums = _added(sums, part)
        for load, cost in sums.items():
            found[load] = min(cost, found.get(load, GREAT))
    return _best({load: cost for load, cost in found.items() if any(load)})


def _compositions(length: int, own: Mapping[str, int]) -> Iterator[tuple[int, ...]]:
    """Every way to cut a board into two parts or more, none too short."""
    least = own.get("shortest_cut", 1)

    def cut(left: int) -> Iterator[tuple[int, ...]]:
        if left >= least:
            yield (left,)
        for first in range(least, left - own["kerf"] - least + 1):
            for rest in cut(left - own["kerf"] - first):
                yield (first, *rest)

    return (parts for parts in cut(length) if len(parts) > 1)


def _part(job: Mapping[str, Any], stock: Mapping[str, Any], length: int, inside: int, trim: int) -> dict[Load, int]:
    """What one part can yield, whole or resawn, with the least cost of each yield. Nothing at all is not listed."""
    found: dict[Load, int] = {}
    ways = [{"thickness": stock["thickness"], "boards": 1}, *stock.get("resaw", [])]
    for way in ways:
        if inside < 1 or length < way.get("shortest", 0):
            continue
        one = _home_loads(job, stock, way["thickness"], inside, trim)
        sums = dict.fromkeys(one, 0)
        for _ in range(way["boards"] - 1):
            sums = _added(sums, dict.fromkeys(one, 0))
        for load, cost in sums.items():
            found[load] = min(cost + way.get("cost", 0), found.get(load, GREAT))
    return found


_KNOWN: dict[tuple[Any, ...], tuple[Load, ...]] = {}


def _home_loads(
    job: Mapping[str, Any], stock: Mapping[str, Any], word: str, inside: int, trim: int
) -> tuple[Load, ...]:
    key = (stock.get("width"), word, inside, trim)
    if key not in _KNOWN:
        blanks = job["blanks"]
        home = {"id": "-", "cost": 0, "length": inside, "end_trim": trim}
        home |= {"width": stock["width"]} if "width" in stock else {}
        ranges = [range(blank["count"] + 1 if blank["thickness"] == word else 1) for blank in blanks]
        loads = [load for load in product(*ranges) if any(load) and 2 * trim < inside and fits(job, home, load)]
        _KNOWN[key] = tuple(_best(dict.fromkeys(loads, 0)))
    return _KNOWN[key]


def _added(sums: Mapping[Load, int], part: Mapping[Load, int]) -> dict[Load, int]:
    found = dict(sums)
    for (load, cost), (more, extra) in product(sums.items(), part.items()):
        total = tuple(a + b for a, b in zip(load, more, strict=True))
        found[total] = min(cost + extra, found.get(total, GREAT))
    return _best(found)


def _best(costs: Mapping[Load, int]) -> dict[Load, int]:
    """Without what yields no more and costs no less than another."""
    kept: dict[Load, int] = {}
    for load, cost in sorted(costs.items(), key=lambda pair: (pair[1], -sum(pair[0]))):
        if not any(c <= cost and all(a >= b for a, b in zip(other, load, strict=True)) for other, c in kept.items()):
            kept[load] = cost
    return kept


# -- the judge ------------------------------------------------------------------------------------------------


def judge_lumber(made: LumberPlan) -> bool:
    """Whether a plan is sound: every board, part and cut of it, and its money but for what its certificate proves."""
    plan = lumber_plan_to_json(made)
    job = plan["job"]
    stocks = {stock["id"]: stock for stock in job["stock"]}
    cost, bought = 0, Counter[str]()
    boards: dict[int, tuple[str, dict[str, Any]]] = {}
    times = Counter[int]()
    for board in plan["bought"]:
        stock = stocks[board["stock"]]
        own, parts = stock.get("lumberyard_cuts"), board["parts"]
        bought[stock["id"]] += board["times"]
        fee, cuts = stock["cost"], len(parts) - 1
        if cuts and own is None:
            return False
        if cuts:
            fee += own["cost"] * max(0, cuts - own.get("free_cuts", 0))
        if sum(part["length"] for part in parts) + cuts * (own["kerf"] if own else 0) != stock["length"]:
            return False
        for n, part in enumerate(parts):
            if cuts and part["length"] < own.get("shortest_cut", 1):
                return False
            if not part["layouts"]:
                continue
            if own and part["length"] > own.get("longest", GREAT):
                return False
            words = {way["thickness"]: way for way in stock.get("resaw", [])}
            way = words[part["resaw"]] if "resaw" in part else {"thickness": stock["thickness"], "boards": 1}
            fee += way.get("cost", 0)
            if len(part["layouts"]) > way["boards"] or part["length"] < way.get("shortest", 0):
                return False
            home = {"length": part["length"], "end_trim": stock.get("end_trim", 0), "cost": 0}
            if cuts:
                trim, rough = stock.get("end_trim", 0), own.get("rough", 0)
                home["length"] -= (rough if n else trim) + (rough if n < cuts else trim)
                home["end_trim"] = 0
            home |= {key: stock[key] for key in ("width", "edge_trim", "unusable", "rip") if key in stock}
            names = [
                stock["id"],
                *([str(home["length"])] if cuts else []),
                *([part["resaw"]] if "resaw" in part else []),
            ]
            for number in part["layouts"]:
                if plan["layouts"][number]["stock"] != " / ".join(names):
                    return False
                times[number] += board["times"]
                if boards.setdefault(number, (way["thickness"], home)) != (way["thickness"], home):
                    return False
        cost += board["times"] * fee
    if any(layout["times"] != times[n] for n, layout in enumerate(plan["layouts"])) or cost != made.cost:
        return False
    if any("count" in stock and bought[stock["id"]] > stock["count"] for stock in job["stock"]):
        return False
    return all(_judged(made, job, boards, word) for word in {blank["thickness"] for blank in job["blanks"]})


def _judged(made: LumberPlan, job: dict[str, Any], boards: dict[int, tuple[str, dict[str, Any]]], word: str) -> bool:
    """Whether the layouts of one thickness are sound, as a plan for boards that cost nothing."""
    own = {n: home | {"id": f"{n}"} for n, (thickness, home) in boards.items() if thickness == word}
    plain = {key: job[key] for key in ("unit", "money", "kerf", "cutting", "rules") if key in job}
    blanks = [{k: row[k] for k in row if k != "thickness"} for row in job["blanks"] if row["thickness"] == word]
    apart = read_job({"format": "woodshop-job/1", **plain, "stock": list(own.values()), "blanks": blanks})
    layouts = [(n, made.layouts[n]) for n in sorted(own)]
    from dataclasses import replace

    part = Plan(
        job=apart, job_digest=job_digest(apart), cost=0, bound=0, bound_kind="area", assurance="proved", gap=0,
        layouts=tuple(replace(layout, stock=f"{n}") for n, layout in layouts),
    )  # fmt: skip
    return judge(part)
