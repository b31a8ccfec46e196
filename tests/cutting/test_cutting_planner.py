"""Plans against brute force on small jobs, against values in print, and against themselves."""

import json
import os
import random
import subprocess
import sys
from collections import Counter
from functools import cache
from itertools import product
from pathlib import Path

import pytest

from tests.nightly import spread
from tests.once import hobby_plan
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.model.job import Job, read_job
from woodshop.cutting.model.plan import Plan
from woodshop.cutting.planner import integer, solver
from woodshop.cutting.planner import plan_job as planner
from woodshop.cutting.planner.plan_job import plan
from woodshop.errors import NothingToCutError

DATA = Path(__file__).resolve().parents[1] / "data" / "cutting"
ROOT = Path(__file__).resolve().parents[2]


def job_of(stock: list[dict], blanks: list[dict], kerf: int = 0, **more: object) -> Job:
    top = {"format": "woodshop-job/1", "unit": "1", "money": "c", "kerf": {"rip": kerf, "crosscut": kerf}}
    return read_job({**top, "stock": stock, "blanks": blanks, **more})


# -- brute force ----------------------------------------------------------------------------------------------


def least_cost(job: Job) -> int | None:
    """The optimum by trying everything: which blanks go on one board, then which boards cover all blanks."""
    want = tuple(blank.count for blank in job.blanks)
    loads = []
    for number, stock in enumerate(job.stock):
        for load in product(*(range(count + 1) for count in want)):
            if any(load) and fits(job, stock, load):
                loads.append((number, stock.cost, load))

    @cache
    def cover(need: tuple[int, ...], left: tuple[int, ...]) -> float:
        if not any(need):
            return 0
        best = float("inf")
        for number, cost, load in loads:
            if left[number] and all(a <= b for a, b in zip(load, need, strict=True)):
                rest = tuple(b - a for a, b in zip(load, need, strict=True))
                fewer = tuple(n - (k == number) for k, n in enumerate(left))
                best = min(best, cost + cover(rest, fewer))
        return best

    total = sum(want)
    answer = cover(want, tuple(min(total, stock.count or total) for stock in job.stock))
    return None if answer == float("inf") else int(answer)


def fits(job: Job, stock: object, load: tuple[int, ...]) -> bool:
    pieces = [(b.length, b.width or 1, b.rotate) for b, n in zip(job.blanks, load, strict=True) for _ in range(n)]
    length, width = stock.length - 2 * stock.end_trim, (stock.width or 1) - 2 * stock.edge_trim
    kx, ky = job.kerf.crosscut, job.kerf.rip
    trim, stages, first = job.cutting.final_trim, job.cutting.stages, job.cutting.first
    turns = product(*((False, True) if rotate else (False,) for *_, rotate in pieces))
    for turn in turns:
        laid = [(w, n) if t else (n, w) for (n, w, _), t in zip(pieces, turn, strict=True)]
        flipped = [(w, n) for n, w in laid]
        if (first in ("along", "either") or stages == 3) and in_strips(laid, width, length, ky, kx, trim):
            return True
        if (first in ("across", "either") or stages == 3) and in_strips(flipped, length, width, kx, ky, trim):
            return True
        if stages == 3 and first in ("across", "either") and in_sections(laid, length, width, kx, ky, trim):
            return True
        if stages == 3 and first in ("along", "either") and in_sections(flipped, width, length, ky, kx, trim):
            return True
    return False


def partitions(things: list) -> list[list[list]]:
    if not things:
        return [[]]
    head, rest = things[0], things[1:]
    out = []
    for part in partitions(rest):
        out.append([[head], *part])
        out += [[*part[:n], [head, *part[n]], *part[n + 1 :]] for n in range(len(part))]
    return out


def strips_ok(strips: list[list[tuple[int, int]]], across: int, k_across: int, trim: bool) -> bool:
    if not trim and any(len({w for _, w in strip}) > 1 for strip in strips):
        return False
    return sum(max(w for _, w in strip) + k_across for strip in strips) <= across + k_across


def in_strips(pieces: list[tuple[int, int]], across: int, along: int, k_across: int, k_along: int, trim: bool) -> bool:
    return any(
        strips_ok(strips, across, k_across, trim)
        and all(sum(n + k_along for n, _ in strip) <= along + k_along for strip in strips)
        for strips in partitions(pieces)
    )


