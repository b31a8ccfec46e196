"""The check against a judge written apart from it: single cuts, tried one after the other."""

import random
from dataclasses import replace
from pathlib import Path

import pytest

from tests.cutting.judge import judge, spoil
from woodshop.cutting.check import check_plan
from woodshop.cutting.job import Job, job_digest, read_job
from woodshop.cutting.plan import Layout, Piece, Plan
from woodshop.cutting.planner import plan
from woodshop.errors import NothingToCutError

HOBBY = Path(__file__).resolve().parents[2] / ".." / "shared" / "bench" / "hobby"


def random_job(seed: int, *, flat: bool = True) -> Job:
    """A small job: a few sizes, one to three kinds of stock, any kind of cutting."""
    rng = random.Random(seed)
    stock, blanks = [], []
    for n in range(rng.randint(1, 3)):
        row = {"id": f"s{n}", "length": rng.randint(14, 30), "cost": rng.randint(3, 12)}
        if flat:
            row["width"] = rng.randint(8, 16)
        if rng.random() < 0.3:
            row["end_trim"] = rng.randint(1, 2)
        if flat and rng.random() < 0.3:
            row["edge_trim"] = 1
        if rng.random() < 0.3:
            start = rng.randint(3, 9)
            row["unusable"] = [[start, start + rng.randint(1, 4)]]
        stock.append(row)
    for n in range(rng.randint(1, 3)):
        row = {"id": f"b{n}", "length": rng.randint(2, 7), "count": rng.randint(1, 4)}
        if flat:
            row |= {"width": rng.randint(2, 6), "rotate": rng.random() < 0.4}
        blanks.append(row)
    kerf = {"rip": rng.randint(0, 2), "crosscut": rng.randint(0, 2)}
    cutting = {
        "stages": rng.choice((2, 3)),
        "first": rng.choice(("along", "across", "either")),
        "final_trim": rng.random() < 0.5,
    }
    job = {"format": "woodshop-job/1", "unit": "1", "money": "c", "kerf": kerf, "stock": stock, "blanks": blanks}
    if flat:
        job["cutting"] = cutting
    if rng.random() < 0.3:
        job["rules"] = {"surplus": rng.choice(("spare", "drop"))}
    return read_job(job)


def planned(seed: int, *, flat: bool = True) -> Plan | None:
    try:
        return plan(random_job(seed, flat=flat), effort="quick")
    except NothingToCutError:
        return None


@pytest.mark.invariant
@pytest.mark.parametrize("flat", [True, False])
def test_check_and_judge_agree_on_sound_and_spoilt_plans_of_small_jobs(flat: bool) -> None:
    rng = random.Random(7)
    sound = spoilt = 0
    for seed in range(60):
        made = planned(seed, flat=flat)
        if made is None:
            continue
        assert judge(made), seed
        assert check_plan(made, made.job) == (), seed
        for _ in range(8):
            bad = spoil(made, rng)
            if bad == made:
                continue
            assert (check_plan(bad) == ()) == judge(bad), (seed, bad)
            sound += judge(bad)
            spoilt += not judge(bad)
    assert spoilt > 200
    assert sound > 5


@pytest.mark.invariant
@pytest.mark.parametrize("name", ["D42", "F6"])
def test_spoilt_plans_of_a_hobby_job_are_rejected(name: str) -> None:
    made = plan(read_job((HOBBY / f"{name}.json").read_text()))
    assert judge(made)
    rng = random.Random(name)
    for _ in range(100):
        bad = spoil(made, rng)
        if bad != made:
            assert (check_plan(bad) == ()) == judge(bad)


@pytest.mark.invariant
def test_every_wrong_digest_is_found() -> None:
    rng = random.Random(3)
    for seed in range(30):
        made = planned(seed)
        if made is None:
            continue
        place = rng.randrange(64)
        other = rng.choice([c for c in "0123456789abcdef" if c != made.job_digest[place]])
        bad = replace(made, job_digest=made.job_digest[:place] + other + made.job_digest[place + 1 :])
        assert [finding.code for finding in check_plan(bad)] == ["plan-digest"]
        elsewhere = replace(made.job, unit="other")
        assert [finding.code for finding in check_plan(made, elsewhere)] == ["plan-digest"]


