"""Proof trees: what they prove is true, what is spoiled proves nothing false, and two checks agree."""

import gzip
import json
import random
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from click.testing import CliRunner

from tests.cutting.brute_force import least_cost
from tests.cutting.second_check import proves
from tests.cutting.second_patterns import Job as SecondJob
from tests.cutting.second_patterns import in_sections, named_patterns
from tests.cutting.small_jobs import KINDS, LEFT_OUT, OWN_CUTS, small_job
from tests.nightly import tries
from woodshop.cli import main
from woodshop.cutting.checkers.listing import NotCoveredError
from woodshop.cutting.checkers.patterns import patterns_of
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.cutting.checkers.prove_tree import tree_bound
from woodshop.cutting.checkers.worth import worth_of_stock
from woodshop.cutting.model.job import Job, job_to_json, read_job
from woodshop.cutting.model.plan import plan_to_json, read_plan
from woodshop.cutting.model.proof import MOST_BYTES, packed, proof_text, read_proof, unpacked
from woodshop.cutting.planner.network import build_network
from woodshop.cutting.planner.plan_job import plan
from woodshop.cutting.planner.pricing import enumerate_columns
from woodshop.cutting.planner.proof_tree import grow_proof, proved_by_tree
from woodshop.errors import InputError

ROOT = Path(__file__).resolve().parents[2]
HOBBY = ROOT / "tests" / "data" / "cutting" / "hobby"
BEST = {"A84": 11220, "A248": 29370, "B106": 14340, "C4020": 69632, "D42": 6000, "E124": 8890, "F6": 5490, "G60": 52320}
HARD = [("rip first", 12), ("rip first", 29), ("rip first", 40), (OWN_CUTS, 24)]
"""Small jobs that prices alone do not prove."""
SECTIONS = [("safety rules", 187), ("safety rules", 216), (OWN_CUTS, 82), (OWN_CUTS, 339), (OWN_CUTS, 376)]
"""Small jobs that prices alone do not prove, with stock that is cut in sections."""
SCHEMA = json.loads((ROOT / "woodshop/cutting/model/proof.schema.json").read_text(encoding="utf-8"))


def hobby(name: str) -> Job:
    return read_job((HOBBY / f"{name}.json").read_text(encoding="utf-8"))


def quiet(_: str) -> None:
    pass


@cache
def tree_of(name: str, nodes: int = 3_000) -> str:
    proof = grow_proof(hobby(name), BEST[name], nodes, quiet)
    assert proof is not None
    return proof_text(proof)


@cache
def small_trees() -> list[tuple[dict[str, Any], int, str]]:
    """Small jobs with their least cost by brute force, and a proof of it."""
    found = []
    kinds = ("lengths", "rip first", "crosscut first", "safety rules", OWN_CUTS)
    for kind, seed in dict.fromkeys([*HARD, *SECTIONS, *((kind, seed) for kind in kinds for seed in range(tries(80)))]):
        value = small_job(kind, seed)
        least = least_cost(value)
        if least:
            proof = grow_proof(read_job(value), least, 400, quiet)
            if proof is not None:
                found.append((value, least, proof_text(proof)))
    return found


def test_small_jobs_are_proved_and_two_checks_agree() -> None:
    trees = small_trees()
    assert len(trees) > 20
    assert any(in_sections(job_to_json(read_job(value))) for value, _, _ in trees)
    for value, least, text in trees:
        job = read_job(value)
        assert tree_bound(job, text) == (least, "")
        assert proves(job_to_json(job), json.loads(text)) == least
        jsonschema.validate(json.loads(text), SCHEMA)


