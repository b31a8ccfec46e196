"""The patterns that are listed with the prices of a first drop are those that it leaves of all."""

import json
import random
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from tests.cutting.middling_jobs import middling
from tests.cutting.second_patterns import Job as SecondJob
from tests.cutting.second_patterns import named_patterns
from tests.cutting.small_jobs import KINDS, LEFT_OUT, OWN_CUTS, small_job
from tests.nightly import tries
from woodshop.cutting.checkers import listing, tables
from woodshop.cutting.checkers.listing import NotCoveredError, TooManyPatternsError
from woodshop.cutting.checkers.patterns import patterns_of
from woodshop.cutting.checkers.prove_rows import InvalidProofError
from woodshop.cutting.checkers.prove_tree import ProofModel, most_of_cheaper, patterns_left, tree_bound
from woodshop.cutting.model.job import Job, job_to_json, read_job
from woodshop.cutting.model.plan import Certificate
from woodshop.cutting.model.proof import Evidence, proof_text
from woodshop.cutting.planner.proof_tree import grow_proof

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


def dropped_by_hand(job: Job, cost: int, own: Evidence) -> Left | None:
    """The same from the guide alone: all patterns by the second listing, then the drop. None: it proves nothing."""
    value = job_to_json(job)
    patterns = {region: {frozenset(p) for p in some} for region, some in named_patterns(SecondJob(value)).items()}
    sizes = {("part", ids[0]): n for n, (ids, _) in enumerate(patterns_of(job).sizes)}
    strips = [region for region in patterns if region[0] != "stock"]
    worth = {part: own.prices[n] for part, n in sizes.items()}

    def value_of(pattern: Any) -> int:
        return sum(n * worth[name] for name, n in pattern)

    for strip in strips:
        worth[strip] = max(map(value_of, patterns[strip]))
    limit, excess = most_of_cheaper(job, cost), {}
    left = own.cost * limit - sum(n * own.prices[k] for k, (_, n) in enumerate(patterns_of(job).sizes))
    for stock in job.stock:
        best = max(map(value_of, patterns.get(("stock", stock.id), ())), default=0)
        excess[stock.id] = max(0, best - own.cost * stock.cost)
        uses = [limit // stock.cost] if stock.cost else []
        uses += [] if stock.count is None else [stock.count]
        if excess[stock.id] and not uses:
            return None
        left += min(uses, default=0) * excess[stock.id]
    room = max(0, left)
    need: dict[Any, int] = {}
    found: Left = {}
    for stock in job.stock:
        region = ("stock", stock.id)
        for pattern in patterns.get(region, ()):
            lost = excess[stock.id] + own.cost * stock.cost - value_of(pattern)
            if lost <= room:
                found.setdefault(region, set()).add(pattern)
                for strip, _ in pattern:
                    need[strip] = min(lost, need.get(strip, lost))
    for strip in strips:
        for pattern in patterns[strip]:
            if strip in need and worth[strip] - value_of(pattern) + need[strip] <= room:
                found.setdefault(strip, set()).add(pattern)
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
    own = Evidence(rng.choice((0, scale, scale, scale)), tuple(prices), ())
    needed = sum(count * price for (_, count), price in zip(patterns_of(job).sizes, prices, strict=True))
    return own, max(1, round(needed / scale * rng.uniform(0.5, 1.2)))


def both(job: Job, cost: int, own: Evidence) -> tuple[Left | None, Left | None]:
    """What is left if all is listed and then dropped, and what is listed with the prices. None: refused."""
    found: list[Left | None] = []
    for prepared in (None, own):
        try:
            model = ProofModel(job, patterns_left(job, cost, prepared), cost)
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
    for seed in range(tries(40)):
        job = read_job(small_job(kind, seed))
        try:
            every = patterns_of(job)
        except NotCoveredError:
            continue
        for _ in range(3):
            own, cost = some_evidence(job, rng)
            first, second = both(job, cost, own)
            assert first == second == dropped_by_hand(job, cost, own), (seed, own, cost)
            tried += 1
            fewer += first is not None and sum(map(len, first.values())) < len(every.low) + len(every.high)
    assert tried == 0 or fewer > tried // 10


def test_jobs_of_tens_of_pieces() -> None:
    rng, fewer = random.Random(9), 0
    for seed in range(tries(12)):
        job = read_job(middling(seed))
        for _ in range(3):
            own, cost = some_evidence(job, rng)
            first, second = both(job, cost, own)
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
        first, second = both(job, cost, own)
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
