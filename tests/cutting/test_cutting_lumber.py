"""Jobs in several thicknesses: against brute force and the judge on small ones, by hand, spoiled, and as files."""

import copy
import json
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path
from random import Random

import jsonschema
import pytest
from referencing import Registry, Resource

from tests.cutting.lumber_cases import judge_lumber, least_lumber_cost, lumber_job
from tests.nightly import spread
from woodshop.cutting.checkers.check_lumber import check_lumber_plan
from woodshop.cutting.checkers.prove_lumber import bound_of_lumber, prove_lumber_plan
from woodshop.cutting.lumber import plan_lumber as plan_lumber_module
from woodshop.cutting.lumber.fewer import fewer_lumber_layouts
from woodshop.cutting.lumber.plan_lumber import plan_lumber
from woodshop.cutting.model.job import read_job
from woodshop.cutting.model.lumber_job import lumber_digest, lumber_job_to_json, read_lumber_job
from woodshop.cutting.model.lumber_plan import (
    LumberPlan,
    home_plans,
    lumber_plan_to_json,
    read_lumber_plan,
)
from woodshop.cutting.order.sequence import saw_cuts
from woodshop.cutting.planner.plan_job import plan
from woodshop.errors import InputError, NothingToCutError

ROOT = Path(__file__).resolve().parents[2]
MODEL = ROOT / "woodshop" / "cutting" / "model"
SEEDS = spread(range(200), 25)


@cache
def planned(seed: int) -> LumberPlan | None:
    """The plan of a small random job, made once; None when nothing can be cut."""
    try:
        return plan_lumber(read_lumber_job(lumber_job(seed)))
    except NothingToCutError:
        return None


def schema(name: str) -> jsonschema.Draft202012Validator:
    texts = {each: json.loads((MODEL / f"{each}.schema.json").read_text(encoding="utf-8")) for each in NAMES}
    registry = Registry().with_resources((own["$id"], Resource.from_contents(own)) for own in texts.values())
    return jsonschema.Draft202012Validator(texts[name], registry=registry)


NAMES = ("job", "plan", "lumber_job", "lumber_plan")


def test_small_jobs_cost_what_brute_force_says_and_the_judge_agrees() -> None:
    seen = Counter[str]()
    for seed in SEEDS:
        made, least = planned(seed), least_lumber_cost(lumber_job(seed))
        assert (None if made is None else made.cost) == least, seed
        if made is None:
            continue
        assert judge_lumber(made), seed
        assert check_lumber_plan(made) + prove_lumber_plan(made) == (), seed
        assert read_lumber_plan(json.dumps(lumber_plan_to_json(made))) == made
        for own in home_plans(made).values():
            assert all(saw_cuts(own.job, layout) for layout in own.layouts)
        fewer = fewer_lumber_layouts(made, effort="quick")
        assert judge_lumber(fewer), seed
        assert (fewer.cost, prove_lumber_plan(fewer)) == (made.cost, ())
        assert len(fewer.layouts) <= len(made.layouts)
        parts = [part for board in made.bought for part in board.parts]
        seen["resawn"] += any(part.resaw is not None for part in parts)
        seen["divided"] += any(len(board.parts) > 1 for board in made.bought)
        seen[made.assurance] += 1
    assert min(seen[word] for word in ("resawn", "divided", "solved", "proved")) > 0


def test_a_search_by_prices_costs_the_same_and_claims_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """As for jobs with too many purchases to list; where a rough end is shorter than an end trim, only the claim."""
    known = [planned(seed) for seed in SEEDS]  # before anything is changed, because it is kept for other tests
    monkeypatch.setattr(plan_lumber_module, "_MOST_PURCHASES", 0)
    for seed, made in zip(SEEDS, known, strict=True):
        raw = lumber_job(seed)
        if made is None:
            continue
        again = plan_lumber(read_lumber_job(raw))
        assert again.bound <= made.cost <= again.cost, seed
        cuts = [(row.get("end_trim", 0), row.get("lumberyard_cuts", {}).get("rough", 1)) for row in raw["stock"]]
        assert again.cost == made.cost or any(trim > rough for trim, rough in cuts), seed


def test_no_price_proves_more_than_brute_force_says() -> None:
    """Certificates with random prices: what they prove is never above the optimum."""
    for seed in SEEDS[::2]:
        made, least, rng = planned(seed), least_lumber_cost(lumber_job(seed)), Random(seed)
        if made is None or made.certificate is None or least is None:
            continue
        for _ in range(10):
            prices = tuple((name, rng.randint(0, 2 * price)) for name, price in made.certificate.prices)
            bound, _why = bound_of_lumber(made.job, replace(made.certificate, prices=prices))
            assert bound is None or bound <= least, seed


