"""Plans against themselves: changes that must not matter, freedom that must not cost, other hands at the machine."""

import json
import os
import random
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from tests.cutting.middling_jobs import in_line, in_three_stages, middling, with_rack
from tests.cutting.small_jobs import KINDS, planned, small_job
from tests.nightly import IS_NIGHT, spread
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.cutting.model.job import Job, job_to_json, read_job
from woodshop.cutting.model.plan import plan_to_json
from woodshop.cutting.planner.plan_job import plan
from woodshop.errors import NothingToCutError

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT / "tests" / "data" / "cutting"
SEEDS = spread(range(24), 8)

# -- changes that must not matter -----------------------------------------------------------------------------


def scaled(value: dict[str, Any], by: int) -> dict[str, Any]:
    """Every length and width of a job so much greater."""
    stock = []
    for row in value["stock"]:
        sizes = {key: by * row[key] for key in ("width", "length", "end_trim", "edge_trim") if key in row}
        stock.append({**row, **sizes, "unusable": [[by * x0, by * x1] for x0, x1 in row.get("unusable", [])]})
    blanks = [{**row, **{key: by * row[key] for key in ("width", "length") if key in row}} for row in value["blanks"]]
    rules = {key: n if key == "surplus" else by * n for key, n in value.get("rules", {}).items()}
    kerf = {key: by * n for key, n in value["kerf"].items()}
    return {**value, "kerf": kerf, "rules": rules, "stock": stock, "blanks": blanks}


