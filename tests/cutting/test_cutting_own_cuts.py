"""Every last piece cut off: a remainder beside what is ripped, sections longer than their pieces, defects crosscut out
before any rip, stock that is never ripped. Small jobs against brute force and the judge, and cases by hand."""

import random
from dataclasses import replace
from typing import Any

import pytest

from tests.cutting.brute_force import dearest, least_cost
from tests.cutting.judge import judge, spoil
from tests.cutting.small_jobs import OWN_CUTS, TOO_LONG, planned, small_job
from tests.nightly import spread
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.cutting.checkers.replay import check_sequence
from woodshop.cutting.checkers.worth import worth_of_stock
from woodshop.cutting.model.job import job_to_json, read_job
from woodshop.cutting.model.plan import Plan
from woodshop.cutting.order.job_sequence import job_sequence, sequence_to_json
from woodshop.cutting.order.sequence import saw_cuts
from woodshop.cutting.planner.plan_job import plan
from woodshop.errors import InputError, NothingToCutError

SEEDS = spread(range(120), 36)


@pytest.mark.invariant
def test_small_jobs_cost_what_brute_force_says() -> None:
    closed = refused = 0
    for seed in SEEDS:
        value = small_job(OWN_CUTS, seed)
        least, made = least_cost(value), planned(OWN_CUTS, seed)
        assert (made is None) == (least is None), seed
        if made is None:
            refused += 1
            continue
        assert made.cost == made.bound == least, (seed, made.cost, made.bound, least)
        assert judge(made), seed
        assert check_plan(made) == (), seed
        assert prove_plan(made) == (), seed
        closed += 1
    assert closed > len(SEEDS) / 2
    assert refused > 0


@pytest.mark.invariant
def test_boards_that_are_too_long_to_rip_are_crosscut_first() -> None:
    best = solved = 0
    for seed in SEEDS:
        value = small_job(TOO_LONG, seed)
        least, made = least_cost(value), planned(TOO_LONG, seed)
        assert (made is None) == (least is None), seed
        if made is None or least is None:
            continue
        assert judge(made), seed
        assert check_plan(made) == (), seed
        assert prove_plan(made) == (), seed
        assert made.bound <= least <= made.cost, seed
        assert check_sequence(made.job, made, sequence_to_json(job_sequence(made.job, made))) == (), seed
        solved += 1
        best += made.cost == least
    assert solved > len(SEEDS) / 2
    assert best > 0.95 * solved


@pytest.mark.invariant
def test_check_and_judge_agree_on_spoilt_plans() -> None:
    rng = random.Random(OWN_CUTS)
    sound = spoilt = 0
    for seed in SEEDS:
        made = planned(OWN_CUTS, seed)
        for _ in range(8 if made else 0):
            bad = spoil(made, rng)
            assert (check_plan(bad) == ()) == judge(bad), (seed, bad)
            sound += judge(bad)
            spoilt += not judge(bad)
    assert sound > len(SEEDS) / 3
    assert spoilt > 2 * len(SEEDS)


@pytest.mark.invariant
def test_no_layout_is_worth_more_than_the_proof_says() -> None:
    exact = tried = 0
    for seed in spread(range(500, 560), 20):
        value = small_job(OWN_CUTS, seed)
        rng = random.Random(seed)
        prices = {blank["id"]: rng.randint(0, 9) for blank in value["blanks"]}
        said = worth_of_stock(read_job(value), prices)
        true = [dearest(value, row, prices) for row in value["stock"]]
        assert all(a >= b for a, b in zip(said, true, strict=True)), (seed, said, true)
        exact += sum(a == b for a, b in zip(said, true, strict=True))
        tried += len(true)
    assert exact > tried / 2


def job(widths: tuple[int, ...], rules: dict[str, Any], length: int = 300, **stock: Any) -> Plan:
    """One board 88 (5 1/2 in) wide in sixteenths, a kerf of 2, blanks 100 long of the widths given."""
    board = {"id": "1x6", "length": length, "width": 88, "cost": 100, "count": 1, "end_trim": 8, **stock}
    blanks = [{"id": f"w{n}", "length": 100, "width": width, "count": 1} for n, width in enumerate(widths)]
    top = {"format": "woodshop-job/1", "unit": "1/16 in", "money": "cent", "kerf": {"rip": 2, "crosscut": 2}}
    cutting = {"stages": 2, "first": "along"}
    return plan(read_job({**top, "cutting": cutting, "rules": rules, "stock": [board], "blanks": blanks}))


@pytest.mark.invariant
def test_the_last_strip_of_a_board_is_ripped_too() -> None:
    """2 1/2 + 1/8 + 2 1/2 + 1/8 + 1/4 is 5 1/2 in exactly: the last strip would have all errors of the board."""
    assert job((40, 40, 4), {}, 116).cost == 100
    with pytest.raises(NothingToCutError):
        job((40, 40, 4), {"least_remainder": 1}, 116)
    assert job((40, 40), {"least_remainder": 1}, 116).cost == 100
    assert job((41, 42), {"least_remainder": 1}, 116).cost == 100  # 41 + 2 + 42 + 2, and 1 is left
    with pytest.raises(NothingToCutError):
        job((41, 43), {"least_remainder": 1}, 116)
    assert job((88,), {"least_remainder": 1}, 116).cost == 100  # as wide as its board: no rip
    with pytest.raises(NothingToCutError):
        job((39, 39), {"least_remainder": 1}, 116, edge_trim=4)  # both edges are straightened first