def test_rules_and_cutting_change_nothing_for_lengths_alone() -> None:
    more: dict[str, Any] = {
        "rules": {"longest_rip": 1, "least_strip": 2, "least_remainder": 1, "defects": "cut_out"},
        "cutting": {"stages": 3, "first": "either", "final_trim": True},
    }
    for value, least, _ in small_trees():
        if "width" not in value["blanks"][0]:
            job = read_job(value | more)
            proof = grow_proof(job, least, 400, quiet)
            assert proof is not None
            assert tree_bound(job, proof_text(proof)) == (least, "")
            assert proves(job_to_json(job), json.loads(proof_text(proof))) == least


@pytest.mark.parametrize("kind", [*KINDS, OWN_CUTS, LEFT_OUT])
def test_no_tree_grows_for_a_cost_above_the_least(kind: str) -> None:
    for seed in range(tries(64)):
        value = small_job(kind, seed)
        least = least_cost(value)
        if least is not None:
            assert grow_proof(read_job(value), least + 1, 60, quiet) is None, seed


@pytest.mark.parametrize("name", sorted(BEST))
def test_the_patterns_are_those_of_the_planner(name: str) -> None:
    job = hobby(name)
    network, own = build_network(job), patterns_of(job)
    by_planner: Counter[tuple[Any, ...]] = Counter()
    for number, pattern in enumerate_columns(network) or []:
        knapsack, yields = network.knapsacks[number], Counter[Any]()
        for item, count in zip(knapsack.items, pattern, strict=True):
            for key in item.yields if count else ():
                yields[key] += count
        by_planner[knapsack.of, frozenset(yields.items())] += 1
    by_check: Counter[tuple[Any, ...]] = Counter()
    for row, of in zip(own.low.tolist(), own.low_of.tolist(), strict=True):
        by_check[own.strips[of], frozenset((("size", i), n) for i, n in enumerate(row) if n)] += 1
    for row, of in zip(own.high.tolist(), own.high_of.tolist(), strict=True):
        by_check[("stock", of), frozenset((own.strips[i], n) for i, n in enumerate(row) if n)] += 1
    assert by_planner == by_check


def listed(value: dict[str, Any]) -> set[Any] | None:
    """The region and the parts of each pattern that the check lists; None if it refuses the job."""
    try:
        own = patterns_of(read_job(value))
    except NotCoveredError:
        return None
    parts = [("part", ids[0]) for ids, _ in own.sizes]
    boards = [("stock", stock["id"]) for stock in value["stock"]]
    found = set[Any]()
    for regions, names, rows, of in (
        (own.strips, parts, own.low, own.low_of),
        (boards, own.strips, own.high, own.high_of),
    ):
        for row, n in zip(rows.tolist(), of.tolist(), strict=True):
            found.add((regions[n], tuple(sorted((names[i], count) for i, count in enumerate(row) if count))))
    return found


def test_two_listings_of_sections_agree() -> None:
    compared = 0
    for kind in ("safety rules", OWN_CUTS):
        for seed in [seed for other, seed in SECTIONS if other == kind] + list(range(tries(200))):
            value = job_to_json(read_job(small_job(kind, seed)))
            own = listed(value)
            if own is not None and in_sections(value):
                other = named_patterns(SecondJob(value))
                assert own == {(region, way) for region, ways in other.items() for way in ways}, (kind, seed)
                compared += 1
    assert compared > 10