def in_sections(pieces: list[tuple[int, int]], along: int, across: int, kx: int, ky: int, trim: bool) -> bool:
    def shortest(section: list[tuple[int, int]]) -> float:
        return min(
            (
                max(sum(n + kx for n, _ in strip) for strip in strips)
                for strips in partitions(section)
                if strips_ok(strips, across, ky, trim)
            ),
            default=float("inf"),
        )

    return any(sum(shortest(section) for section in sections) <= along + kx for sections in partitions(pieces))


def small_job(seed: int, *, flat: bool) -> Job:
    rng = random.Random(1000 + seed)
    stock, blanks = [], []
    for n in range(rng.randint(1, 3)):
        row = {"id": f"s{n}", "length": rng.randint(10, 24), "cost": rng.randint(4, 12)}
        if flat:
            row["width"] = rng.randint(5, 12)
        if rng.random() < 0.4:
            row["count"] = rng.randint(1, 2)
        if rng.random() < 0.2:
            row["end_trim"] = 1
        stock.append(row)
    left = 5 if flat else 8
    for n in range(rng.randint(1, 3)):
        count = rng.randint(1, max(1, min(3, left)))
        left -= count
        row = {"id": f"b{n}", "length": rng.randint(3, 10), "count": count}
        if flat:
            row |= {"width": rng.randint(2, 6), "rotate": rng.random() < 0.5}
        blanks.append(row)
        if left <= 0:
            break
    more = {}
    if flat:
        first = rng.choice(("along", "across", "either"))
        more["cutting"] = {"stages": rng.choice((2, 3)), "first": first, "final_trim": rng.random() < 0.5}
    return job_of(stock, blanks, rng.randint(0, 2), **more)


@pytest.mark.invariant
@pytest.mark.parametrize("flat", [False, True], ids=["lengths", "flat"])
def test_small_jobs_cost_what_brute_force_says(flat: bool) -> None:
    planned, seeds = 0, spread(range(120), 36)
    for seed in seeds:
        job = small_job(seed, flat=flat)
        best = least_cost(job)
        try:
            made = plan(job)
        except NothingToCutError:
            assert best is None, (seed, best)
            continue
        planned += 1
        assert made.cost == best, (seed, job)
        assert made.bound <= made.cost
        assert made.assurance in ("proved", "solved"), seed
    assert planned > len(seeds) / 2


# -- values in print ------------------------------------------------------------------------------------------

HAND = json.loads((DATA / "hand_checks" / "hand_1d.json").read_text(encoding="utf-8"))
SOURCES = {row["id"]: row["source"] for row in HAND}
CASES = [
    pytest.param(
        row, int(kerf), value["optimum"], id=f"{row['id']}-kerf{kerf}", marks=pytest.mark.outside(row["source"])
    )
    for row in HAND
    for kerf, value in row["optimum_by_kerf_computed_here"].items()
]


def hand_job(row: dict, kerf: int) -> Job:
    stock = [{"id": f"s{n}", **s} for n, s in enumerate(row["stock"])]
    blanks = [{"id": f"b{n}", "length": i["length"], "count": i["demand"]} for n, i in enumerate(row["items"])]
    return job_of(stock, blanks, kerf)


@pytest.mark.parametrize(("row", "kerf", "optimum"), CASES)
def test_worked_examples_reach_their_optimum(row: dict, kerf: int, optimum: int) -> None:
    """Data from the source named in the mark; the optimum is the file's (arc-flow, proven; h03 also as published)."""
    made = plan(hand_job(row, kerf))
    assert made.cost == optimum
    assert made.assurance in ("proved", "solved")


@pytest.mark.outside(
    "C. Gueret, C. Prins, M. Sevaux (2002), sheet metal 48 x 96; optima by direction from the data file"
)
@pytest.mark.parametrize(
    ("rotate", "first", "optimum"), [(False, "along", 12), (False, "across", 13), (True, "along", 12)]
)
def test_sheet_metal_example_in_two_stages(rotate: bool, first: str, optimum: int) -> None:
    row = json.loads((DATA / "hand_checks" / "hand_2d.json").read_text(encoding="utf-8"))[0]
    length, width = row["sheet"]
    blanks = [
        {"id": f"b{n}", "length": item[0], "width": item[1], "count": item[2], "rotate": rotate}
        for n, item in enumerate(row["items"])
    ]
    stock = [{"id": "s", "length": length, "width": width, "cost": 1}]
    made = plan(job_of(stock, blanks, cutting={"stages": 2, "first": first, "final_trim": True}))
    assert made.cost == optimum


