"""Jobs of tens of pieces that close quickly, as plain values."""

import random
from functools import cache
from typing import Any

from woodshop.cutting.model.job import read_job
from woodshop.cutting.model.plan import Plan
from woodshop.cutting.planner.plan_job import plan
from woodshop.errors import NothingToCutError


def middling(seed: int) -> dict[str, Any]:
    """A job that closes quickly: a few widths, tens of pieces."""
    rng = random.Random(seed)
    stock = [
        {"id": f"{w}x{n}", "width": w, "length": n, "cost": round(w * n * rng.uniform(0.9, 1.2) / 100)}
        for w in (12, 20, 29)
        for n in rng.sample((96, 120, 144), 2)
    ]
    widths = rng.sample((5, 8, 11, 14), 2)
    blanks = [
        {"id": f"b{n}", "width": rng.choice(widths), "length": rng.randint(20, 60), "count": rng.randint(2, 12)}
        for n in range(rng.randint(2, 5))
    ]
    cutting = {"stages": 2, "first": "along", "final_trim": False}
    top = {"format": "woodshop-job/1", "unit": "1", "money": "c", "kerf": {"rip": 1, "crosscut": 1}}
    return {**top, "cutting": cutting, "stock": stock, "blanks": blanks}


def with_rack() -> dict[str, Any]:
    """Boards to buy and a rack of offcuts, two of them with a knot."""
    rng = random.Random(17)
    value = middling(6)
    rack = [
        {"id": f"rack-{n}", "width": rng.choice((12, 20)), "length": rng.randint(40, 90), "cost": 1, "count": 1}
        for n in range(6)
    ]
    for row in rack[:2]:
        row["unusable"] = [[20, 24]]
    return {**value, "stock": [*value["stock"], *rack]}


def in_line() -> dict[str, Any]:
    """Lengths only, from two stocks, one of them limited."""
    rng = random.Random(18)
    stock = [{"id": "long", "length": 240, "cost": 20}, {"id": "short", "length": 150, "cost": 12, "count": 5}]
    blanks = [{"id": f"b{n}", "length": rng.randint(20, 90), "count": rng.randint(2, 9)} for n in range(12)]
    top = {"format": "woodshop-job/1", "unit": "1", "money": "c", "kerf": {"rip": 1, "crosscut": 1}}
    return {**top, "stock": stock, "blanks": blanks}


def in_three_stages() -> dict[str, Any]:
    """Sheets, ripped, crosscut and ripped again, pieces turned as need be."""
    value = middling(3)
    blanks = [{**row, "count": min(4, row["count"]), "rotate": True} for row in value["blanks"]]
    return {**value, "cutting": {"stages": 3, "first": "either", "final_trim": True}, "blanks": blanks}


def sheets(seed: int) -> dict[str, Any]:
    """Two kinds of stock and three blanks, cut in any way; every third job under rules."""
    rng = random.Random(seed)
    stock = [
        {
            "id": f"s{n}",
            "length": rng.randint(40, 90),
            "width": rng.randint(14, 30),
            "cost": rng.randint(3, 9),
            "end_trim": rng.choice((0, 0, 2)),
            "edge_trim": rng.choice((0, 0, 1)),
            "unusable": rng.choice(([], [[11, 15]])),
        }
        for n in range(2)
    ]
    blanks = [
        {
            "id": f"b{n}",
            "length": rng.randint(4, 25),
            "width": rng.randint(2, 13),
            "count": rng.randint(1, 7),
            "rotate": rng.random() < 0.4,
        }
        for n in range(3)
    ]
    rules = {"narrow_below": 5, "parent_wood": 6, "longest_rip": 60} if seed % 3 == 0 else {}
    cutting = {
        "stages": rng.choice((2, 3)),
        "first": rng.choice(("along", "across", "either")),
        "final_trim": rng.random() < 0.5,
    }
    kerf = {"rip": rng.randint(0, 2), "crosscut": rng.randint(0, 2)}
    top = {"format": "woodshop-job/1", "unit": "1", "money": "c", "kerf": kerf, "cutting": cutting, "rules": rules}
    return {**top, "stock": stock, "blanks": blanks}


@cache
def planned_sheets(seed: int) -> Plan | None:
    """The quick plan of `sheets`, made once for all tests; None when nothing can be cut."""
    try:
        return plan(read_job(sheets(seed)), effort="quick")
    except NothingToCutError:
        return None