@pytest.mark.parametrize(
    ("rules", "more", "wanted"),
    [
        # Two sections of 7 would be joined to one of 15.
        (
            {"longest_rip": 15},
            {},
            ["39x10", "7x4 7x4 29x10", "15x4 15x4 19x10", "7x4 7x4 15x4 15x4 9x10", "7x4 7x4 15x4 15x4 15x4 15x4"],
        ),
        # One strip, and sections that are 2 longer than it, so that two of 7 are too long to join.
        (
            {"longest_rip": 15, "least_remainder": 1},
            {},
            ["39x10", "7x4 29x10", "7x4 7x4 19x10", "7x4 7x4 7x4 9x10", "7x4 7x4 7x4 7x4"],
        ),
        # No section is shorter than 12.
        (
            {"longest_rip": 15, "shortest_rip": 12},
            {},
            ["39x10", "15x4 15x4 19x10", "15x4 15x4 15x4 15x4", "12x4 12x4 15x4 15x4 9x10", " ".join(["12x4"] * 6)],
        ),
        # Stretches of 20 and 18.
        (
            {"defects": "cut_out"},
            {"unusable": [[20, 22]]},
            [
                "19x10 7x4 7x4 9x10",
                "19x10 15x4 15x4",
                "7x4 7x4 9x10 7x4 7x4 9x10",
                "7x4 7x4 9x10 15x4 15x4",
                "15x4 15x4 15x4 15x4",
            ],
        ),
    ],
)
def test_sections_of_one_board(rules: dict[str, Any], more: dict[str, Any], wanted: list[str]) -> None:
    """A board 40 long and 10 wide with kerfs of 1, for parts of 7 x 4 and 9 x 10; worked out by hand."""
    value: dict[str, Any] = {"format": "woodshop-job/1", "unit": "1", "money": "c", "kerf": {"rip": 1, "crosscut": 1}}
    value["cutting"] = {"stages": 2, "first": "along"}
    blanks = [{"id": "a", "length": 7, "width": 4, "count": 40}, {"id": "b", "length": 9, "width": 10, "count": 9}]
    stock = {"id": "s", "length": 40, "width": 10, "cost": 5, **more}
    found = listed(value | {"stock": [stock], "blanks": blanks, "rules": rules})
    assert found is not None
    boards = {way for region, way in found if region == ("stock", "s")}
    assert boards == {
        tuple(sorted((("strip", *map(int, strip.split("x"))), n) for strip, n in Counter(row.split()).items()))
        for row in wanted
    }


