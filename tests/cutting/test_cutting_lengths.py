"""Lengths alone: published optima, and small jobs with several kinds of stock against brute force."""

import csv
import json
import random
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.cutting.brute_force import least_cost
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.cutting.lengths.fill import filled
from woodshop.cutting.model.job import Job, job_to_json, read_job
from woodshop.cutting.model.plan import Plan, plan_to_json
from woodshop.cutting.planner.plan_job import plan
from woodshop.errors import NothingToCutError

DATA = Path(__file__).resolve().parents[1] / "data" / "cutting"
SAMPLE = (
    ("falkenauer", "Falkenauer_u120_08"),
    ("falkenauer", "Falkenauer_t60_10"),
    ("falkenauer", "Falkenauer_t120_07"),
    ("scholl", "N1C3W4_O"),
    ("scholl", "N2W1B1R6"),
    ("scholl", "N4W1B2R2"),
    ("schwerin_waescher", "Schwerin1_BPP11"),
    ("hard28", "Hard28_BPP716"),
    ("hard28", "Hard28_BPP766"),
)
"""One or two of each family: some are solved by filling, some by dives, some by the integer program. In Hard28_BPP716
no plan reaches the rounded-up linear bound."""


def lengths_job(stock: list[dict[str, Any]], blanks: list[tuple[int, int]], kerf: int = 0) -> Job:
    rows = [{"id": f"b{length}", "length": length, "count": count} for length, count in blanks]
    value = {"format": "woodshop-job/1", "unit": "1", "money": "c", "kerf": {"rip": kerf, "crosscut": kerf}}
    return read_job({**value, "stock": stock, "blanks": rows})


def sound(made: Plan) -> Plan:
    assert check_plan(made) == ()
    assert prove_plan(made) == ()
    return made


@pytest.mark.outside(
    "optima of open sets (Falkenauer 1996; Scholl, Klein, Juergens 1997; Schwerin, Waescher 1997; Schoenfield 2002) as "
    "in the BPPLIB bounds, sources beside the data"
)
@pytest.mark.parametrize(("folder", "name"), SAMPLE)
def test_published_optima_are_reached_and_closed(folder: str, name: str) -> None:
    own = DATA / f"csp1d_{folder}"
    row = next(row for row in json.loads((own / "instances.json").read_text(encoding="utf-8")) if row["name"] == name)
    with (own / "values.csv").open(encoding="utf-8") as lines:
        best = next(int(line["best"]) for line in csv.DictReader(lines) if line["name"] == name)
    items = [(length, count) for length, count in row["items"]]
    made = sound(plan(lengths_job([{"id": "s", "length": row["capacity"], "cost": 1}], items)))
    assert made.cost == best
    assert made.bound == best


@pytest.mark.outside(
    "G. Scheithauer, J. Terno, modified integer round-up property, 1992 to 1997: stock 132, lengths 44, 33, 12, counts "
    "2, 3, 6; the linear bound is 259/132 and the optimum 3 (from memory)"
)
def test_a_job_that_needs_one_more_than_the_rounded_up_linear_bound_is_closed() -> None:
    made = sound(plan(lengths_job([{"id": "s", "length": 132, "cost": 1}], [(44, 2), (33, 3), (12, 6)])))
    assert (made.cost, made.bound) == (3, 3)


def several_stocks(seed: int) -> Job:
    rng = random.Random(f"stocks {seed}")
    stock: list[dict[str, Any]] = []
    for n in range(rng.randint(2, 4)):
        row: dict[str, Any] = {"id": f"s{n}", "length": rng.randint(9, 32), "cost": rng.randint(0, 12)}
        row["end_trim"] = rng.choice((0, 0, 0, 1))
        if rng.random() < 0.6 or not row["cost"] or seed % 3 == 0:
            row["count"] = rng.randint(1, 1 if seed % 3 == 0 else 3)
        stock.append(row)
    lengths = rng.sample(range(2, 15), rng.randint(1, 4))
    blanks = [(length, rng.randint(1, 7 // len(lengths) + 1)) for length in lengths]
    return lengths_job(stock, blanks, kerf=rng.randint(0, 2))


@pytest.mark.invariant
def test_several_kinds_of_limited_stock_cost_what_brute_force_says() -> None:
    refused = closed = 0
    for seed in range(45):
        job = several_stocks(seed)
        least = least_cost(job_to_json(job))
        if least is None:
            with pytest.raises(NothingToCutError):
                plan(job)
            refused += 1
            continue
        made = sound(plan(job))
        assert (made.cost, made.bound) == (least, least), seed
        closed += 1
    assert refused > 5
    assert closed > 25


@pytest.mark.invariant
@pytest.mark.parametrize("first", ["along", "across", "either"])
@pytest.mark.parametrize("stages", [2, 3])
def test_blanks_as_wide_as_the_stock_are_planned_as_lengths(
    first: str, stages: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    job = several_stocks(4)
    rows = job_to_json(job)
    for row in (*rows["stock"], *rows["blanks"]):
        row["width"] = 7
    for row in rows["blanks"]:
        row["rotate"] = False
    for row in rows["stock"]:
        row["edge_trim"], row["width"] = 1, 9
    rows["cutting"] = {"stages": stages, "first": first}
    seen = []

    def noted(*given: Any) -> Any:
        seen.append(given)
        return filled(*given)

    monkeypatch.setattr("woodshop.cutting.lengths.search.filled", noted)
    made = sound(plan(read_job(rows)))
    assert seen
    assert made.cost == made.bound == plan(job).cost
    assert {(piece.y, piece.width) for layout in made.layouts for piece in layout.pieces} == {(1, 7)}


@pytest.mark.invariant
def test_equal_lengths_under_two_names_are_planned_as_one() -> None:
    stock = [{"id": "s", "length": 100, "cost": 3}, {"id": "t", "length": 70, "cost": 2}]
    job = lengths_job(stock, [(31, 7), (23, 9), (12, 11)], kerf=1)
    parted = [replace(job.blanks[0], id=f"part {n}", count=count) for n, count in enumerate((3, 4))]
    again = replace(job, blanks=(*parted, *job.blanks[1:]))
    assert sound(plan(again)).cost == sound(plan(job)).cost


@pytest.mark.invariant
def test_the_same_job_gives_the_same_bytes_and_more_effort_no_dearer_plan() -> None:
    rng = random.Random(5)
    stock = [{"id": "s", "length": 3072, "cost": 1375}, {"id": "t", "length": 1920, "cost": 845}]
    stock.append({"id": "rack", "length": 1100, "cost": 0, "count": 2})
    job = lengths_job(stock, [(length, rng.randint(1, 9)) for length in rng.sample(range(90, 1500), 8)], kerf=2)
    costs = []
    for effort in ("quick", "default"):
        made, again = sound(plan(job, effort=effort)), plan(job, effort=effort)
        assert plan_to_json(made) == plan_to_json(again)
        costs.append(made.cost)
    assert costs[1] <= costs[0]
