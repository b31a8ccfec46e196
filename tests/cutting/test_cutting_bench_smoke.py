"""Each quick case of the benchmark's registry once: the plan is sound and costs what is known to be best."""

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import pytest

from woodshop.cutting.check import check_plan
from woodshop.cutting.job import read_job
from woodshop.cutting.planner import plan

BENCH = Path(__file__).resolve().parents[1] / "bench" / "bench_cutting.py"


def load() -> ModuleType:
    spec = importlib.util.spec_from_file_location("bench_cutting", BENCH)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["bench_cutting"] = module
    spec.loader.exec_module(module)
    return module


bench = load()


@pytest.mark.outside("open benchmark sets and hobby jobs: best known costs as in the registry, sources beside the data")
@pytest.mark.parametrize("case", [case for case in bench.CASES if case.is_quick], ids=lambda case: case.name)
def test_quick_cases_reach_the_best_known_cost(case: object) -> None:
    job = read_job(bench.job_of(case))
    made = plan(job)
    assert made.cost == case.best
    assert check_plan(made, job) == ()