@pytest.mark.outside("hobby jobs, best known costs (values.csv), certified by an exact tree")
@pytest.mark.parametrize(("name", "cost"), [("D42", 6000), ("F6", 5490)])
def test_hobby_jobs_close_at_the_best_known_cost(name: str, cost: int) -> None:
    made = hobby_plan(name)
    assert (made.cost, made.bound, made.gap) == (cost, cost, 0)
    assert made.assurance in ("proved", "solved")


# -- invariants -----------------------------------------------------------------------------------------------


@pytest.mark.invariant
def test_kerf_is_the_same_as_longer_pieces_on_longer_stock() -> None:
    for seed in spread(range(60), 20):
        rng = random.Random(seed)
        kerf = rng.randint(1, 3)
        capacities = [(rng.randint(25, 60), rng.randint(3, 9)) for _ in range(rng.randint(1, 2))]
        lengths = [(rng.randint(kerf + 1, 20), rng.randint(1, 9)) for _ in range(rng.randint(1, 4))]
        jobs = [
            job_of(
                [{"id": f"s{n}", "length": c - less, "cost": cost} for n, (c, cost) in enumerate(capacities)],
                [{"id": f"b{n}", "length": x - less, "count": d} for n, (x, d) in enumerate(lengths)],
                less,
            )
            for less in (0, kerf)
        ]
        assert plan(jobs[0]).cost == plan(jobs[1]).cost, seed


@pytest.mark.invariant
def test_more_freedom_never_costs_more() -> None:
    for seed in spread(range(25), 9):
        job = small_job(seed, flat=True)
        costs = []
        for first, stages in (("along", 2), ("either", 2), ("either", 3)):
            cutting = {"stages": stages, "first": first, "final_trim": job.cutting.final_trim}
            try:
                costs.append(plan(_with_cutting(job, cutting)).cost)
            except NothingToCutError:
                costs.append(10**9)
        assert costs == sorted(costs, reverse=True), seed


def _with_cutting(job: Job, cutting: dict) -> Job:
    from woodshop.cutting.model.job import job_to_json

    return read_job({**job_to_json(job), "cutting": cutting})


@pytest.mark.invariant
def test_same_job_same_plan_whatever_the_hash_seed() -> None:
    code = (
        "import json, sys; from woodshop.cutting.model.job import read_job;"
        "from woodshop.cutting.model.plan import plan_to_json;"
        "from woodshop.cutting.planner.plan_job import plan;"
        "print(json.dumps([plan_to_json(plan(read_job(text))) for text in json.loads(sys.stdin.read())]))"
    )
    from woodshop.cutting.model.job import job_to_json

    texts = [(DATA / "hobby" / "D42.json").read_text(encoding="utf-8"), json.dumps(job_to_json(mesh(kerf=1)))]
    texts.append(json.dumps(job_to_json(ruled_job())))
    outputs = []
    for seed in ("1", "2"):
        env = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)}
        run = subprocess.run(
            [sys.executable, "-c", code], input=json.dumps(texts), env=env, capture_output=True, text=True, check=True
        )
        outputs.append(run.stdout)
        assert run.stdout.startswith("[{"), "the solver must not write to standard output"
    assert outputs[0] == outputs[1]


# -- kinds of job ---------------------------------------------------------------------------------------------


def mesh(kerf: int) -> Job:
    """Mesh in cells: rolls 72 wide, screens for two box sizes, turned as need be."""
    rolls = [
        {"id": f"r{n}", "width": 72, "length": n, "cost": cost} for n, cost in ((240, 2000), (600, 4500), (1200, 8000))
    ]
    blanks = [
        {"id": "ten", "width": 29, "length": 36, "count": 20, "rotate": True},
        {"id": "eight", "width": 24, "length": 36, "count": 12, "rotate": True},
    ]
    return job_of(rolls, blanks, kerf, cutting={"stages": 2, "first": "either", "final_trim": True})


def ruled_job() -> Job:
    """Boards longer than can be ripped, narrow strips, all rules at once."""
    stock = [
        {"id": "s8", "width": 352, "length": 6144, "cost": 400},
        {"id": "s16", "width": 352, "length": 12288, "cost": 850, "end_trim": 16, "unusable": [[3000, 3050]]},
        {"id": "rack", "width": 160, "length": 4000, "cost": 10, "count": 2},
    ]
    blanks = [
        {"id": "side", "width": 160, "length": 1272, "count": 24},
        {"id": "strip", "width": 24, "length": 904, "count": 18},
        {"id": "top", "width": 304, "length": 784, "count": 6},
    ]
    rules = {"narrow_below": 48, "parent_wood": 96, "least_strip": 12, "shortest_rip": 1000, "longest_rip": 6200}
    cutting = {"stages": 2, "first": "along", "final_trim": False}
    return job_of(stock, blanks, 8, cutting=cutting, rules={**rules, "surplus": "drop"})


