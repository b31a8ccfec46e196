"""The patterns that are listed with the prices of a first drop are those that it leaves of all."""

import json
import random
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from tests.cutting.brute_force import least_cost
from tests.cutting.middling_jobs import middling
from tests.cutting.second_check import Check, proves
from tests.cutting.small_jobs import KINDS, LEFT_OUT, OWN_CUTS, small_job
from tests.cutting.test_cutting_proofs import SCHEMA, spoiled
from tests.nightly import tries
from woodshop.cutting.checkers import listing, tables
from woodshop.cutting.checkers.listing import NotCoveredError, TooManyPatternsError
from woodshop.cutting.checkers.patterns import Patterns, patterns_of
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.cutting.checkers.prove_rows import InvalidProofError
from woodshop.cutting.checkers.prove_tree import ProofModel, patterns_left, tree_bound
from woodshop.cutting.model.job import Job, job_digest, job_to_json, read_job
from woodshop.cutting.model.plan import Certificate
from woodshop.cutting.model.proof import Evidence, Proof, proof_text, read_proof
from woodshop.cutting.planner import proof_tree
from woodshop.cutting.planner.plan_job import plan
from woodshop.cutting.planner.proof_tree import TREE_NODES, grow_proof, proved_by_tree

DATA = Path(__file__).resolve().parents[1] / "data" / "cutting"
EVERY_KIND = tuple(dict.fromkeys((*KINDS, OWN_CUTS, LEFT_OUT)))

Left = dict[Any, set[Any]]


def of_file(name: str) -> Job:
    return read_job((DATA / f"{name}.json").read_text(encoding="utf-8"))


def left_of(model: ProofModel) -> Left:
    """The parts of each pattern that is left, by region."""
    strips = model.patterns.strips
    parts = [("part", name) for name in model.parts]
    boards = [("stock", stock.id) for stock in model.job.stock]
    found: Left = {}
    for level, regions, names in ((model.low, strips, parts), (model.high, boards, strips)):
        for row, of in zip(level.rows.tolist(), level.of.tolist(), strict=True):
            pattern = frozenset((name, n) for name, n in zip(names, row, strict=True) if n)
            assert pattern not in found.setdefault(regions[of], set())
            found[regions[of]].add(pattern)
    return found


def dropped_by_hand(job: Job, cost: int, own: Evidence, *, is_whole: bool) -> Left | None:
    """What the second check leaves of all patterns that it lists. None: it refuses the drop."""
    sizes = patterns_of(job).sizes
    proof = Proof(job_digest(job), cost, tuple(ids[0] for ids, _ in sizes), (), (own,), (0,), (-1,), is_whole=is_whole)
    check = Check(job_to_json(job), json.loads(proof_text(proof)))
    try:
        check.drop(0)
    except ValueError:
        return None
    parts = [("part", name) for name in check.job.parts]
    found: Left = {}
    for region, numbers in check.left.items():
        names = [dict(check.content[n][1]) for n in numbers]
        named = [{x if region[0] == "stock" else parts[x]: n for x, n in each.items()} for each in names]
        if named:
            found[region] = {frozenset(each.items()) for each in named}
    return found


def some_evidence(job: Job, rng: random.Random) -> tuple[Evidence, int]:
    """Prices about as large as the stock costs, and a cost to prove with them."""
    scale = rng.choice((1, 7, 100))
    widest = max(stock.length * (stock.width or 1) for stock in job.stock)
    dear = max(stock.cost for stock in job.stock)
    prices = []
    for ids, _ in patterns_of(job).sizes:
        blank = next(blank for blank in job.blanks if blank.id == ids[0])
        fair = scale * dear * blank.length * (blank.width or 1) / widest
        prices.append(round(fair * rng.choice((0, 0.5, 1, 1, 1.1, 2))))
    own = Evidence(rng.choice((0, 0, scale, scale)), tuple(prices), ())
    needed = sum(count * price for (_, count), price in zip(patterns_of(job).sizes, prices, strict=True))
    return own, max(1, round(needed / scale * rng.uniform(0.5, 1.2)))


