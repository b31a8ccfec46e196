"""What is made once in a run of the tests, whichever of its processes asks first."""

import fcntl
import hashlib
import os
import pickle
import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from functools import lru_cache, wraps
from pathlib import Path
from typing import Any, TypeVar

import pytest

from tests.nightly import IS_NIGHT
from woodshop.checks import hives, variation
from woodshop.checks.check_batch import check_batch
from woodshop.cutting.model.job import read_job
from woodshop.cutting.model.plan import Plan
from woodshop.cutting.planner.plan_job import plan as plan_job
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.orders.lines import read_run
from woodshop.design.settle.settle import settle
from woodshop.documents import result
from woodshop.documents.bee_map import bee_map
from woodshop.documents.packet import bought_strips
from woodshop.documents.report import variation as report_variation
from woodshop.plan import plan_batch as planning
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.plan.parts_needed import parts_needed
from woodshop.plan.plan_batch import plan_batch
from woodshop.plan.values import MaterialPlan, PlannedBatch
from woodshop.reference import facts
from woodshop.schedule import schedule_batch
from woodshop.schedule.scheduled import ScheduledBatch
from woodshop.schedule.values import Project
from woodshop.units.lengths import unit_of_lengths

DESIGNS = Path(__file__).resolve().parents[1] / "designs"
HOBBY_JOBS = Path(__file__).resolve().parent / "data" / "cutting" / "hobby"
SHARED = "WOODSHOP_TESTS_SHARED"  # the folder that the processes of a run share; tests/conftest.py makes it

_Value = TypeVar("_Value")
_known: dict[str, Any] = {}
_is_kept = True
_DOCUMENTS = {"packet": "_bound", "report": "_proved", "drawings": "_drawn", "full size": "_at_full_size"}
_DRAWS = 200_000  # hives drawn for a report by day
_MOST_HIVES = 32  # in memory; the others are read from the run's folder again
_FACTS = facts._facts


def once(name: str, make: Callable[[], _Value]) -> _Value:
    """What `make` returns, read from the run's folder where another process made it already; equal in all of them."""
    key = hashlib.sha256(name.encode()).hexdigest()
    if key not in _known:
        _known[key] = _shared(key, make)
    return _known[key]  # type: ignore[no-any-return]