@pytest.mark.parametrize("kerf", [0, 1])
def test_mesh_is_planned_with_turning_and_either_direction(kerf: int) -> None:
    made = plan(mesh(kerf))
    assert check_plan(made) == ()
    assert made.assurance in ("proved", "solved")


def test_patterns_near_the_bound_that_cannot_make_every_blank_do_not_end_the_search() -> None:
    """Short wide blanks are only in patterns far from the bound. First-fit costs 3951."""
    rules = {"narrow_below": 200, "parent_wood": 550, "least_strip": 35, "shortest_rip": 3100, "longest_rip": 24000}
    widths = {700: (185, 231, 277, 323), 950: (251, 314, 376, 439), 1450: (383, 479, 574, 670)}
    stock = [
        {"id": f"{width} {n}", "width": width, "length": 24_000 + 6_000 * n, "cost": cost}
        for width, costs in widths.items()
        for n, cost in enumerate(costs)
    ]
    sizes = ((700, 5000, 20), (700, 3950, 20), (60, 3790, 30), (900, 950, 6), (700, 4600, 16), (700, 4200, 16),
             (70, 4160, 24), (900, 850, 6))  # fmt: skip
    blanks = [{"id": f"b{n}", "width": w, "length": long, "count": count} for n, (w, long, count) in enumerate(sizes)]
    cutting = {"stages": 2, "first": "along", "final_trim": False}
    job = job_of(stock, blanks, 30, cutting=cutting, rules={**rules, "least_remainder": 20, "surplus": "drop"})
    made = plan(job, effort="quick")
    assert made.assurance != "first_fit"
    assert made.cost < 3300


def test_rules_and_racks_are_kept_on_boards_too_long_to_rip() -> None:
    made = plan(ruled_job())
    assert check_plan(made, ruled_job()) == ()
    assert not any(piece.spare for layout in made.layouts for piece in layout.pieces)


def test_without_a_solver_the_pencil_plan_is_returned_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object, **__: object) -> None:
        raise solver.SolverFailedError("not installed")

    monkeypatch.setattr(planner, "search", fail)
    for job in (ruled_job(), mesh(1), read_job((DATA / "hobby" / "D42.json").read_text(encoding="utf-8"))):
        made = plan(job)
        assert check_plan(made, job) == ()
        assert (made.assurance == "first_fit") == (made.gap > 0)
        assert made.bound_kind == "area"


def test_a_pencil_plan_of_more_pieces_than_a_pencil_lays_has_them_all(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object, **__: object) -> None:
        raise solver.SolverFailedError("not installed")

    monkeypatch.setattr(planner, "search", fail)
    stock = [
        {"id": "s", "length": 96, "width": 12, "cost": 9},
        {"id": "r", "length": 90, "width": 12, "cost": 1, "count": 3},
    ]
    blanks = [{"id": f"b{n}", "length": 7 + n, "width": 1 + n % 3, "count": 4000 + n} for n in range(8)]
    blanks.append({"id": "one", "length": 80, "width": 5, "count": 1})
    cutting = {"stages": 2, "first": "along", "final_trim": False}
    job = job_of(stock, blanks, 1, cutting=cutting)
    found = plan(job)
    assert found.assurance == "first_fit"
    made = Counter(piece.id for lay in found.layouts for piece in lay.pieces for _ in range(lay.times))
    assert made == {blank.id: blank.count for blank in job.blanks}
    assert not check_plan(found, job)


def test_pencil_plans_of_random_jobs_are_sound(monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object, **__: object) -> None:
        raise solver.SolverFailedError("not installed")

    monkeypatch.setattr(planner, "search", fail)
    sound, seeds = 0, spread(range(150), 50)
    for seed in seeds:
        job = small_job(seed, flat=True)
        try:
            made = plan(job)
        except NothingToCutError:
            continue
        assert made.cost >= (least_cost(job) or 0) if seed < 40 else True
        sound += 1
    assert sound > len(seeds) / 2