def test_no_listed_pattern_is_worth_more_than_the_check_of_certificates_says() -> None:
    """Boards of the hobby batch that are cut in sections, at prices that are all above 0."""
    value = json.loads((HOBBY.parent / "sections" / "S214.json").read_text(encoding="utf-8"))
    value["stock"] = [row for row in value["stock"] if row["id"] in ("1x3_120", "offcut_R3")]
    for row in value["blanks"]:
        row["count"] = max(1, row["count"] // 3)
    job, rng, equal = read_job(value), random.Random(7), 0
    own = patterns_of(job)
    assert in_sections(value)
    assert len(own.high) > 100
    for _ in range(40):
        of_size = [rng.randint(1, 1000) for _ in own.sizes]
        prices = {name: price for (names, _), price in zip(own.sizes, of_size, strict=True) for name in names}
        worth = [0] * len(own.strips)
        for row, of in zip((own.low @ of_size).tolist(), own.low_of.tolist(), strict=True):
            worth[of] = max(worth[of], row)
        best = [0] * len(job.stock)
        for row, of in zip((own.high @ worth).tolist(), own.high_of.tolist(), strict=True):
            best[of] = max(best[of], row)
        said = worth_of_stock(job, prices)
        assert all(a <= b for a, b in zip(best, said, strict=True)), (best, said)
        equal += sum(a == b for a, b in zip(best, said, strict=True))
    assert equal > 20


@pytest.mark.parametrize("name", ["D42", "G60"])
def test_hobby_jobs_are_proved_and_nothing_more(name: str) -> None:
    job, text = hobby(name), tree_of(name)
    assert tree_bound(job, text) == (BEST[name], "")
    jsonschema.validate(json.loads(text), SCHEMA)
    raw = json.loads(text)
    for more in (1, 2, 100):
        assert tree_bound(job, json.dumps(raw | {"cost": BEST[name] + more}))[0] is None


def test_rows_with_large_divisors_close_a_job_at_the_top() -> None:
    job, best = hobby("A3000"), 2_686_530
    proof = grow_proof(job, best, 40, quiet)  # with divisors up to 100,000 it takes more
    assert proof is not None
    assert tree_bound(job, proof_text(proof)) == (best, "")


def test_equal_input_gives_equal_bytes() -> None:
    proof = grow_proof(hobby("D42"), BEST["D42"], 3_000, quiet)
    assert proof is not None
    assert packed(proof_text(proof)) == packed(tree_of("D42"))
    assert read_proof(tree_of("D42")) == proof


def spoiled(raw: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """The proof with one to three changes anywhere in it."""
    new = json.loads(json.dumps(raw))
    step = rng.choice((1, 1, 2, 7, 1000, 10**6))
    for _ in range(rng.randint(1, 3)):
        more = ("rows", "rows", "rows", "strips") if "rows" in new else ()
        key = rng.choice(("cost", "tree", "tree", "tree", "evidence", "evidence", "drops", "totals", "parts", *more))
        rows = new[key]
        if key == "cost":
            new["cost"] += step
        elif key in ("tree", "drops") and rows:
            at = rng.randrange(len(rows))
            change = rng.choice(("more", "less", "cut", "twice", "leaf", "swap"))
            if change in ("more", "less"):
                rows[at] += rng.choice((1, 1, 2, 5)) * (1 if change == "more" else -1)
            elif change == "cut":
                del rows[at : at + rng.choice((1, 2, 3))]
            elif change == "twice":
                rows.insert(at, rows[at])
            elif change == "leaf":
                rows[at] = -1 - rng.randrange(len(new["evidence"]))
            else:
                other = rng.randrange(len(rows))
                rows[at], rows[other] = rows[other], rows[at]
            if key == "drops" and rng.random() < 0.5:
                rows.append(rng.randrange(len(new["evidence"])))
        elif key == "evidence" and rows:
            row = rng.choice(rows)
            part = rng.randrange(len(row))
            if part == 0:
                row[0] = max(0, row[0] + rng.choice((-1, 1)) * step)
            elif row[part]:
                at = rng.randrange(len(row[part]))
                row[part][at] += rng.choice((-1, 1)) * step
            if rng.random() < 0.2:
                rng.shuffle(row[1])
        elif key == "totals" and rows:
            total = rng.choice(rows)
            term = rng.choice(total) if total else {"weight": 1}
            change = rng.choice(("weight", "gone", "twice", "other"))
            if change == "weight":
                term["weight"] = max(1, term["weight"] + rng.choice((-1, 1)))
            elif change == "gone" and len(total) > 1:
                total.remove(term)
            elif change == "twice":
                total.append(term)
            else:
                rows.insert(rng.randrange(len(rows)), rows[rng.randrange(len(rows))])
        elif key == "rows" and rows:
            row = rng.choice(rows)
            part = rng.randrange(5)
            if part == 0:
                row[0] = max(1, row[0] + rng.choice((-1, 1)) * step)
            elif row[part]:
                row[part][rng.randrange(len(row[part]))] += rng.choice((-1, 1)) * step
            if rng.random() < 0.2:
                row[:] = rng.choice(rows)
        elif key in ("parts", "strips") and len(rows) > 1:
            rng.shuffle(rows)
    return dict(new)


def test_no_corruption_makes_a_false_claim_pass() -> None:
    rng = random.Random(20)
    many = 5_000 if tries(8) == 8 else 200
    jobs = [(job_to_json(hobby(name)), BEST[name], tree_of(name)) for name in ("D42", "G60")]
    jobs += [each for each in small_trees() if len(json.loads(each[2])["tree"]) > 1]
    told = Counter[bool]()
    for n in range(many):
        value, least, text = jobs[n % 2] if n % 4 == 0 else rng.choice(jobs)
        raw = spoiled(json.loads(text), rng)
        bound, why = tree_bound(read_job(value), json.dumps(raw))
        told[bound is None] += 1
        assert bound is None or (bound <= least and not why), raw
        assert (bound is None) == bool(why)
        if len(raw["tree"]) < 200 and bound is not None:
            assert proves(job_to_json(read_job(value)), raw) == bound, raw
    assert told[True] > many // 2


def test_two_checks_agree_on_spoiled_proofs() -> None:
    rng = random.Random(21)
    trees = small_trees()
    for _ in range(tries(1_000)):
        value, _, text = rng.choice(trees)
        raw = spoiled(json.loads(text), rng)
        try:
            read_proof(raw)
        except InputError:
            continue  # what form is refused is no matter of the proof
        job = read_job(value)
        assert tree_bound(job, json.dumps(raw))[0] == proves(job_to_json(job), raw), (value, raw)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda raw: raw["tree"].pop(), "ends before every branch has a leaf"),
        (lambda raw: raw["tree"].append(-1), "numbers are left"),
        (lambda raw: raw.update(tree=[-1]), "does not reach the cost"),
        (lambda raw: raw["evidence"][0].__setitem__(3, [0, 5]), "or with rounded rows"),
        (lambda raw: raw["rows"][0].__setitem__(0, 1), "is whole already"),
        (lambda raw: raw["rows"][0][1].append(1), "one price for each size"),
        (lambda raw: raw["rows"][0].__setitem__(2, [5, 1, 5, 1]), "that are not in order"),
        (lambda raw: raw["rows"][0].__setitem__(0, 0), "rows[0]"),
        (lambda raw: raw["rows"][0].__setitem__(4, [len(raw["rows"]) - 1, 1]), "a row that does not count there"),
        (lambda raw: raw["rows"][0][1].__setitem__(0, 10**20), "numbers too large"),
        (lambda raw: raw["strips"].append(raw["strips"][0]), "or one twice"),
        (lambda raw: raw["tree"].insert(0, raw["tree"][0]), "again"),
        (lambda raw: raw["tree"].pop(0), "does not count"),
        (lambda raw: raw["evidence"][-1][3].__setitem__(1, -1), "negative multiplier for a rounded row"),
        (lambda raw: raw.update(tree=[0, -1, -1, -1]), "leaves one side of the branch empty"),
        (lambda raw: raw.update(tree=[10**6, 1, -1, -1]), "is no total"),
        (lambda raw: raw.update(tree=[-1 - 10**6]), "which there is not"),
        (lambda raw: raw.update(job_digest="0" * 64), "another job"),
        (lambda raw: raw.update(parts=raw["parts"][::-1]), "parts: not the first blank"),
        (lambda raw: raw["evidence"][0][1].append(1), "one price for each size"),
        (lambda raw: raw["evidence"][0].__setitem__(0, 10**29), "numbers too large"),
        (lambda raw: raw["totals"][0][0].update(of=["stock", "nowhere"]), "no region of the job"),
        (lambda raw: raw["totals"][0][0].update(of=["part", raw["parts"][0]]), "no region of the job"),
        (lambda raw: raw["totals"][0][0].update(into=[]), "no maximal pattern"),
        (lambda raw: raw["drops"].append(len(raw["evidence"]) - 1), "evidence with totals"),
        (lambda raw: raw["evidence"][-1].__setitem__(2, [1, 5, 0, 5]), "that are not in order"),
        (lambda raw: raw.update(cost=0), "cost: 0; wanted a whole number"),
        (lambda raw: raw.update(tree=[1.5]), "whole numbers"),
        (lambda raw: raw.pop("drops"), "drops: nothing"),
        (lambda raw: raw.update(format="woodshop-proof/9"), "format"),
    ],
)
def test_each_fault_has_its_own_verdict(change: Any, said: str) -> None:
    raw = json.loads(tree_of("C4020"))
    change(raw)
    bound, why = tree_bound(hobby("C4020"), json.dumps(raw))
    assert bound is None
    assert said in why