# -- rules ----------------------------------------------------------------------------------------------------


def ruled(
    pieces: list[tuple[int, int, int, int]], *, length: int = 100, first: str = "along", **rules: int
) -> list[str]:
    """The codes found in a plan of one board 100 x 40 with these pieces (x, y, length, width), kerf 2."""
    blanks = [{"id": f"b{n}", "length": piece[2], "width": piece[3], "count": 1} for n, piece in enumerate(pieces)]
    job = read_job(
        {
            "format": "woodshop-job/1",
            "unit": "1",
            "money": "c",
            "kerf": {"rip": 2, "crosscut": 2},
            "cutting": {"stages": 2, "first": first},
            "rules": rules,
            "stock": [{"id": "s", "length": length, "width": 40, "cost": 5}],
            "blanks": blanks,
        }
    )
    laid = tuple(Piece(f"b{n}", p[0], p[2], p[1], p[3]) for n, p in enumerate(pieces))
    made = Plan(job, job_digest(job), 5, 5, "root", "proved", 0, (Layout("s", 1, laid),))
    return [finding.code for finding in check_plan(made)]


def test_narrow_strips_must_leave_parent_wood() -> None:
    two = [(0, 0, 90, 4), (0, 6, 90, 4)]
    assert ruled(two, narrow_below=5, parent_wood=28) == []
    assert ruled(two, narrow_below=5, parent_wood=29) == ["plan-rule"]
    assert ruled(two, narrow_below=4, parent_wood=29) == []


def test_strips_and_what_is_ripped_must_be_large_enough() -> None:
    assert ruled([(0, 0, 90, 4)], least_strip=4) == []
    assert ruled([(0, 0, 90, 4)], least_strip=5) == ["plan-rule"]
    assert ruled([(0, 0, 90, 4)], shortest_rip=100) == []
    assert ruled([(0, 0, 90, 4)], shortest_rip=101) == ["plan-rule"]


def test_a_board_as_wide_as_the_strip_needs_no_rip() -> None:
    assert ruled([(0, 0, 50, 40)], shortest_rip=500, least_strip=41, longest_rip=600) == []


def test_a_board_too_long_to_rip_is_first_crosscut_to_sections() -> None:
    whole = [(0, 0, 60, 4), (0, 6, 60, 4), (62, 0, 30, 20)]
    assert ruled(whole, longest_rip=100) == ["plan-kerf"], "two stages are enough for a board that can be ripped"
    assert ruled(whole, longest_rip=99) == []
    assert ruled(whole, longest_rip=59) == ["plan-rule"]
    assert ruled([(0, 0, 60, 18), (55, 20, 44, 20)], longest_rip=99) == []
    assert ruled([(0, 0, 60, 18), (55, 20, 45, 20)], longest_rip=99) == ["plan-rule"]


def test_sections_may_be_longer_than_their_pieces_where_there_is_room() -> None:
    apart = [(0, 0, 30, 10), (70, 0, 30, 20)]
    assert ruled(apart, longest_rip=50, shortest_rip=48) == []
    assert ruled(apart, longest_rip=50, shortest_rip=50) == ["plan-rule"]


def test_without_final_trim_a_piece_is_as_wide_as_its_strip() -> None:
    assert ruled([(0, 0, 30, 10), (32, 0, 30, 9)]) == ["plan-kerf"]


def test_kerf_is_paid_between_neighbours_and_not_at_the_edge() -> None:
    assert ruled([(0, 0, 49, 40), (51, 0, 49, 40)]) == []
    assert ruled([(0, 0, 49, 40), (50, 0, 49, 40)]) == ["plan-kerf"]
    assert ruled([(0, 0, 49, 40), (48, 0, 49, 40)]) == ["plan-overlap"]
