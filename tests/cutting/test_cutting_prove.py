"""Certificates: what they prove against brute force, and thousands of corruptions of which none may be believed."""

import copy
import json
import random
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.cutting.brute_force import dearest, least_cost
from tests.cutting.judge import misclaim
from tests.cutting.middling_jobs import in_line, middling, with_rack
from tests.cutting.small_jobs import KINDS, LEFT_OUT, planned, small_job
from tests.cutting.stranger import stands
from tests.nightly import spread
from tests.once import hobby_plan
from woodshop.cutting.checkers.prove import bound_of, prove_plan
from woodshop.cutting.checkers.worth import worth_of_stock
from woodshop.cutting.model.job import Rules, read_job
from woodshop.cutting.model.plan import Certificate, Plan, plan_to_json, read_plan
from woodshop.cutting.planner.plan_job import plan
from woodshop.errors import InputError

HERE = Path(__file__).resolve().parent
DATA = HERE.parent / "data" / "cutting"


@pytest.mark.invariant
@pytest.mark.parametrize("kind", [*KINDS, LEFT_OUT])
def test_no_layout_is_worth_more_than_the_proof_says(kind: str) -> None:
    exact = tried = 0
    for seed in spread(range(500, 560), 20):
        value = small_job(kind, seed)
        rng = random.Random(seed)
        prices = {blank["id"]: rng.randint(0, 9) for blank in value["blanks"]}
        said = worth_of_stock(read_job(value), prices)
        true = [dearest(value, row, prices) for row in value["stock"]]
        assert all(a >= b for a, b in zip(said, true, strict=True)), (seed, said, true)
        exact += sum(a == b for a, b in zip(said, true, strict=True))
        tried += len(true)
    assert exact > tried / 3  # and often no more than there is


@pytest.mark.invariant
def test_sections_in_which_a_cheaper_piece_begins_to_fit() -> None:
    """One piece of 10 at 11, or in a section of 11 that one and three pieces of 11 at 10: four strips, not one."""
    top = {"format": "woodshop-job/1", "unit": "1", "money": "c", "kerf": {"rip": 0, "crosscut": 0}}
    for seed in [-1, *spread(range(60), 20)]:
        rng = random.Random(seed)
        length, most = (12, 11) if seed < 0 else (rng.randint(11, 16), rng.randint(8, 10))
        stock = [{"id": "s", "length": length, "width": 4, "cost": 10}]
        sizes = [(10, 1), (11, 3)] if seed < 0 else [(rng.randint(5, most), rng.randint(1, 3)) for _ in range(3)]
        blanks = [{"id": f"b{n}", "length": size, "width": 1, "count": count} for n, (size, count) in enumerate(sizes)]
        cutting = {"stages": 2, "first": "along"}
        value = {**top, "cutting": cutting, "rules": {"longest_rip": most}, "stock": stock, "blanks": blanks}
        prices = {"b0": 11, "b1": 10} if seed < 0 else {blank["id"]: rng.randint(8, 11) for blank in blanks}
        (said,), true = worth_of_stock(read_job(value), prices), dearest(value, stock[0], prices)
        assert said >= true, (seed, said, true)
        assert seed >= 0 or (true == 41 and said < 60)


@pytest.mark.invariant
@pytest.mark.parametrize("name", ["F6", "G60"])
def test_prices_too_great_for_an_array_are_worth_so_many_times_as_much(name: str) -> None:
    """Sums of small prices are made on arrays, those of great ones on plain integers; both exactly."""
    value = json.loads((DATA / "hobby" / f"{name}.json").read_text())
    rng = random.Random(1)
    prices = {blank["id"]: rng.randint(1, 10**6) for blank in value["blanks"]}
    job, times = read_job(value), 2**60
    great = {blank: price * times for blank, price in prices.items()}
    assert worth_of_stock(job, great) == [worth * times for worth in worth_of_stock(job, prices)]


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
            # No more pieces than brute force can try.
            row["count"] = min(row["count"], 7 - sum(other["count"] for other in job["blanks"] if other is not row))
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
@pytest.mark.parametrize("kind", KINDS)
def test_no_corrupted_certificate_is_believed_unless_what_it_says_is_true(kind: str) -> None:
    refused = true = tried = 0
    known: dict[str, int | None] = {}
    seeds = spread(range(45), 9)
    for seed in seeds:
        made = planned(kind, seed)
        if made is None or made.certificate is None:
            continue
        assert prove_plan(made) == ()
        value = plan_to_json(made)
        rng = random.Random(seed)
        for _ in range(10):
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
            job = plan_to_json(new)["job"]
            text = json.dumps(job)
            if text not in known:
                known[text] = least_cost(job)
            least = known[text]
            assert least is None or own.bound <= least, (seed, new.job, own, least)
            assert least is None or new.bound <= least or new.bound_kind == "solver"
            true += 1
    assert tried >= 6 * len(seeds)
    assert refused > 2 * len(seeds)
    assert true > len(seeds)