def test_hostile_files_are_refused_in_bounded_time() -> None:
    bomb = gzip.compress(b" " * (MOST_BYTES + 10), 9)
    for data in (b"", b"{}", gzip.compress(b"\xff"), bomb, packed("{}")[:-4], packed("{}") + b"x"):
        with pytest.raises(InputError):
            unpacked(data)
    job = hobby("D42")
    for text in ("[", "[]", "{}", "[" * 100_000, '{"format": NaN}', "1" * 5_000):
        assert tree_bound(job, text)[0] is None
    raw = json.loads(tree_of("D42"))
    raw["tree"] = [0, 5] * 200_000
    assert tree_bound(job, json.dumps(raw))[0] is None
    fine = job_to_json(job) | {
        "blanks": [{"id": f"b{n}", "width": 16, "length": 301 + n, "count": 900} for n in range(40)]
    }
    with pytest.raises(NotCoveredError):
        patterns_of(read_job(fine))


def test_a_plan_is_proved_only_with_its_tree() -> None:
    job = hobby("D42")
    made = plan(job, effort="quick")
    assert made.assurance == "solved"
    assert proved_by_tree(made, 0, quiet) is made
    assert proved_by_tree(made, 3, quiet) is made
    proved = proved_by_tree(made, 3_000, quiet)
    assert (proved.assurance, proved.bound_kind, proved.bound) == ("proved", "tree", proved.cost)
    assert prove_plan(proved) == ()
    assert proved.proof is not None
    written = plan_to_json(replace(proved, proof=replace(proved.proof, file="x-proof.json.gz")))
    read = read_plan(json.dumps(written))
    assert [finding.place for finding in prove_plan(read)] == ["proof"]
    spoils = (
        replace(read, proof=None),
        replace(proved, proof=replace(proved.proof, text=proved.proof.text + " ")),
        replace(proved, bound_kind="root"),
        replace(proved, bound=proved.bound + 4),
    )
    for other in spoils:
        assert [finding.code for finding in prove_plan(other)] == ["plan-proof"]
    for file in ("../x", "/x", "a/b/c", "a//b", "", "a\\b"):
        written["proof"]["file"] = file
        with pytest.raises(InputError):
            read_plan(json.dumps(written))


