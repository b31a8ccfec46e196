"""Small random jobs by kind, as plain values: few enough pieces that everything can be tried."""

import random
from functools import cache
from typing import Any

from woodshop.cutting.model.job import read_job
from woodshop.cutting.model.plan import Plan
from woodshop.cutting.planner.plan_job import plan
from woodshop.errors import NothingToCutError

KINDS = ("lengths", "rip first", "crosscut first", "safety rules", "three stages", "three stages under rules")
LEFT_OUT = "what the planner leaves out"
"""Rules with a final trim, unusable stretches narrower than the kerf, sections across unusable stretches, panels under
rules: the planner does not try all of these, and says so."""


OWN_CUTS = "each last piece is cut off"
"""A remainder beside what is ripped, defects cut out first, and stock that is not ripped."""
TOO_LONG = "three stages on boards that are too long to rip"
"""The first rip is omitted: blocks are crosscut from the whole board, and ripped."""


def small_job(kind: str, seed: int) -> dict[str, Any]:
    """A job of one of KINDS, LEFT_OUT, OWN_CUTS or TOO_LONG, with kerfs, trims, limited stock and rules as drawn.

    Two things are no one's model here, and never drawn: a section across an unusable stretch that is long enough to
    rip only as a whole, and a panel wider than its blocks for the sake of the parent wood.
    """
    rng = random.Random(f"{kind} {seed}")
    flat = kind != "lengths"
    value: dict[str, Any] = {"format": "woodshop-job/1", "unit": "1", "money": "c"}
    value["kerf"] = {"rip": rng.randint(0, 2), "crosscut": rng.randint(0, 2)}
    cutting, rules, least = _asked(kind, value["kerf"]["crosscut"], rng)
    if flat:
        value["cutting"] = cutting
    if rng.random() < 0.3:
        rules["surplus"] = rng.choice(("spare", "drop"))
    if rules:
        value["rules"] = rules
    stock = [_stock(n, flat, least, rng) for n in range(rng.randint(1, 3))]
    if kind == OWN_CUTS and rng.random() < 0.3:
        stock[-1]["rip"] = False
    if flat and rng.random() < 0.3:
        stock[0]["edge_trim"] = 1
    blanks = []
    left = {2: 7 if cutting["first"] == "along" else 6, 3: 5}[cutting["stages"]]
    for n in range(rng.randint(1, 4)):
        count = rng.randint(1, min(3, left))
        left -= count
        row: dict[str, Any] = {"id": f"b{n}", "length": rng.randint(3, 12), "count": count}
        if flat:
            own = stock[0]["width"] - 2 * stock[0].get("edge_trim", 0)
            row["width"] = own if rng.random() < 0.15 else rng.randint(2, 6)
            if rng.random() < 0.5:
                row["rotate"] = True
        blanks.append(row)
        if not left:
            break
    return {**value, "stock": stock, "blanks": blanks}


@cache
def planned(kind: str, seed: int) -> Plan | None:
    """The plan of `small_job`, made once for all tests; None when nothing can be cut."""
    try:
        return plan(read_job(small_job(kind, seed)))
    except NothingToCutError:
        return None


def _asked(kind: str, kerf: int, rng: random.Random) -> tuple[dict[str, Any], dict[str, Any], int | None]:
    """How to cut, the rules, and the least unusable stretch, None for no such stretches."""
    trim, plain = rng.random() < 0.4, max(1, kerf)
    if kind == LEFT_OUT:
        kind = rng.choice(("trim under rules", "narrow stretches", "sections and stretches", "panels under rules"))
    if kind == OWN_CUTS:
        first = rng.choice(("along", "along", "along", "across"))
        rules = _rules(rng) if rng.random() < 0.5 else {}
        rules |= {"least_remainder": rng.randint(1, 2)} if rng.random() < 0.8 else {}
        rules |= {"defects": "cut_out"} if rng.random() < 0.7 or rules.get("longest_rip") else {}
        return {"stages": 2, "first": first}, rules, plain
    if kind == TOO_LONG:
        rules = _rules(rng, longest=False)
        if trim:
            rules.pop("shortest_rip", None)  # a block longer than its pieces, to be long enough to rip, is not tried
        rules["longest_rip"] = rng.randint(rules.get("shortest_rip", 6), 14)
        return {"stages": 3, "first": rng.choice(("along", "along", "either")), "final_trim": trim}, rules, None
    if kind == "lengths":
        return {"stages": 2, "first": "along"}, {}, plain
    if kind == "rip first":
        rules = {} if trim or rng.random() < 0.5 else _rules(rng, longest=False)
        return {"stages": 2, "first": "along", "final_trim": trim}, rules, plain
    if kind == "crosscut first":
        return {"stages": 2, "first": rng.choice(("across", "either")), "final_trim": trim}, {}, plain
    if kind == "safety rules":
        return {"stages": 2, "first": rng.choice(("along", "along", "across", "either"))}, _rules(rng), None
    if kind == "three stages":
        first = rng.choice(("along", "along", "across", "either"))
        return {"stages": 3, "first": first, "final_trim": trim}, {}, plain if first == "along" else None
    if kind == "three stages under rules":
        return {"stages": 3, "first": "across"}, _rules(rng), None
    if kind == "trim under rules":
        return {"stages": 2, "first": "along", "final_trim": True}, _rules(rng, longest=False), plain
    if kind == "narrow stretches":
        return {"stages": 2, "first": rng.choice(("along", "across")), "final_trim": trim}, {}, 1
    if kind == "sections and stretches":
        return {"stages": 3, "first": rng.choice(("across", "either"))}, {"least_strip": 2}, plain
    rules = {"least_strip": rng.randint(2, 3), "shortest_rip": rng.randint(6, 12)}
    return {"stages": 3, "first": rng.choice(("along", "either"))}, rules, None


def _rules(rng: random.Random, *, longest: bool = True) -> dict[str, Any]:
    rules: dict[str, Any] = {}
    if rng.random() < 0.4:
        rules["least_strip"] = rng.randint(2, 3)
    if rng.random() < 0.4:
        rules["shortest_rip"] = rng.randint(6, 14)
    if rng.random() < 0.6:
        rules |= {"narrow_below": rng.randint(2, 5), "parent_wood": rng.randint(1, 6)}
    if longest and rng.random() < 0.6:
        rules["longest_rip"] = rng.randint(14, 24)
    return rules


def _stock(n: int, flat: bool, least: int | None, rng: random.Random) -> dict[str, Any]:
    row: dict[str, Any] = {"id": f"s{n}", "length": rng.randint(12, 30), "cost": rng.randint(1, 12)}
    if flat:
        row["width"] = rng.randint(5, 13)
    row["end_trim"] = rng.choice((0, 0, 1, 2))
    if rng.random() < 0.4:
        row["count"] = rng.randint(1, 2)
    if least is not None and rng.random() < 0.4:
        x0 = rng.randint(1, row["length"] - 6)
        row["unusable"] = [[x0, x0 + rng.randint(least, 4)]]
    return row
