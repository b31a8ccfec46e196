"""Plans against a model of their own, piece by piece on board by board, solved by another solver; and against
themselves under changes that must not matter."""

import json
import os
import random
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from woodshop.cutting.check import check_plan
from woodshop.cutting.job import Job, job_to_json, read_job
from woodshop.cutting.plan import plan_to_json
from woodshop.cutting.planner import plan
from woodshop.cutting.prove import prove_plan
from woodshop.errors import NothingToCutError

ROOT = Path(__file__).resolve().parents[2]
SHARED = ROOT / ".." / "shared" / "bench"


# -- the other model ------------------------------------------------------------------------------------------


def stretches(row: dict[str, Any]) -> list[int]:
    """Lengths of the usable stretches of a stock row."""
    x, end, out = row.get("end_trim", 0), row["length"] - row.get("end_trim", 0), []
    for x0, x1 in row.get("unusable", []):
        out.append(min(x0, end) - x)
        x = max(x, x1)
    return [part for part in [*out, end - x] if part > 0]


def least_cost_by_assignment(value: dict[str, Any]) -> int | None:
    """Pieces go to strips, strips to boards, boards are of a kind: rip first, then crosscut, in two stages.

    A strip is named by its widest piece, a board by its first strip. None when it cannot be done.
    """
    from ortools.sat.python import cp_model

    kx, ky = value["kerf"]["crosscut"], value["kerf"]["rip"]
    flat = "width" in value["blanks"][0]
    trim = value.get("cutting", {}).get("final_trim", False)
    rules = value.get("rules", {})
    pieces = [(row.get("width", 1), row["length"]) for row in value["blanks"] for _ in range(row["count"])]
    pieces.sort(reverse=True)
    kinds = value["stock"]
    many = range(len(pieces))
    model = cp_model.CpModel()
    most = max(len(stretches(row)) for row in kinds)
    put = {(s, i, q): model.new_bool_var("") for s in many for i in many if i >= s for q in range(most)}
    on = {(b, s): model.new_bool_var("") for b in many for s in many if s >= b}
    of = {(b, k): model.new_bool_var("") for b in many for k in range(len(kinds))}
    open_strip = [sum(put[s, s, q] for q in range(most)) for s in many]
    for i in many:
        model.add(sum(put[s, i, q] for s in many if s <= i for q in range(most)) == 1)
    for s, i, q in put:
        model.add(put[s, i, q] <= open_strip[s])
        if pieces[i][0] != pieces[s][0] and not trim:
            model.add(put[s, i, q] == 0)
    for s in many:
        model.add(sum(on[b, s] for b in many if b <= s) == open_strip[s])
    for b in many:
        for s in range(b, len(pieces)):
            model.add(on[b, s] <= on[b, b])
        model.add(sum(of[b, k] for k in range(len(kinds))) == on[b, b])
        for k, row in enumerate(kinds):
            width = row["width"] - 2 * row.get("edge_trim", 0) if flat else 1
            length = row["length"] - 2 * row.get("end_trim", 0)
            members = [(on[b, s], pieces[s][0]) for s in range(b, len(pieces))]
            model.add(sum(v * (w + ky) for v, w in members) <= width + ky).only_enforce_if(of[b, k])
            for var, w in members:
                ripped = w < width
                if ripped and (
                    w < rules.get("least_strip", 0)
                    or length < rules.get("shortest_rip", 0)
                    or length > rules.get("longest_rip", 10**9)
                ):
                    model.add(var == 0).only_enforce_if(of[b, k])
            thin = [(v, w) for v, w in members if w < min(width, rules.get("narrow_below", 0))]
            for var, _ in thin:
                model.add(sum(v * (w + ky) for v, w in thin) <= width - rules["parent_wood"]).only_enforce_if(
                    of[b, k], var
                )
            parts = stretches(row)
            for s in range(b, len(pieces)):
                for q in range(most):
                    room = parts[q] + kx if q < len(parts) else 0
                    load = sum(put[s, i, q] * (pieces[i][1] + kx) for i in range(s, len(pieces)))
                    model.add(load <= room).only_enforce_if(of[b, k], on[b, s])
    for k, row in enumerate(kinds):
        if "count" in row:
            model.add(sum(of[b, k] for b in many) <= row["count"])
    model.minimize(sum(of[b, k] * row["cost"] for b in many for k, row in enumerate(kinds)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return round(solver.objective_value) if status == cp_model.OPTIMAL else None


def random_job(seed: int) -> dict[str, Any]:
    """Up to seven pieces; kerfs, trims, unusable stretches, limited stock and rules as drawn."""
    rng = random.Random(seed)
    flat = rng.random() < 0.7
    kx = rng.randint(0, 2)
    value: dict[str, Any] = {"format": "woodshop-job/1", "unit": "1", "money": "c"}
    value["kerf"] = {"rip": rng.randint(0, 2), "crosscut": kx}
    trim = flat and rng.random() < 0.4
    if flat:
        value["cutting"] = {"stages": 2, "first": "along", "final_trim": trim}
    stock = []
    for n in range(rng.randint(1, 3)):
        row: dict[str, Any] = {"id": f"s{n}", "length": rng.randint(12, 30), "cost": rng.randint(0, 12)}
        if flat:
            row["width"] = rng.randint(5, 14)
            row["edge_trim"] = rng.choice((0, 0, 1))
        row["end_trim"] = rng.choice((0, 0, 1, 2))
        if rng.random() < 0.4:
            row["count"] = rng.randint(1, 2)
        if rng.random() < 0.4:
            x0 = rng.randint(1, row["length"] - 6)
            row["unusable"] = [[x0, x0 + rng.randint(max(1, kx), 4)]]
        stock.append(row)
    blanks, left = [], 7
    for n in range(rng.randint(1, 4)):
        count = rng.randint(1, min(3, left))
        left -= count
        row = {"id": f"b{n}", "length": rng.randint(3, 12), "count": count}
        if flat:
            row["width"] = rng.choice((2, 3, 4, 5, stock[0]["width"] - 2 * stock[0]["edge_trim"]))
        blanks.append(row)
        if not left:
            break
    if flat and not trim and rng.random() < 0.4:
        rules: dict[str, int] = {}
        if rng.random() < 0.6:
            rules |= {"narrow_below": rng.randint(2, 5), "parent_wood": rng.randint(1, 6)}
        if rng.random() < 0.4:
            rules["least_strip"] = rng.randint(2, 3)
        if rng.random() < 0.4:
            rules["shortest_rip"] = rng.randint(8, 16)
        value["rules"] = rules
    return {**value, "stock": stock, "blanks": blanks}


@pytest.mark.invariant
def test_small_jobs_cost_what_another_model_in_another_solver_says() -> None:
    planned = refused = 0
    for seed in range(2000, 2260):
        value = random_job(seed)
        least = least_cost_by_assignment(value)
        try:
            made = plan(read_job(value))
        except NothingToCutError:
            assert least is None, (seed, least)
            refused += 1
            continue
        assert made.cost == least, (seed, value)
        assert made.certificate is None or made.certificate.bound <= made.cost
        assert prove_plan(made) == ()
        planned += 1
    assert planned > 180
    assert refused > 5


# -- changes that must not matter -----------------------------------------------------------------------------


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


def cost(value: dict[str, Any]) -> int:
    made = plan(read_job(value))
    assert made.assurance in ("proved", "closed"), value
    return made.cost


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(12))
def test_what_must_not_matter_does_not_and_freedom_never_costs(seed: int) -> None:
    value = middling(seed)
    rng = random.Random(seed)
    base = cost(value)
    renamed = {
        **value,
        "stock": [{**row, "id": f"x{n}"} for n, row in enumerate(rng.sample(value["stock"], len(value["stock"])))],
        "blanks": [{**row, "id": f"y{n}"} for n, row in enumerate(rng.sample(value["blanks"], len(value["blanks"])))],
    }
    assert cost(renamed) == base, "permuted and renamed"
    scaled = {
        **value,
        "kerf": {key: 3 * n for key, n in value["kerf"].items()},
        "stock": [{**row, "width": 3 * row["width"], "length": 3 * row["length"]} for row in value["stock"]],
        "blanks": [{**row, "width": 3 * row["width"], "length": 3 * row["length"]} for row in value["blanks"]],
    }
    assert cost(scaled) == base, "lengths, widths and kerfs scaled"
    dearer = {**value, "stock": [{**row, "cost": 7 * row["cost"]} for row in value["stock"]]}
    assert cost(dearer) == 7 * base, "prices scaled"
    new = {"id": "more", "width": 16, "length": 130, "cost": rng.randint(10, 40)}
    assert cost({**value, "stock": [*value["stock"], new]}) <= base, "one stock kind more"
    thick = {**value, "kerf": {"rip": 2, "crosscut": 2}}
    assert cost(thick) >= base, "a bigger kerf"
    assert plan(read_job({**value, "cutting": {**value["cutting"], "stages": 3}})).cost <= base, "three stages"


# -- the same bytes, and no solver ----------------------------------------------------------------------------

CODE = (
    "import json, sys; from woodshop.cutting.job import read_job; from woodshop.cutting.plan import plan_to_json;"
    "from woodshop.cutting.planner import plan; print(json.dumps(plan_to_json(plan(read_job(sys.stdin.read())))))"
)


@pytest.mark.invariant
@pytest.mark.parametrize("name", ["F6", "D42"])
def test_same_bytes_also_with_the_other_core_busy(name: str) -> None:
    text = (SHARED / "hobby" / f"{name}.json").read_text(encoding="utf-8")
    env = {**os.environ, "PYTHONPATH": str(ROOT)}

    def run() -> str:
        command = [sys.executable, "-c", CODE]
        return subprocess.run(command, input=text, env=env, capture_output=True, text=True, check=True).stdout

    quiet = run()
    busy = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(2)]
    try:
        assert run() == quiet
    finally:
        for process in busy:
            process.kill()
            process.wait()


def small() -> Job:
    return read_job((SHARED / "hobby" / "D42.json").read_text(encoding="utf-8"))


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