def test_a_job_that_needs_nothing_new_costs_the_same_as_in_one_thickness() -> None:
    raw = json.loads((ROOT / "designs" / "shelf-job.json").read_text(encoding="utf-8"))
    one = plan(read_job(raw), effort="quick")
    raw["format"] = "woodshop-job/2"
    for row in raw["stock"] + raw["blanks"]:
        row["thickness"] = "3/4"
    assert plan_lumber(read_lumber_job(raw), effort="quick").cost == one.cost


# -- by hand --------------------------------------------------------------------------------------------------


def by_hand(stock: dict, count: int, **blank: object) -> LumberPlan:
    """Blanks 10 long and as wide as the board, from boards 40 long that cost 100, without kerfs."""
    job = {"format": "woodshop-job/2", "unit": "1", "money": "c", "kerf": {"rip": 0, "crosscut": 0}}
    job["cutting"] = {"stages": 2, "first": "along"}
    job["stock"] = [{"id": "b", "thickness": "thick", "width": 4, "length": 40, "cost": 100} | stock]
    job["blanks"] = [{"id": "p", "thickness": "thick", "width": 4, "length": 10, "count": count} | blank]
    return plan_lumber(read_lumber_job(job))


CUTS = {"cost": 7, "kerf": 0, "longest": 20}


def test_plans_worked_out_by_hand() -> None:
    thin = {"resaw": [{"thickness": "thin", "boards": 2, "cost": 3}]}
    # One board makes 4 thick parts, or 8 thin ones for 3 more; the last thin board is not needed.
    assert by_hand({}, 8).cost == 200
    assert by_hand(thin, 8, thickness="thin").cost == 103
    made = by_hand(thin, 9, thickness="thin")
    assert made.cost == 206
    assert sorted(len(part.layouts) for board in made.bought for part in board.parts) == [1, 2]
    # Nothing over 20 is taken home, so each board takes one cut of 7; the first of each board may be free.
    assert by_hand({"lumberyard_cuts": CUTS}, 8).cost == 214
    assert by_hand({"lumberyard_cuts": CUTS | {"free_cuts": 1}}, 8).cost == 200
    # With 1 to square at each new end, a part of 20 gives one blank of 10, and 40 two parts. Of 3 blanks the third
    # part would be 12 long: parts of 11, 12 and 11 take two cuts, and leave 6 to be longer.
    rough = CUTS | {"rough": 1}
    assert by_hand({"lumberyard_cuts": rough}, 2).cost == 107
    assert by_hand({"lumberyard_cuts": rough}, 3).cost == 114
    assert by_hand({"lumberyard_cuts": rough | {"shortest_cut": 14}}, 3).cost == 214
    # A part that stays at the lumberyard may be longer than 20, but its cut is paid for.
    assert [part.length for part in by_hand({"lumberyard_cuts": CUTS}, 1).bought[0].parts] == [10, 30]
    # Below 20 nothing is resawn, and parts are at most 20.
    short = {"resaw": [{"thickness": "thin", "boards": 2, "shortest": 20}], "lumberyard_cuts": CUTS}
    assert by_hand(short, 8, thickness="thin").cost == 107


def test_boards_resawn_from_one_are_cut_alike_where_that_saves_a_layout() -> None:
    """Two thin boards make two blanks of 20 and two of 19: one layout twice, not one for each length."""
    thin = {"resaw": [{"thickness": "thin", "boards": 2}]}
    made = by_hand(thin, 2, thickness="thin", length=20)
    raw = json.loads(json.dumps(lumber_plan_to_json(made)))
    short = {"id": "q", "thickness": "thin", "width": 4, "length": 19, "count": 2, "rotate": False}
    raw["job"]["blanks"].append(short)
    (long,) = raw["layouts"] if len(raw["layouts"]) == 1 else raw["layouts"][:1]
    laid = [[dict(long["pieces"][0], id=name, x=x, length=n) for x in (0, n)] for name, n in (("p", 20), ("q", 19))]
    raw["layouts"] = [long | {"times": 1, "pieces": pieces} for pieces in laid]
    raw["bought"] = [{"stock": "b", "times": 1, "parts": [{"length": 40, "resaw": "thin", "layouts": [0, 1]}]}]
    job = read_lumber_job(raw["job"])
    two = replace(read_lumber_plan(raw), job_digest=lumber_digest(job))
    assert check_lumber_plan(two) == ()
    one = fewer_lumber_layouts(two)
    assert [layout.times for layout in one.layouts] == [2]
    assert one.bought[0].parts[0].layouts == (0, 0)
    assert judge_lumber(one)


def test_what_cannot_be_cut_is_refused() -> None:
    for stock, blank, words in (
        ({}, {"thickness": "thin"}, "boards of that thickness"),
        ({"lumberyard_cuts": CUTS}, {"length": 21}, "1 too long"),
        ({"count": 1}, {}, "1 of 5 wanted cannot be cut"),
    ):
        with pytest.raises(NothingToCutError, match=words):
            by_hand(stock, 5, **blank)


