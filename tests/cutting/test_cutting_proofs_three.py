"""Proof trees of three stages: what they prove is true, what is spoiled proves nothing false, and two checks agree."""

import json
import random
from collections import Counter
from functools import cache
from typing import Any

import jsonschema
import pytest

from tests.cutting.brute_force import dearest, least_cost
from tests.cutting.second_check import proves
from tests.cutting.second_patterns import Job as SecondJob
from tests.cutting.second_patterns import worth_in_three
from tests.cutting.small_jobs import TOO_LONG, small_job
from tests.cutting.test_cutting_proofs import SCHEMA, quiet, spoiled
from tests.cutting.test_cutting_whole_boards import in_three
from tests.nightly import tries
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.cutting.checkers.prove_tree import tree_bound
from woodshop.cutting.checkers.worth import worth_of_stock
from woodshop.cutting.model.job import job_to_json, read_job
from woodshop.cutting.model.proof import Evidence, Proof, proof_text, read_proof
from woodshop.cutting.planner.plan_job import plan
from woodshop.cutting.planner.proof_tree import TREE_NODES, grow_proof, proved_by_tree

KINDS = ("three stages", "three stages under rules", TOO_LONG)
BEST = {"D42": 5_656, "F6": 5_370}


@cache
def tree_of(name: str, first: str) -> str:
    proof = grow_proof(in_three(name, first), BEST[name], TREE_NODES["default"], quiet)
    assert proof is not None
    return proof_text(proof)


@cache
def small_trees() -> list[tuple[dict[str, Any], int, str]]:
    """Small jobs with their least cost by brute force, and a proof of it."""
    found = []
    for kind in KINDS:
        for seed in range(tries(120)):
            value = small_job(kind, seed)
            least = least_cost(value)
            proof = grow_proof(read_job(value), least, 400, quiet) if least else None
            if least and proof is not None:
                found.append((value, least, proof_text(proof)))
    return found


def is_plain(value: dict[str, Any]) -> bool:
    """Whether the second check covers the job."""
    rules = set(value.get("rules", {})) - {"surplus"}
    stock = all(row.get("rip", True) and not row.get("unusable") for row in value["stock"])
    return stock and not rules and not value["cutting"].get("final_trim")


def test_small_jobs_are_proved_and_two_checks_agree() -> None:
    plain = 0
    assert len(small_trees()) > tries(120)
    for value, least, text in small_trees():
        job = read_job(value)
        assert tree_bound(job, text) == (least, "")
        jsonschema.validate(json.loads(text), SCHEMA)
        if is_plain(value):
            plain += 1
            assert proves(job_to_json(job), json.loads(text)) == least
    assert plain > 3


@pytest.mark.parametrize("kind", KINDS)
def test_no_tree_grows_for_a_cost_above_the_least(kind: str) -> None:
    for seed in range(tries(200)):
        value = small_job(kind, seed)
        least = least_cost(value)
        if least is not None:
            assert grow_proof(read_job(value), least + 1, 200, quiet) is None, seed


def test_two_checks_find_the_same_worth_and_no_layout_has_more() -> None:
    """Without rules and trims it is the worth of the best layout wherever a blank has one width to lie in."""
    compared = 0
    for seed in range(tries(240)):
        value = small_job("three stages", seed)
        rng = random.Random(seed)
        job = read_job(value)
        own = job_to_json(job)
        if is_plain(own):
            second = SecondJob(own)
            prices = [rng.choice((0, 1, 5, 9, 100)) for _ in second.sizes]
            of_size = {name: prices[number] for name, number in second.number_of.items()}
            said = worth_of_stock(job, of_size)
            for stock, known, worth in zip(own["stock"], second.stock, said, strict=True):
                assert worth_in_three(second, known, prices) == worth, seed
                assert dearest(value, stock, of_size) <= worth, seed
                compared += 1
    assert compared > 5


@pytest.mark.parametrize("first", ["across", "along"])
@pytest.mark.parametrize("name", sorted(BEST))
def test_hobby_jobs_are_proved_and_nothing_more(name: str, first: str) -> None:
    job, text = in_three(name, first), tree_of(name, first)
    assert tree_bound(job, text) == (BEST[name], "")
    jsonschema.validate(json.loads(text), SCHEMA)
    raw = json.loads(text)
    for more in (2, 4, 100):
        assert tree_bound(job, json.dumps(raw | {"cost": BEST[name] + more}))[0] is None


