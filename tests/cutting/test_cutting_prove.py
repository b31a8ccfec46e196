"""Certificates: what they prove against brute force, and thousands of corruptions of which none may be believed."""

import copy
import importlib.util
import json
import random
import sys
from fractions import Fraction
from itertools import product
from math import gcd
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from woodshop.cutting.job import Job, read_job
from woodshop.cutting.plan import plan_to_json, read_plan
from woodshop.cutting.planner import plan
from woodshop.cutting.prove import bound_of, prove_plan, worth_of_stock
from woodshop.errors import InputError, NothingToCutError

HERE = Path(__file__).resolve().parent
SHARED = HERE.parents[1] / ".." / "shared" / "bench"


def load(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(f"brute_{name}", HERE / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


plain, ruled = load("test_cutting_planner"), load("test_cutting_rules")


def job_of(kind: str, seed: int) -> Job:
    if kind == "rules":
        return ruled.ruled_job(seed)
    return plain.small_job(seed, flat=kind == "flat")


def least_cost(kind: str, job: Job) -> int | None:
    return ruled.least_cost(job) if kind == "rules" else plain.least_cost(job)


def dearest_layout(kind: str, job: Job, number: int, prices: dict[str, int]) -> int:
    """The greatest worth of what fits one board, by trying everything."""
    best = 0
    stock = job.stock[number]
    for load in product(*(range(blank.count + 1) for blank in job.blanks)):
        worth = sum(n * prices[blank.id] for n, blank in zip(load, job.blanks, strict=True))
        if worth <= best:
            continue
        if kind == "rules":
            pieces = tuple(
                (blank.length, blank.width) for blank, n in zip(job.blanks, load, strict=True) for _ in range(n)
            )
            good = ruled.fits(job, stock, pieces)
        else:
            good = plain.fits(job, stock, load)
        best = worth if good else best
    return best


@pytest.mark.invariant
@pytest.mark.parametrize("kind", ["lengths", "flat", "rules"])
def test_no_layout_is_worth_more_than_the_proof_says(kind: str) -> None:
    exact = 0
    for seed in range(500, 700):
        job = job_of(kind, seed)
        rng = random.Random(seed)
        prices = {blank.id: rng.randint(0, 9) for blank in job.blanks}
        said = worth_of_stock(job, prices)
        true = [dearest_layout(kind, job, number, prices) for number in range(len(job.stock))]
        assert all(a >= b for a, b in zip(said, true, strict=True)), (seed, said, true)
        exact += sum(a == b for a, b in zip(said, true, strict=True))
    assert exact > 150  # and often no more than there is


# -- corruption -----------------------------------------------------------------------------------------------


def corrupted(rng: random.Random, value: dict[str, Any]) -> dict[str, Any]:
    """A plan's file with one to three numbers of its job, its certificate or its claims changed."""
    new = copy.deepcopy(value)
    for _ in range(rng.choice((1, 1, 1, 2, 3))):
        job, own = new["job"], new["certificate"]
        where = rng.choice(
            ("price", "price", "rent", "scale", "bound", "stock", "stock", "blank", "blank", "kerf", "rule")
        )
        if where == "price" and own["prices"]:
            name = rng.choice(sorted(own["prices"]))
            own["prices"][name] = nudged(rng, own["prices"][name])
        elif where == "rent":
            limited = [row["id"] for row in job["stock"] if "count" in row]
            name = rng.choice(limited or [row["id"] for row in job["stock"]])
            own["rents"][name] = nudged(rng, own["rents"].get(name, 0))
        elif where == "scale":
            own["scale"] = nudged(rng, own["scale"])
        elif where == "bound":
            own["bound"] = new["bound"] = nudged(rng, own["bound"])
        elif where == "stock":
            row = rng.choice(job["stock"])
            key = rng.choice(("cost", "length", "width", "count", "end_trim"))
            if key == "count" and "count" in row and rng.random() < 0.5:
                del row["count"]
            elif key != "width" or "width" in row:
                row[key] = nudged(rng, row.get(key, 0))
        elif where == "blank":
            row = rng.choice(job["blanks"])
            key = rng.choice(("count", "count", "length", "width"))
            if key != "width" or "width" in row:
                row[key] = nudged(rng, row[key])
            row["count"] = min(row["count"], 3)
        elif where == "kerf":
            key = rng.choice(("rip", "crosscut"))
            job["kerf"][key] = nudged(rng, job["kerf"][key])
        elif job.get("rules"):
            key = rng.choice(sorted(job["rules"]))
            if isinstance(job["rules"][key], int):
                job["rules"][key] = nudged(rng, job["rules"][key])
    return new


def nudged(rng: random.Random, value: int) -> int:
    return rng.choice((-value, value + 1, value - 1, value * 2, value // 2, value * 10, 0, value + rng.randint(1, 5)))


@pytest.mark.invariant
@pytest.mark.parametrize("kind", ["lengths", "flat", "rules"])
def test_no_corrupted_certificate_is_believed_unless_what_it_says_is_true(kind: str) -> None:
    refused = true = tried = 0
    known: dict[str, int | None] = {}
    for seed in range(700, 770):
        try:
            made = plan(job_of(kind, seed))
        except NothingToCutError:
            continue
        if made.certificate is None:
            continue
        assert prove_plan(made) == ()
        value = plan_to_json(made)
        rng = random.Random(seed)
        for _ in range(20):
            tried += 1
            try:
                new = read_plan(corrupted(rng, value))
            except InputError:
                refused += 1
                continue
            own = new.certificate
            if prove_plan(new):
                refused += 1
                continue
            assert own is not None
            text = json.dumps(plan_to_json(new)["job"])
            if text not in known:
                known[text] = least_cost(kind, new.job)
            least = known[text]
            assert least is None or own.bound <= least, (seed, new.job, own, least)
            assert least is None or new.bound <= least or new.bound_kind == "solver"
            true += 1
    assert tried >= 900
    assert refused > 400
    assert true > 60


def test_a_stranger_can_check_a_certificate_in_forty_lines() -> None:
    """Two stages, rip first, no trims, rules or turning: a check of its own, from the published format alone."""
    value = plan_to_json(plan(read_job((SHARED / "hobby" / "E124.json").read_text(encoding="utf-8"))))
    job, own = value["job"], value["certificate"]
    kx, ky = job["kerf"]["crosscut"], job["kerf"]["rip"]

    def best(loads: list[tuple[int, int, int]], room: int) -> int:
        worth = [0] * (room + 1)
        for size, count, gain in loads:
            for _ in range(min(count, room // size)):
                worth = [max(w, worth[r - size] + gain) if r >= size else w for r, w in enumerate(worth)]
        return worth[room]

    known: dict[tuple[int, int], tuple[int, int]] = {}

    def strip(width: int, length: int) -> tuple[int, int]:
        if (width, length) not in known:
            rows = [row for row in job["blanks"] if row["width"] == width and row["length"] <= length]
            unit = gcd(*(row["length"] + kx for row in rows)) or 1
            loads = [((row["length"] + kx) // unit, row["count"], own["prices"].get(row["id"], 0)) for row in rows]
            enough = sum(-(-row["count"] // ((length + kx) // (row["length"] + kx))) for row in rows)
            known[width, length] = best(loads, (length + kx) // unit), enough
        return known[width, length]

    total = Fraction(sum(row["count"] * own["prices"].get(row["id"], 0) for row in job["blanks"]))
    for row in job["stock"]:
        widths = {blank["width"] for blank in job["blanks"] if blank["width"] <= row["width"]}
        loads = [(width + ky, *reversed(strip(width, row["length"]))) for width in sorted(widths)]
        rent = own["rents"].get(row["id"], 0)
        assert "count" in row or rent == 0
        assert best(loads, row["width"] + ky) <= own["scale"] * row["cost"] + rent
        total -= row.get("count", 0) * rent
    step = gcd(*(row["cost"] for row in job["stock"]))
    assert own["bound"] <= -(-total // (own["scale"] * step)) * step
    assert own["bound"] == bound_of(read_job(job), read_plan(value).certificate)[0]


def test_a_proved_plan_without_its_certificate_is_refused() -> None:
    made = plan(plain.job_of([{"id": "s", "length": 10, "cost": 3}], [{"id": "b", "length": 5, "count": 4}]))
    assert made.assurance == "proved"
    value = plan_to_json(made)
    del value["certificate"]
    assert [finding.code for finding in prove_plan(read_plan(value))] == ["plan-proof"]
    assert read_plan(plan_to_json(made)) == made