# -- spoiled --------------------------------------------------------------------------------------------------


def test_a_spoiled_plan_is_found_by_the_check_whenever_by_the_judge() -> None:
    rng, found = Random(5), 0
    for seed in SEEDS:
        made = planned(seed)
        if made is None:
            continue
        for _ in range(6):
            raw = json.loads(json.dumps(lumber_plan_to_json(made)))
            _spoil(raw, rng)
            try:
                bad = read_lumber_plan(raw)
            except InputError:
                continue
            is_sound = judge_lumber(bad) if all(_is_known(raw, board) for board in raw["bought"]) else False
            faults = [f for f in check_lumber_plan(bad) if f.code not in ("plan-assurance", "plan-bound", "plan-gap")]
            assert bool(faults) == (not is_sound), (seed, raw["bought"], faults)
            found += bool(faults)
    assert found > 50


def _is_known(raw: dict, board: dict) -> bool:
    """Whether the stock, ways and layouts are there, and each part that is used is longer than its ends: the judge asks
    no more.
    """
    stock = {row["id"]: row for row in raw["job"]["stock"]}[board["stock"]]
    words = {way["thickness"] for way in stock.get("resaw", [])}
    rough, trim = stock.get("lumberyard_cuts", {}).get("rough", 0), stock.get("end_trim", 0)
    last = len(board["parts"]) - 1
    return all(
        all(number < len(raw["layouts"]) for number in part["layouts"])
        and part.get("resaw") in words | {None}
        and ("resaw" not in part or part["layouts"])
        and (not part["layouts"] or part["length"] > (rough if n else trim) + (rough if n < last else trim))
        for n, part in enumerate(board["parts"])
    ) and any(part["layouts"] for part in board["parts"])


def _spoil(raw: dict, rng: Random) -> None:
    board = rng.choice(raw["bought"])
    part = rng.choice(board["parts"])
    kind = rng.randrange(7)
    if kind == 0:
        part["length"] += rng.choice((-1, 1, 2))
    elif kind == 1:
        board["times"] += 1
    elif kind == 2:
        part["layouts"] = part["layouts"][1:] or [rng.randrange(len(raw["layouts"]))]
    elif kind == 3:
        part["layouts"] = [*part["layouts"], rng.randrange(len(raw["layouts"]))]
    elif kind == 4:
        piece = rng.choice(rng.choice(raw["layouts"])["pieces"])
        piece["x"] = max(0, piece["x"] + rng.choice((-1, 1)))
    elif kind == 5:
        board["parts"] = [*board["parts"], {"length": 1, "layouts": []}]
    elif len(board["parts"]) > 1:
        first, second = board["parts"][:2]
        first["length"], second["length"] = second["length"], first["length"]


# -- files ----------------------------------------------------------------------------------------------------


def test_the_files_are_what_the_schemas_say() -> None:
    raw = json.loads((ROOT / "designs" / "two-by-job.json").read_text(encoding="utf-8"))
    schema("lumber_job").validate(raw)
    job = read_lumber_job(raw)
    assert read_lumber_job(lumber_job_to_json(job)) == job
    for made in filter(None, map(planned, SEEDS[:8])):
        schema("lumber_plan").validate(lumber_plan_to_json(made))
        again = plan_lumber(read_lumber_job(lumber_job_to_json(made.job)))
        assert lumber_plan_to_json(again) == lumber_plan_to_json(made)


def test_every_problem_of_a_job_is_listed_with_its_path() -> None:
    good = lumber_job_to_json(read_lumber_job((ROOT / "designs" / "two-by-job.json").read_text(encoding="utf-8")))
    cases = (
        (("stock", 0, "thickness"), None, "stock[0].thickness"),
        (("blanks", 1, "thickness"), 3, "blanks[1].thickness"),
        (("stock", 0, "resaw", 0, "thickness"), "1 1/2", "stock[0].resaw[0].thickness"),
        (("stock", 0, "resaw", 0, "boards"), 0, "stock[0].resaw[0].boards"),
        (("stock", 0, "lumberyard_cuts", "longest"), 5, "stock[0].lumberyard_cuts"),
        (("stock", 0, "lumberyard_cuts", "cost"), -1, "stock[0].lumberyard_cuts.cost"),
        (("stock", 0, "unusable"), [[5, 9]], "stock[0].lumberyard_cuts"),
        (("stock", 0, "id"), "a / b", "stock[0].id"),
        (("stock", 0, "length"), 0, "stock[0].length"),
        (("format",), "woodshop-job/3", "format, format"),
    )
    for path, value, where in cases:
        raw = copy.deepcopy(good)
        at = raw
        for step in path[:-1]:
            at = at[step]
        if value is None:
            del at[path[-1]]
        else:
            at[path[-1]] = value
        with pytest.raises(InputError) as caught:
            read_lumber_job(raw)
        assert where in [problem.where for problem in caught.value.problems], path