def renamed(value: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """The rows of a job in another order, under other names."""
    return {
        **value,
        "stock": [{**row, "id": f"x{n}"} for n, row in enumerate(rng.sample(value["stock"], len(value["stock"])))],
        "blanks": [{**row, "id": f"y{n}"} for n, row in enumerate(rng.sample(value["blanks"], len(value["blanks"])))],
    }


def end_for_end(value: dict[str, Any]) -> dict[str, Any]:
    """Every board the other way round."""
    stock = [
        {**row, "unusable": [[row["length"] - x1, row["length"] - x0] for x0, x1 in row.get("unusable", [])]}
        for row in value["stock"]
    ]
    return {**value, "stock": stock}


def crosswise(value: dict[str, Any]) -> dict[str, Any]:
    """Lengths for widths, rips for crosscuts; only where no rule and no unusable stretch knows one from the other."""
    first = {"along": "across", "across": "along", "either": "either"}[value["cutting"]["first"]]
    turned = []
    for row in (*value["stock"], *value["blanks"]):
        sides = {"length": row["width"], "width": row["length"]}
        trims = {"end_trim": row.get("edge_trim", 0), "edge_trim": row.get("end_trim", 0)} if "cost" in row else {}
        turned.append({**row, **sides, **trims})
    n = len(value["stock"])
    kerf = {"rip": value["kerf"]["crosscut"], "crosscut": value["kerf"]["rip"]}
    cutting = {**value["cutting"], "first": first}
    return {**value, "kerf": kerf, "cutting": cutting, "stock": turned[:n], "blanks": turned[n:]}


def least(value: dict[str, Any]) -> int:
    """The cost of a closed plan."""
    made = plan(read_job(value))
    assert made.assurance in ("proved", "solved"), value
    return made.cost


@pytest.mark.slow("solves each job several times to a proved optimum")
@pytest.mark.invariant
@pytest.mark.parametrize("kind", KINDS)
def test_small_proved_optima_stay_when_nothing_that_matters_changes(kind: str) -> None:
    tried = turned = 0
    for seed in SEEDS:
        made, value = planned(kind, seed), small_job(kind, seed)
        if made is None:
            continue
        rng = random.Random(seed)
        assert least(renamed(value, rng)) == made.cost, (seed, "permuted and renamed")
        assert least(scaled(value, 3)) == made.cost, (seed, "lengths, widths and kerfs scaled")
        dearer = {**value, "stock": [{**row, "cost": 7 * row["cost"]} for row in value["stock"]]}
        assert least(dearer) == 7 * made.cost, (seed, "prices scaled")
        assert least(end_for_end(value)) == made.cost, (seed, "boards turned end for end")
        if kind != "lengths" and not value.get("rules") and not any("unusable" in row for row in value["stock"]):
            assert least(crosswise(value)) == made.cost, (seed, "lengths for widths")
            turned += 1
        tried += 1
    assert tried > (15 if IS_NIGHT else 2)
    assert turned > len(SEEDS) / 12 or kind in ("lengths", "safety rules", "three stages under rules")


@pytest.mark.slow("solves each job several times to a proved optimum")
@pytest.mark.invariant
@pytest.mark.parametrize("kind", KINDS)
def test_small_proved_optima_never_gain_by_less_freedom(kind: str) -> None:
    """More stock, more boards of it and fewer pieces never cost more; a bigger kerf and dearer stock never less."""
    tried = 0
    for seed in SEEDS:
        made, value = planned(kind, seed), small_job(kind, seed)
        if made is None:
            continue
        rng = random.Random(seed)
        row = rng.choice(value["stock"])
        new = {**row, "id": "more", "length": row["length"] + rng.randint(-2, 6), "cost": rng.randint(1, 12)}
        new.pop("unusable", None)
        assert plan(read_job({**value, "stock": [*value["stock"], new]})).cost <= made.cost, (seed, "one kind more")
        free = [{key: n for key, n in row.items() if key != "count"} for row in value["stock"]]
        assert plan(read_job({**value, "stock": free})).cost <= made.cost, (seed, "as many as wanted")
        fewer = [{**row, "count": row["count"] - (n == 0)} for n, row in enumerate(value["blanks"])]
        fewer = [row for row in fewer if row["count"]]
        if fewer:
            assert plan(read_job({**value, "blanks": fewer})).cost <= made.cost, (seed, "one piece less")
        thick = {key: n + 1 for key, n in value["kerf"].items()}
        dear = [{**row, "cost": row["cost"] + (row["id"] == "s0")} for row in value["stock"]]
        for worse in ({**value, "kerf": thick}, {**value, "stock": dear}):
            try:
                assert plan(read_job(worse)).cost >= made.cost, (seed, worse)
            except NothingToCutError:
                assert worse["kerf"] == thick, seed
        tried += 1
    assert tried > (15 if IS_NIGHT else 2)


@pytest.mark.invariant
@pytest.mark.parametrize("seed", spread(range(12), 4))
def test_what_must_not_matter_does_not_and_freedom_never_costs(seed: int) -> None:
    value = middling(seed)
    rng = random.Random(seed)
    base = least(value)
    assert least(renamed(value, rng)) == base, "permuted and renamed"
    assert least(scaled(value, 3)) == base, "lengths, widths and kerfs scaled"
    dearer = {**value, "stock": [{**row, "cost": 7 * row["cost"]} for row in value["stock"]]}
    assert least(dearer) == 7 * base, "prices scaled"
    new = {"id": "more", "width": 16, "length": 130, "cost": rng.randint(10, 40)}
    assert least({**value, "stock": [*value["stock"], new]}) <= base, "one stock kind more"
    thick = {**value, "kerf": {"rip": 2, "crosscut": 2}}
    assert least(thick) >= base, "a bigger kerf"
    assert plan(read_job({**value, "cutting": {**value["cutting"], "stages": 3}})).cost <= base, "three stages"


# -- the same bytes, and no solver ----------------------------------------------------------------------------

CODE = """
import json, sys
from woodshop.cutting.model.job import read_job
from woodshop.cutting.model.plan import plan_to_json
from woodshop.cutting.planner.plan_job import plan
for text in json.loads(sys.stdin.read()):
    print(json.dumps(plan_to_json(plan(read_job(text)))))
"""


@contextmanager
def busy_core() -> Iterator[None]:
    busy = subprocess.Popen([sys.executable, "-c", "while True: pass"])
    try:
        yield
    finally:
        busy.kill()
        busy.wait()


@pytest.mark.invariant
def test_same_bytes_also_with_a_busy_core_and_another_hash_seed() -> None:
    """Hobby jobs, a rack of offcuts, lengths only, three stages: planned twice, in processes of their own."""
    names = ("D42", "F6") if IS_NIGHT else ("D42",)
    texts = [(DATA / "hobby" / f"{name}.json").read_text(encoding="utf-8") for name in names]
    texts += [json.dumps(value) for value in (with_rack(), in_line(), in_three_stages())]

    def run(seed: str) -> list[str]:
        env = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONHASHSEED": seed}
        command = [sys.executable, "-c", CODE]
        done = subprocess.run(command, input=json.dumps(texts), env=env, capture_output=True, text=True, check=True)
        return done.stdout.splitlines()

    quiet = run("1")
    assert [json.loads(line)["format"] for line in quiet] == ["woodshop-plan/2"] * len(texts)
    with busy_core():
        assert run("2") == quiet


def small() -> Job:
    return read_job((DATA / "hobby" / "D42.json").read_text(encoding="utf-8"))


def test_without_scip_the_other_solver_plans(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pyscipopt", None)
    made = plan(small())
    assert (made.cost, made.gap) == (6000, 0)


def test_without_any_solver_the_pencil_rule_answers_with_a_proved_gap(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pyscipopt", None)
    monkeypatch.setitem(sys.modules, "highspy", None)
    said: list[str] = []
    made = plan(small(), progress=said.append)
    assert made.assurance == "first_fit"
    assert made.certificate is not None
    assert made.bound == made.certificate.bound > 0
    assert made.gap == made.cost - made.bound > 0
    assert check_plan(made) + prove_plan(made) == ()
    assert any("not installed" in line for line in said)


@pytest.mark.parametrize("effort", ["quick", "default", "long"])
def test_every_effort_gives_a_sound_plan(effort: str) -> None:
    made = plan(small(), effort=effort)
    assert check_plan(made) + prove_plan(made) == ()
    assert made.cost >= 6000
    assert json.loads(json.dumps(plan_to_json(made)))["certificate"]["bound"] <= 6000
    assert job_to_json(made.job) == job_to_json(small())