# -- a stranger -----------------------------------------------------------------------------------------------


def test_the_stranger_needs_few_lines() -> None:
    body = (HERE / "stranger.py").read_text(encoding="utf-8").split('"""', 2)[2]
    assert len([line for line in body.splitlines() if line.strip()]) <= 44


@pytest.mark.invariant
def test_boards_are_whole_in_a_bound() -> None:
    """Seven pieces, three to a short bar and six to a long one: by hand one of each, 29; the fraction alone says 23."""
    bars = [{"id": "short", "length": 100, "cost": 10}, {"id": "long", "length": 200, "cost": 19}]
    top = {"format": "woodshop-job/1", "unit": "mm", "money": "c", "kerf": {"rip": 0, "crosscut": 0}, "stock": bars}
    job = read_job({**top, "blanks": job_rows(7)})
    assert bound_of(job, Certificate(6, (("a", 19),), (), 29)) == (29, "")
    few = read_job({**top, "stock": [{**bars[0], "count": 3}, bars[1]], "blanks": job_rows(7)})
    assert bound_of(few, Certificate(6, (("a", 19),), (), 29)) == (29, "")
    free = read_job(
        {**top, "stock": [*bars, {"id": "rack", "length": 35, "cost": 0, "count": 1}], "blanks": job_rows(7)}
    )
    assert bound_of(free, Certificate(6, (("a", 19),), (("rack", 19),), 20))[0] == 19, (
        "one from the rack, six from a long bar"
    )


def job_rows(count: int) -> list[dict[str, object]]:
    return [{"id": "a", "length": 30, "count": count}]


@pytest.mark.parametrize("name", ["F6", "D42"])
def test_a_stranger_believes_the_certificate_of_a_hobby_job(name: str) -> None:
    made = hobby_plan(name)
    assert told(made)
    assert made.certificate is not None
    assert made.certificate.bound == bound_of(made.job, made.certificate)[0]


def told(made: Plan) -> bool:
    """What the stranger says of the plan's file."""
    return bool(stands(json.loads(json.dumps(plan_to_json(made)))))


@pytest.mark.invariant
def test_a_stranger_and_the_proof_agree_on_real_and_on_changed_certificates() -> None:
    """Small jobs without rules and final trim, and middling ones with a rack; both ways, on every one."""
    seeds = spread(range(100), 25)
    plans = [planned(kind, seed) for kind in ("lengths", "rip first") for seed in seeds]
    plans += [plan(read_job(value)) for value in (with_rack(), in_line(), middling(1))]
    rng = random.Random(40)
    believed = refused = 0
    for made in plans:
        if made is None or made.job.cutting.final_trim or replace(made.job.rules, surplus=None) != Rules():
            continue
        assert told(made)
        for _ in range(6):
            new = misclaim(made, rng)
            if new.certificate is not None:
                assert told(new) == (prove_plan(new) == ()), new
                believed += told(new)
                refused += not told(new)
    assert believed > len(seeds)
    assert refused > 2 * len(seeds)


def test_a_proved_plan_without_its_certificate_is_refused() -> None:
    made = next(each for seed in range(9) if (each := planned("rip first", seed)) and each.assurance == "proved")
    value = plan_to_json(made)
    del value["certificate"]
    assert [finding.code for finding in prove_plan(read_plan(value))] == ["plan-proof"]
    assert read_plan(plan_to_json(made)) == made