def test_no_corruption_makes_a_false_claim_pass() -> None:
    rng = random.Random(30)
    many = tries(1_600)
    jobs = [(job_to_json(in_three("D42", "along")), BEST["D42"], tree_of("D42", "along"))]
    jobs += [each for each in small_trees() if len(json.loads(each[2])["tree"]) > 1]
    told = Counter[bool]()
    for n in range(many):
        value, least, text = jobs[0] if n % 8 == 0 else rng.choice(jobs[1:] or jobs)
        raw = spoiled(json.loads(text), rng)
        bound, why = tree_bound(read_job(value), json.dumps(raw))
        told[bound is None] += 1
        assert bound is None or (bound <= least and not why), raw
        assert (bound is None) == bool(why)
        if bound is not None and n % 8 and is_plain(value):
            assert proves(job_to_json(read_job(value)), raw) == bound, raw
    assert told[True] > many // 2


def test_two_checks_agree_on_spoiled_proofs() -> None:
    rng = random.Random(31)
    trees = [each for each in small_trees() if is_plain(each[0])]
    for _ in range(tries(800)):
        value, _, text = rng.choice(trees)
        raw = spoiled(json.loads(text), rng)
        job = read_job(value)
        bound, why = tree_bound(job, json.dumps(raw))
        if "wanted" not in why:  # what form is refused is no matter of the proof
            assert bound == proves(job_to_json(job), raw), (value, raw)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda raw: raw["drops"].append(0), "drops: there are none in three stages"),
        (lambda raw: raw["totals"][0][0].update(of=["strip", 1272, 160]), "only stock as a whole is counted"),
        (lambda raw: raw["totals"][0][0].update(of=["stock", "nowhere"]), "only stock as a whole is counted"),
        (lambda raw: raw["totals"][0][0].update(into=[]), "only stock as a whole is counted"),
        (lambda raw: raw["evidence"].extend(raw["evidence"][:1] * 400), "pieces of evidence: too many"),
        (lambda raw: raw["evidence"][0][1].__setitem__(0, 2**61), "numbers too large"),
        (lambda raw: raw.update(tree=[-1]), "has no greatest value"),
        (lambda raw: raw["evidence"][0].__setitem__(1, [1] * len(raw["parts"])), "does not reach the cost"),
        (lambda raw: raw["tree"].pop(), "ends before every branch has a leaf"),
        (lambda raw: raw.update(parts=raw["parts"][::-1]), "parts: not the first blank"),
    ],
)
def test_each_fault_has_its_own_verdict(change: Any, said: str) -> None:
    raw = json.loads(tree_of("D42", "along"))
    change(raw)
    bound, why = tree_bound(in_three("D42", "along"), json.dumps(raw))
    assert bound is None
    assert said in why


def test_rounded_rows_are_refused() -> None:
    raw = json.loads(tree_of("D42", "along"))
    rows = {"format": "woodshop-proof/2", "strips": [], "rows": [[2, [1] * len(raw["parts"]), [], [], []]]}
    evidence = [[*row, []] for row in raw["evidence"]]
    bound, why = tree_bound(in_three("D42", "along"), json.dumps(raw | rows | {"evidence": evidence}))
    assert bound is None
    assert "rows: there are none in three stages" in why


def test_stock_without_a_cost_and_a_count_proves_nothing() -> None:
    value = job_to_json(in_three("D42", "along"))
    value["stock"][0]["cost"] = 0
    job = read_job(value)
    raw = json.loads(tree_of("D42", "along"))
    own = Proof("", 1, tuple(raw["parts"]), (), (Evidence(0, (1,) * len(raw["parts"]), ()),), (), (-1,))
    text = proof_text(own).replace('"job_digest":""', f'"job_digest":"{plan_digest(job)}"')
    assert read_proof(text).tree == (-1,)
    bound, why = tree_bound(job, text)
    assert bound is None
    assert "no limit to what stock without a cost could be worth" in why


def plan_digest(job: Any) -> str:
    from woodshop.cutting.model.job import job_digest

    return job_digest(job)


def test_costs_too_large_for_the_check_grow_no_tree() -> None:
    value = job_to_json(in_three("D42", "along"))
    for row in value["stock"]:
        row["cost"] *= 10**3
    job = read_job(value)
    proof = grow_proof(job, BEST["D42"] * 10**3, 600, quiet)
    assert proof is not None
    assert tree_bound(job, proof_text(proof)) == (BEST["D42"] * 10**3, "")
    for row in value["blanks"]:
        row["count"] *= 10**6
    assert grow_proof(read_job(value), 5_532 * 10**9, 100, quiet) is None


def test_equal_input_gives_equal_bytes() -> None:
    proof = grow_proof(in_three("F6", "along"), BEST["F6"], TREE_NODES["default"], quiet)
    assert proof is not None
    assert proof_text(proof) == tree_of("F6", "along")


@pytest.mark.slow("8 s: F6 in three stages, planned and proved")
def test_a_plan_of_three_stages_is_proved() -> None:
    made = proved_by_tree(plan(in_three("F6", "along")), TREE_NODES["default"], quiet)
    assert (made.assurance, made.bound_kind, made.cost, made.bound) == ("proved", "tree", 5_370, 5_370)
    assert prove_plan(made) == ()