def both(job: Job, cost: int, own: Evidence, *, is_whole: bool) -> tuple[Left | None, Left | None]:
    """What is left if all is listed and then dropped, and what is listed with the prices. None: refused."""
    found: list[Left | None] = []
    for prepared in (None, own):
        try:
            model = ProofModel(job, patterns_left(job, cost, prepared, is_whole=is_whole), cost, is_whole=is_whole)
            if prepared is None:
                model.drop(own)
            found.append(left_of(model))
        except InvalidProofError:
            found.append(None)
    return found[0], found[1]


@pytest.mark.parametrize("is_coarse", [False, True])
@pytest.mark.parametrize("kind", EVERY_KIND)
def test_a_list_with_prices_is_what_the_drop_leaves_of_all(
    kind: str, is_coarse: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    """If `is_coarse`, tables are too small for the sizes, so that they only bound what a pattern is worth."""
    if is_coarse:
        monkeypatch.setattr(tables, "_LARGEST_TABLE", 5)
    rng, tried, fewer = random.Random(f"{kind} {is_coarse}"), 0, 0
    for seed in range(tries(160)):
        job = read_job(small_job(kind, seed))
        try:
            every = patterns_of(job)
        except NotCoveredError:
            continue
        for _ in range(3):
            own, cost = some_evidence(job, rng)
            is_whole = not is_coarse and rng.random() < 0.5
            first, second = both(job, cost, own, is_whole=is_whole)
            assert first == second == dropped_by_hand(job, cost, own, is_whole=is_whole), (seed, own, cost, is_whole)
            tried += 1
            fewer += first is not None and sum(map(len, first.values())) < len(every.low) + len(every.high)
    assert tried == 0 or fewer > tried // 10


def test_jobs_of_tens_of_pieces() -> None:
    rng, fewer = random.Random(9), 0
    for seed in range(tries(48)):
        job = read_job(middling(seed))
        for _ in range(3):
            own, cost = some_evidence(job, rng)
            first, second = both(job, cost, own, is_whole=seed % 2 == 0)
            assert first == second, (seed, own, cost)
            every = patterns_of(job)
            fewer += first is not None and sum(map(len, first.values())) < len(every.low) + len(every.high)
    assert fewer > 5


@pytest.mark.parametrize("name", ["hobby/D42", "hobby/G60", "hobby/F6", "sections/S214"])
def test_real_jobs(name: str) -> None:
    job = of_file(name)
    if name == "sections/S214":
        some = [stock for stock in job.stock if stock.id in ("1x3_120", "1x4_96", "1x3_72", "offcut_R3")]
        less = [replace(blank, count=max(1, blank.count // 3)) for blank in job.blanks]
        job = replace(job, stock=tuple(some), blanks=tuple(less))
    rng = random.Random(4)
    for _ in range(4):
        own, cost = some_evidence(job, rng)
        first, second = both(job, cost, own, is_whole=False)
        assert first == second, (own, cost)


def test_a_job_with_too_many_patterns_is_proved_with_the_prices_of_its_certificate(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    job = of_file("hobby/G60")
    full = patterns_of(job)
    proof = grow_proof(job, 52320, 100, lambda _: None)
    assert proof is not None
    prices = dict(zip((ids[0] for ids, _ in full.sizes), proof.evidence[0].prices, strict=True))
    by_blank = tuple((name, prices[ids[0]]) for ids, _ in full.sizes for name in ids)
    certificate = Certificate(proof.evidence[0].cost, by_blank, (), 0)
    monkeypatch.setattr(listing, "MOST_PATTERNS", len(full.low) + len(full.high) - 1)
    with pytest.raises(TooManyPatternsError):
        patterns_of(job)
    told: list[str] = []
    assert grow_proof(job, 52320, 100, told.append) is None
    assert "patterns" in told[0]
    proof = grow_proof(job, 52320, 100, told.append, certificate)
    assert proof is not None
    assert tree_bound(job, proof_text(proof)) == (52320, "")
    assert len(proof.drops) == 2
    without = replace(proof, drops=())
    assert "patterns" in tree_bound(job, proof_text(without))[1]


def test_names_of_what_the_first_drop_removes_are_refused() -> None:
    job = of_file("hobby/G60")
    proof = grow_proof(job, 52320, 100, lambda _: None)
    assert proof is not None
    left = patterns_left(job, 52320, proof.evidence[0])
    gone = sorted(set(patterns_of(job).strips) - set(left.strips), key=str)
    assert gone
    raw = json.loads(proof_text(proof))
    raw["strips"].append(list(gone[0]))
    bound, why = tree_bound(job, json.dumps(raw))
    assert bound is None
    assert "strips" in why
    raw = json.loads(proof_text(proof))
    raw["totals"].append([{"weight": 1, "of": list(gone[0])}])
    bound, why = tree_bound(job, json.dumps(raw))
    assert bound is None
    assert "no region of the job" in why


def by_whole_boards(job: Job, cost: int, _: Any) -> tuple[Patterns, Evidence]:
    """The patterns that are left by prices in proportion to area, if whole boards are counted."""
    areas = {blank.id: blank.length * (blank.width or 1) for blank in job.blanks}
    first = Evidence(0, tuple(areas[ids[0]] for ids, _ in patterns_of(job).sizes), ())
    return patterns_left(job, cost, first, is_whole=True), first


def test_drops_that_count_whole_boards_prove_what_is_true_and_nothing_more(monkeypatch: pytest.MonkeyPatch) -> None:
    """The share of the order is what these trees grow by; two checks agree on them, and on what is spoiled."""
    monkeypatch.setattr(proof_tree, "_patterns", by_whole_boards)
    rng, trees, held = random.Random(3), 0, 0
    for kind in ("lengths", "rip first", "crosscut first", "safety rules", OWN_CUTS):
        for seed in range(tries(120)):
            value = small_job(kind, seed)
            job, least = read_job(value), least_cost(value)
            if not least or any(stock.count is None and not stock.cost for stock in job.stock):
                continue
            assert grow_proof(job, least + 1, 60, lambda _: None) is None, (kind, seed)
            proof = grow_proof(job, least, 60, lambda _: None)
            if proof is None:
                continue
            trees += 1
            raw = json.loads(proof_text(proof))
            assert raw["format"] == "woodshop-proof/3"
            jsonschema.validate(raw, SCHEMA)
            assert read_proof(raw) == proof
            assert tree_bound(job, json.dumps(raw)) == (least, "")
            assert proves(job_to_json(job), raw) == least
            for _ in range(4):
                other = spoiled(raw, rng)
                bound, _ = tree_bound(job, json.dumps(other))
                assert bound is None or bound <= least, (kind, seed, other)
                if bound is not None:
                    assert proves(job_to_json(job), other) == bound
                    held += 1
    assert trees > 40
    assert held > 10


@pytest.mark.slow("a tree of 450 linear programs")
def test_steel_sheets_are_proved_by_counting_them() -> None:
    """A small and a large sheet of which few are needed: two of one and three of the other lack room for one piece."""
    job = of_file("sheets/steel")
    found = proved_by_tree(plan(job, effort="quick"), TREE_NODES["default"], lambda _: None)
    assert (found.cost, found.assurance) == (16400, "proved")
    assert prove_plan(found) == ()
    assert found.proof is not None
    text = found.proof.text
    assert read_proof(text).is_whole
    assert tree_bound(job, text) == (16400, "")
    false = json.loads(text) | {"cost": 16420}
    assert tree_bound(job, json.dumps(false))[0] is None