@pytest.mark.invariant
def test_defects_are_crosscut_out_before_any_rip() -> None:
    """A stretch with a defect in the middle: ripped in two halves, never along the whole."""
    bad = [[140, 160]]
    whole = job((40, 40, 40, 40), {}, unusable=bad)
    assert check_plan(whole) == ()
    parted = job((40, 40, 40, 40), {"defects": "cut_out"}, unusable=bad)
    assert (judge(parted), check_plan(parted)) == (True, ())
    assert parted.layouts[0].first == "across"
    assert job((88, 88), {"defects": "cut_out"}, unusable=bad).layouts[0].first == "across"  # crosscut alone


@pytest.mark.invariant
def test_stock_that_is_not_ripped_gives_only_pieces_of_its_width() -> None:
    made = job((88, 88), {}, rip=False)
    assert made.cost == 100
    with pytest.raises(NothingToCutError):
        job((88, 40), {}, rip=False)
    assert job_to_json(made.job)["stock"][0]["rip"] is False


def test_a_final_trim_needs_stock_that_may_be_ripped() -> None:
    value = job_to_json(job((88, 88), {}, rip=False).job)
    value["cutting"]["final_trim"] = True
    with pytest.raises(InputError, match=r"stock\[0\].rip"):
        read_job(value)


@pytest.mark.invariant
def test_the_rule_that_broke_is_named_with_its_numbers() -> None:
    """A layout of a job without the rule, judged by a job with it."""
    for rules, words in (
        ({"least_remainder": 1}, ("least_remainder: strips with their kerfs take 90 of 88", "at least 1 left")),
        ({"least_strip": 5}, ("least_strip: a strip 4 wide", "at least 5")),
        ({"longest_rip": 90}, ("longest_rip: a rip 100 long", "at most 90")),
        ({"shortest_rip": 120}, ("shortest_rip: a rip 100 long", "at least 120")),
        (
            {"narrow_below": 8, "parent_wood": 83},
            ("parent_wood: 82 left between blade and fence", "at least 83 left of 88"),
        ),
    ):
        made = job((40, 40, 4), {}, 116)
        value = job_to_json(made.job) | {"rules": rules}
        found = [f for f in check_plan(Plan(**{**vars_of(made), "job": read_job(value)})) if f.code == "plan-rule"]
        assert [found[0].value.startswith(words[0]), words[1] in found[0].limits] == [True, True], found
        assert len(found) == 1


def vars_of(made: Plan) -> dict[str, Any]:
    return {name: getattr(made, name) for name in made.__dataclass_fields__}


@pytest.mark.invariant
def test_one_end_is_squared_and_every_piece_is_cut_off() -> None:
    """Two pieces that fill a board between its trims exactly: the far end falls away from the second."""
    made = job((88, 88), {"least_remainder": 1}, 2 * 100 + 2 + 2 * 8)
    cuts = [(cut.kind, cut.setting, cut.count) for cut in saw_cuts(made.job, made.layouts[0])]
    assert cuts[0] == ("trim", 8, 1)
    assert sum(count for kind, _, count in cuts if kind == "crosscut") == 2
    assert check_sequence(made.job, made, sequence_to_json(job_sequence(made.job, made))) == ()


@pytest.mark.invariant
def test_the_simulated_saw_makes_every_plan_and_leaves_no_piece_as_what_remains() -> None:
    """Of plans under the rule each piece of a ripped part comes off in a pass of its own."""
    sawn = 0
    for seed in SEEDS:
        made = planned(OWN_CUTS, seed)
        if made is None:
            continue
        written = sequence_to_json(job_sequence(made.job, made))
        assert check_sequence(made.job, made, written) == (), seed
        rips = [s for station in written["stations"] if station["phase"] == "rip" for s in station["strokes"]]
        if made.job.rules.least_remainder is not None:
            assert all(stroke["passes"] == len(stroke["yields"]) for stroke in rips), seed
            sawn += bool(rips)
    assert sawn > len(SEEDS) / 5


@pytest.mark.invariant
def test_a_sequence_that_breaks_a_rule_is_refused_by_the_simulated_saw() -> None:
    """The cuts of a plan made without the rule, replayed under it."""
    bad = [[140, 160]]
    for made, rules in (
        (job((40, 40, 4), {}, 116), {"least_remainder": 1}),
        (job((40, 40, 40, 40), {}, unusable=bad), {"defects": "cut_out"}),
    ):
        written = sequence_to_json(job_sequence(made.job, made))
        assert check_sequence(made.job, made, written) == ()
        ruled = read_job(job_to_json(made.job) | {"rules": rules})
        codes = {finding.code for finding in check_sequence(ruled, made, written)}
        assert codes in ({"sequence-rule"}, {"sequence-part"}), "refused at the rip, or at what is no strip then"


@pytest.mark.invariant
def test_pieces_beside_a_stretch_narrower_than_the_kerf_are_named() -> None:
    """Two pieces on both sides of a stretch of 1, where the kerf is 2."""
    made = job((88, 88), {})
    first, second = made.layouts[0].pieces
    moved = replace(made.layouts[0], pieces=(first, replace(second, x=first.x + first.length + 1)))
    value = job_to_json(made.job)
    value["stock"][0]["unusable"] = [[first.x + first.length, first.x + first.length + 1]]
    ruled = read_job(value)
    found = [f for f in check_plan(replace(made, job=ruled, layouts=(moved,))) if f.code == "plan-kerf"]
    assert found[0].value == "pieces 0 and 1 are 1 apart"
    assert "a crosscut kerf of 2 between them; the unusable stretch 108 to 109 is 1 long" in found[0].limits