def test_many_lengths_are_planned_by_pricing() -> None:
    rng = random.Random(5)
    blanks = [{"id": f"b{n}", "length": rng.randint(20, 100), "count": rng.randint(1, 4)} for n in range(40)]
    made: Plan = plan(job_of([{"id": "s", "length": 150, "cost": 1}], blanks))
    assert made.gap <= 1


def test_blanks_that_fit_nowhere_are_all_named_with_how_much() -> None:
    stock = [{"id": "s", "length": 100, "width": 20, "cost": 1}]
    blanks = [
        {"id": "long", "length": 103, "width": 10, "count": 1},
        {"id": "wide", "length": 50, "width": 27, "count": 1},
        {"id": "good", "length": 50, "width": 10, "count": 1},
    ]
    with pytest.raises(NothingToCutError) as caught:
        plan(job_of(stock, blanks, cutting={"stages": 2, "first": "along"}))
    text = str(caught.value)
    assert [problem.where for problem in caught.value.problems] == ["part 'long'", "part 'wide'"]
    assert "3 too long" in text
    assert "7 too wide" in text


def test_a_rule_that_forbids_a_blank_is_named() -> None:
    stock = [{"id": "s", "length": 100, "width": 20, "cost": 1}]
    blanks = [{"id": "thin", "length": 50, "width": 3, "count": 1}]
    with pytest.raises(NothingToCutError, match="rules"):
        plan(job_of(stock, blanks, cutting={"stages": 2, "first": "along"}, rules={"least_strip": 4}))


def test_too_little_limited_stock_says_how_many_are_short() -> None:
    stock = [{"id": "s", "length": 100, "cost": 1, "count": 2}]
    with pytest.raises(NothingToCutError, match="2 of 8 wanted cannot be cut"):
        plan(job_of(stock, [{"id": "b", "length": 33, "count": 8}]))


def test_unknown_effort_is_refused() -> None:
    with pytest.raises(ValueError, match="effort"):
        plan(mesh(0), effort="much")


def test_great_numbers_are_planned_without_laying_piece_by_piece() -> None:
    stock = [{"id": "s", "length": 10**9, "cost": 10**9}]
    blanks = [{"id": "b", "length": 333_333_333, "count": 9 * 10**8}, {"id": "c", "length": 499_999_999, "count": 3}]
    made = plan(job_of(stock, blanks))
    assert made.cost == made.bound
    assert check_plan(made) == ()


@pytest.mark.invariant
def test_a_run_of_many_is_searched_to_a_ten_thousandth_and_says_how_near_it_is(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    asked: list[tuple[int, float]] = []

    def solve(model: solver.Model, *, nodes: int, absolute_gap: float, **more: object) -> solver.IntegerAnswer:
        asked.append((nodes, absolute_gap))
        return solver.solve_whole(model, nodes=nodes, absolute_gap=absolute_gap, **more)

    monkeypatch.setattr(integer, "solve_whole", solve)
    stock = [
        {"id": "s", "length": 9_600, "width": 90, "cost": 731},
        {"id": "t", "length": 7_680, "width": 90, "cost": 560},
    ]
    sizes = [(613, 31), (487, 17), (1_271, 23), (902, 11), (2_003, 7)]

    def run(times: int) -> Plan:
        blanks = [{"id": str(n), "length": n, "width": 20 + n % 3, "count": count * times} for n, count in sizes]
        cutting = {"stages": 2, "first": "along"}
        return plan(job_of(stock, blanks, kerf=8, cutting=cutting), effort="quick")

    run(1)
    assert all(gap < 1 for _, gap in asked)
    most_nodes = max(nodes for nodes, _ in asked)
    asked.clear()
    many = run(1_000)
    assert all(1 < gap <= many.cost / 10_000 + 1 for _, gap in asked)
    assert max(nodes for nodes, _ in asked) <= most_nodes
    assert (many.assurance in ("solved", "proved")) == (many.bound == many.cost)


@pytest.mark.slow("searches the patterns of sections that are nearly as good as the bound")
def test_the_boards_of_the_hobby_batch_are_within_a_fifth_of_a_percent() -> None:
    made = plan(read_job((DATA / "sections" / "S214.json").read_text(encoding="utf-8")))
    assert made.certificate is not None
    assert made.cost <= 19_476
    assert made.certificate.bound >= 19_440
    assert made.bound == made.certificate.bound <= made.cost
    assert made.bound_kind == "root"