def test_cut_writes_the_proof_and_verify_checks_it(tmp_path: Path) -> None:
    job, out = tmp_path / "job.json", tmp_path / "plan.json"
    value = job_to_json(hobby("D42"))
    job.write_text(json.dumps(value), encoding="utf-8")

    def run(*words: str) -> Any:
        return CliRunner().invoke(main, list(words))

    assert run("cut", str(job), "--prove").exit_code == 2
    assert run("cut", str(job), "--quick", "--prove", "--out", str(out)).exit_code == 0
    proof = tmp_path / "plan-proof.json.gz"
    written = json.loads(out.read_text(encoding="utf-8"))
    assert (written["assurance"], written["proof"]["file"]) == ("proved", proof.name)
    assert run("verify", str(out)).exit_code == 0
    data = proof.read_bytes()
    raw = json.loads(unpacked(data))
    proof.write_bytes(packed(json.dumps(raw)))  # the same values, another text
    told = run("verify", str(out))
    assert told.exit_code == 1
    assert "another sha256" in told.output
    proof.unlink()
    told = run("verify", str(out))
    assert told.exit_code == 3
    assert "no such file" in told.output
    proof.write_bytes(data)
    stock, blank = {"id": "s", "length": 10, "cost": 3}, {"id": "b", "length": 10, "count": 2}
    one = {key: value[key] for key in ("format", "unit", "money", "kerf")} | {"stock": [stock], "blanks": [blank]}
    job.write_text(json.dumps(one), encoding="utf-8")
    assert run("cut", str(job), "--quick", "--out", str(out)).exit_code == 0
    assert not proof.exists()  # prices alone prove this plan
    assert run("verify", str(out)).exit_code == 0
    proof.write_bytes(b"a file of the user")
    assert run("cut", str(job), "--quick", "--out", str(out)).exit_code == 3
    assert proof.read_bytes() == b"a file of the user"
