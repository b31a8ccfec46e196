"""Each quick case of the benchmark's registry once: the plan is sound and costs what is known to be best."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from tests.once import hobby_plan
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.model.job import read_job
from woodshop.cutting.planner.plan_job import plan

BENCH = Path(__file__).resolve().parents[1] / "bench"


def load(name: str) -> ModuleType:
    spec = importlib.util.spec_from_file_location(name, BENCH / f"{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


bench, batches, rivals = load("bench_cutting"), load("hobby_batches"), load("rivals")
lengths, sheets = load("length_jobs"), load("sheet_jobs")


@pytest.mark.outside("open benchmark sets and hobby jobs: best known costs as in the registry, sources beside the data")
@pytest.mark.parametrize("case", [case for case in bench.CASES if case.is_quick], ids=lambda case: case.name)
def test_quick_cases_reach_the_best_known_cost(case: object) -> None:
    job = read_job(bench.job_of(case))
    made = hobby_plan(case.name) if case.folder == "hobby" else plan(job)
    assert made.cost == case.best
    assert check_plan(made, job) == ()


@pytest.mark.outside("open sets of sheets: proved values as published, sources beside the data")
@pytest.mark.parametrize(
    ("of", "name", "how"),
    [
        ("g2csp_C30", "HH", "along"),
        ("g2csp_C30", "A1", "along, turned"),
        ("g2csp_furniture_A", "A13", "along"),
        ("g2bpp_class", "cl_01_020_01", "three stages"),
        ("g2bpp_class", "cl_01_020_01", "three stages, turned"),
        ("g2kp_twostage", "2s", "along"),
        ("g2kp_twostage", "2s", "across"),
    ],
)
def test_sheets_cost_no_more_than_published(of: str, name: str, how: str) -> None:
    each = next(job for job in sheets.sheet_jobs() if (job.of, job.name, job.how) == (of, name, how))
    assert each.is_proved
    assert plan(read_job(each.job), effort="quick").cost == each.published


@pytest.mark.invariant
@pytest.mark.parametrize("seed", [2, 3, 22, 25, 31])
def test_random_batches_close_and_no_hand_rule_is_cheaper(seed: int) -> None:
    job = batches.hobby_batch(seed)
    made = plan(read_job(job))
    assert made.assurance in ("proved", "solved")
    assert all(made.cost <= cost for cost in rivals.hand_costs(job).values() if cost is not None)


@pytest.mark.invariant
@pytest.mark.parametrize("model", ["arc-flow", "two-level"])
@pytest.mark.parametrize("name", ["HiGHS", "CP-SAT", "SCIP"])
def test_textbook_models_agree_on_two_hives(model: str, name: str) -> None:
    """A job small enough that each of them proves its optimum at once."""
    job = batches.two_hives(offers=6)
    cost, bound = rivals.SOLVERS[name](*rivals.MODELS[model](job), 60.0)
    assert cost is not None
    assert plan(read_job(job)).cost == cost
    assert bound <= cost + 1e-6


@pytest.mark.invariant
@pytest.mark.parametrize("seed", [7, 19, 25, 26])
def test_random_lengths_cost_what_arc_flow_says(seed: int) -> None:
    """Several stock lengths with costs and limits, in jobs small enough that the textbook model proves its optimum."""
    job = lengths.length_job(seed)
    wide = {key: [{**row, "width": 1} for row in job[key]] for key in ("stock", "blanks")}
    cost, bound = rivals.by_highs(*rivals.arc_flow({**job, **wide}), 60.0)
    made = plan(read_job(job))
    assert made.cost == made.bound == cost
    assert bound > cost - 1
