"""Kerf on open data: a saw that wastes k is the same as pieces and stock longer by k and a saw that wastes nothing."""

import csv
import json
from pathlib import Path
from typing import Any

import pytest

from tests.nightly import spread
from woodshop.cutting.model.job import Job, read_job
from woodshop.cutting.planner.plan_job import plan

BENCH = Path(__file__).resolve().parents[1] / "data" / "cutting"
KERFS = (1, 2, 3, 5, 8)


def instances() -> list[tuple[str, list[tuple[int, int]], list[tuple[int, int]], int]]:
    """Sixty as (name, stock as length and cost, pieces as length and count, optimum): 13 worked examples, 47 of a set.

    Of the set, those with fewest ways to fill a board, so that each closes quickly.
    """
    found = []
    for row in json.loads((BENCH / "hand_checks" / "hand_1d.json").read_text(encoding="utf-8")):
        stock = [(s["length"], s["cost"]) for s in row["stock"]]
        pieces = [(i["length"], i["demand"]) for i in row["items"]]
        found.append((row["id"], stock, pieces, row["optimum_by_kerf_computed_here"]["0"]["optimum"]))
    with (BENCH / "csp1d_scholl" / "values.csv").open(encoding="utf-8") as lines:
        best = {row["name"]: int(row["best"]) for row in csv.DictReader(lines)}
    rows = json.loads((BENCH / "csp1d_scholl" / "instances.json").read_text(encoding="utf-8"))
    rows.sort(key=lambda row: (row["capacity"] * len(row["items"]) * _fill(row), row["name"]))
    for row in [row for row in rows if row["set"] == "scholl1"][:47]:
        found.append((row["name"], [(row["capacity"], 1)], [(x, n) for x, n in row["items"]], best[row["name"]]))
    return found


def _fill(row: dict[str, Any]) -> int:
    return int(row["capacity"] // min(length for length, _ in row["items"]))


def job_of(stock: list[tuple[int, int]], pieces: list[tuple[int, int]], kerf: int) -> Job:
    """The job with stock and pieces shorter by the kerf, which the saw takes."""
    return read_job(
        {
            "format": "woodshop-job/1",
            "unit": "1",
            "money": "c",
            "kerf": {"rip": kerf, "crosscut": kerf},
            "stock": [{"id": f"s{n}", "length": x - kerf, "cost": cost} for n, (x, cost) in enumerate(stock)],
            "blanks": [{"id": f"b{n}", "length": x - kerf, "count": count} for n, (x, count) in enumerate(pieces)],
        }
    )


@pytest.mark.slow("solves 60 open jobs twice")
@pytest.mark.outside(
    "A. Scholl, R. Klein, C. Juergens, Computers & OR 24 (1997) 627-645, optima as in the BPPLIB bounds; "
    "13 worked examples, each with its source in the data"
)
def test_a_kerf_is_the_same_as_longer_pieces_on_longer_stock_on_60_open_jobs() -> None:
    jobs = instances()
    assert len({name for name, *_ in jobs}) == 60
    for n, (name, stock, pieces, optimum) in spread(list(enumerate(jobs)), 6):
        kerf = min(KERFS[n % len(KERFS)], min(length for length, _ in pieces) - 1)
        without, within = plan(job_of(stock, pieces, 0)), plan(job_of(stock, pieces, kerf))
        assert without.cost == within.cost == optimum, name
        assert without.gap == within.gap == 0, name