def _shared(key: str, make: Callable[[], _Value]) -> _Value:
    """As `once`, but not kept in this process."""
    if SHARED not in os.environ:
        return make()
    file = Path(os.environ[SHARED]) / key
    with open(file.with_suffix(".lock"), "w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        if not file.exists():
            whole = file.with_suffix(".new")
            whole.write_bytes(pickle.dumps(make()))
            whole.rename(file)
    return pickle.loads(file.read_bytes())  # type: ignore[no-any-return]


def keep_in(patch: pytest.MonkeyPatch) -> None:
    """Have each hive measured, each job planned and each project solved once in a run, whoever asks."""
    patch.setattr(planning, "plan_job", _kept_job(planning.plan_job))
    patch.setattr(planning, "improve_setups", _kept_job(planning.improve_setups))
    patch.setattr(bought_strips, "plan_job", _kept_job(bought_strips.plan_job))
    patch.setattr(schedule_batch, "solve", _kept_project(schedule_batch.solve))
    patch.setattr(hives, "measure", _kept_hive(hives.measure))
    patch.setattr(variation, "chains_for", _kept_hive(variation.chains_for))
    patch.setattr(bee_map, "measured_hive", _kept_hive(bee_map.measured_hive))
    patch.setattr(variation, "_work_out", _kept_hive(variation._work_out))
    patch.setattr(report_variation, "what_if", _kept_hive(variation.what_if))


def small_samples(patch: pytest.MonkeyPatch) -> None:
    """Fewer hives are drawn for a report."""
    patch.setattr(report_variation, "FULL", _DRAWS)


@contextmanager
def lists_only(*documents: str) -> Iterator[None]:
    """Inside it a result has its lists, its plan and its days, and of the documents only those named; at night all."""
    with pytest.MonkeyPatch.context() as patch:
        for name, task in _DOCUMENTS.items():
            if name not in documents and not IS_NIGHT:
                patch.setattr(result, task, _nothing)
        yield


def _nothing(given: object) -> dict[str, bytes]:
    return {}


@contextmanager
def nothing_kept() -> Iterator[None]:
    """Inside it hives are measured and jobs are planned anew: for tests of what comes of doing a thing again."""
    global _is_kept
    _is_kept, before = False, _is_kept
    try:
        yield
    finally:
        _is_kept = before


def _kept_job(make: Callable[..., _Value]) -> Callable[..., _Value]:
    """Jobs and plans are whole numbers and words: what is written of them says all."""

    @wraps(make)
    def plan(given: object, **how: object) -> _Value:
        if not _is_kept:
            return make(given, **how)
        return once(f"{make.__name__} {given!r} {sorted(how.items())!r}", lambda: make(given, **how))

    return plan


def _kept_project(make: Callable[..., _Value]) -> Callable[..., _Value]:
    """By the project as written, with the skills of its people in order."""

    @wraps(make)
    def solve(project: Project, say: object = None, **how: object) -> _Value:
        if not _is_kept:
            return make(project, say=say, **how)
        people = [(each.name, sorted(each.skills), each.windows) for each in project.people]
        key = f"solve {people!r} {replace(project, people=())!r} {sorted(how.items())!r}"
        return once(key, lambda: make(project, **how))

    return solve


def _kept_hive(make: Callable[..., _Value]) -> Callable[..., _Value]:
    """By what is given, the facts as they stand and the unit of words; for all processes where the facts are ours."""

    @lru_cache(_MOST_HIVES)
    def known(rows: object, unit: str, *given: Any) -> _Value:
        if rows is not _FACTS:
            return make(*given)
        try:
            asked = pickle.dumps((make.__module__, make.__name__, unit, given))
        except (AttributeError, TypeError, pickle.PicklingError):  # an item that a test made
            return make(*given)
        return _shared(hashlib.sha256(asked).hexdigest(), lambda: make(*given))

    @wraps(make)
    def measure(*given: Any) -> _Value:
        return known(facts._facts, unit_of_lengths(), *given) if _is_kept else make(*given)

    return measure


def planned(name: str, effort: str = "quick") -> PlannedBatch:
    """The demo design of that name as planned."""

    def make() -> PlannedBatch:
        found = uncut(DESIGNS / f"{name}.toml")
        return plan_batch(found.batch, found.units, found.report, effort=effort)

    return once(f"plan {name} {effort}", make)


def scheduled(name: str) -> ScheduledBatch:
    """The demo design of that name as bought, scheduled quickly."""
    return schedule_batch.schedule_batch(bought(name), effort="quick")


def bought(name: str) -> PlannedBatch:
    """The demo design of that name planned quickly for the cheapest set of lumberyards, as the command does."""

    def make() -> PlannedBatch:
        found = uncut(DESIGNS / f"{name}.toml")
        return plan_to_buy(found.batch, found.units, found.report, effort="quick")

    return once(f"buy {name}", make)


def planned_text(text: str, folder: Path, effort: str = "quick") -> PlannedBatch:
    """A design file's text as planned, the demo lumberyards beside it; `folder` is where it is written."""

    def make() -> PlannedBatch:
        found = uncut(written(text, folder))
        return plan_batch(found.batch, found.units, found.report, effort=effort)

    return once(f"plan {effort}\n{text}", make)


def uncut(path: Path) -> PlannedBatch:
    """The design's batch with every part needed, and no plan."""

    def make() -> PlannedBatch:
        design = read_run(path)
        batch = settle(design, read_lumberyards(design.lumberyards))
        units, report = check_batch(batch)
        plans: Any = tuple(MaterialPlan(job, None) for job in parts_needed(batch, units))  # type: ignore[arg-type]
        return PlannedBatch(batch=batch, units=units, plans=plans, purchases=(), unpriced=(), costs=(), report=report)

    beside = sorted((each.name, each.read_bytes()) for each in path.parent.glob("*.toml"))
    return once(f"uncut {path.name} {beside}", make)


def hobby_plan(name: str) -> Plan:
    """The hobby job of that name among the test data, planned with the default effort."""
    file = HOBBY_JOBS / f"{name}.json"
    return once(f"hobby job {name}", lambda: plan_job(read_job(file.read_text(encoding="utf-8"))))


def written(text: str, folder: Path) -> Path:
    """A design file of that text in a new folder within `folder`, the demo lumberyards beside it."""
    own = folder / hashlib.sha256(text.encode()).hexdigest()[:16]
    own.mkdir(exist_ok=True)
    for lumberyard in DESIGNS.glob("*-lumberyard.toml"):
        shutil.copy(lumberyard, own)
    (own / "design.toml").write_text(text, encoding="utf-8")
    return own / "design.toml"
