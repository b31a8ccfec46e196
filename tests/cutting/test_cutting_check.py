"""The check against a judge written apart from it: single cuts, tried one after the other."""

import random
from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from woodshop.cutting.check import check_plan
from woodshop.cutting.job import Job, job_digest, read_job
from woodshop.cutting.plan import Layout, Piece, Plan
from woodshop.cutting.planner import plan
from woodshop.errors import NothingToCutError

HOBBY = Path(__file__).resolve().parents[2] / ".." / "shared" / "bench" / "hobby"

Region = tuple[int, int, int, int]


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


# -- the judge ------------------------------------------------------------------------------------------------


def judge(made: Plan) -> bool:
    """Whether a plan is sound, by counting and by trying every order of single cuts."""
    job = made.job
    wanted, spare, used = Counter(), Counter(), Counter()
    cost = 0
    stocks = {stock.id: stock for stock in job.stock}
    for layout in made.layouts:
        if layout.stock not in stocks or layout.times < 1 or not layout.pieces:
            return False
        used[layout.stock] += layout.times
        cost += layout.times * stocks[layout.stock].cost
        for piece in layout.pieces:
            (spare if piece.spare else wanted)[piece.id] += layout.times
        if not sawable(job, layout):
            return False
    if wanted != Counter({blank.id: blank.count for blank in job.blanks}) or set(spare) - set(wanted):
        return False
    if job.rules.surplus == "drop" and spare:
        return False
    if any(stock.count is not None and used[stock.id] > stock.count for stock in job.stock):
        return False
    return (
        made.cost == cost
        and made.bound <= cost
        and made.gap == cost - made.bound
        and made.job_digest == job_digest(job)
        and (made.assurance in ("proved", "closed")) <= (made.gap == 0)
    )


def sawable(job: Job, layout: Layout) -> bool:
    stock = next(stock for stock in job.stock if stock.id == layout.stock)
    blanks = {blank.id: blank for blank in job.blanks}
    wide = stock.width or 1
    whole = (stock.end_trim, stock.length - stock.end_trim, stock.edge_trim, wide - stock.edge_trim)
    boxes = []
    for piece in layout.pieces:
        blank = blanks.get(piece.id)
        if blank is None or (piece.rotated and not blank.rotate):
            return False
        size = (blank.width, blank.length) if piece.rotated else (blank.length, blank.width)
        if (piece.length, piece.width) != size:
            return False
        y = piece.y or 0
        boxes.append((piece.x, piece.x + piece.length, y, y + (piece.width or 1)))
    for box in boxes:
        if not (whole[0] <= box[0] and box[1] <= whole[1] and whole[2] <= box[2] and box[3] <= whole[3]):
            return False
        if any(x in range(*span) for span in stock.unusable for x in range(box[0], box[1])):
            return False
    for n, a in enumerate(boxes):
        if any(a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3] for b in boxes[n + 1 :]):
            return False
    kerfs = {"x": job.kerf.crosscut, "y": job.kerf.rip}
    trim = job.cutting.final_trim

    @cache
    def cut(region: Region, inside: frozenset[Region], axes: str, last: str) -> bool:
        if not inside:
            return True
        if not axes:
            (box,) = inside if len(inside) == 1 else (None,)
            if box is None:
                return False
            for axis, (low, high) in (("x", (0, 1)), ("y", (2, 3))):
                same = box[low] == region[low] and box[high] == region[high]
                if not same and (axis == last or not trim):
                    return False
            return True
        axis, low, high = axes[0], *((0, 1) if axes[0] == "x" else (2, 3))
        if cut(region, inside, axes[1:], axis):
            return True
        # Take waste off the near side, so that the region starts with a piece.
        first = min(box[low] for box in inside)
        if first > region[low]:
            nearer = list(region)
            nearer[low] = first
            if cut(tuple(nearer), inside, axes, last):
                return True
        for edge in sorted({box[high] for box in inside}):
            near = frozenset(box for box in inside if box[high] <= edge)
            far = inside - near
            if any(box[low] < edge + kerfs[axis] for box in far) or edge == region[high]:
                continue
            here, there = list(region), list(region)
            here[high], there[low] = edge, edge + kerfs[axis]
            if cut(tuple(here), near, axes[1:], axis) and cut(tuple(there), far, axes, last):
                return True
        return False

    orders = {(2, "along"): ["yx"], (2, "across"): ["xy"], (2, "either"): ["yx", "xy"]}
    orders |= {(3, "along"): ["yxy", "yx"], (3, "across"): ["xyx", "xy"], (3, "either"): ["yxy", "xyx", "xy", "yx"]}
    ways = orders[job.cutting.stages, job.cutting.first] if job.is_flat else ["yx"]
    if layout.first is not None:
        ways = [way for way in ways if way[0] == ("y" if layout.first == "along" else "x")]
    return len(boxes) == len(set(boxes)) and any(cut(whole, frozenset(boxes), way, "") for way in ways)


# -- spoiling plans -------------------------------------------------------------------------------------------


def spoil(made: Plan, rng: random.Random) -> Plan:
    """The plan with one thing changed, often for the worse."""
    layouts = list(made.layouts)
    n = rng.randrange(len(layouts))
    layout = layouts[n]
    pieces = list(layout.pieces)
    m = rng.randrange(len(pieces))
    piece = pieces[m]
    kind = rng.randrange(14)
    if kind == 0:
        pieces[m] = replace(piece, x=max(0, piece.x + rng.choice((-2, -1, 1, 2, 5))))
    elif kind == 1 and piece.y is not None:
        pieces[m] = replace(piece, y=max(0, piece.y + rng.choice((-2, -1, 1, 2))))
    elif kind == 2:
        pieces[m] = replace(piece, length=piece.length + rng.choice((1, 2)))
    elif kind == 3:
        del pieces[m]
    elif kind == 4:
        pieces.append(replace(piece, x=piece.x + piece.length + made.job.kerf.crosscut))
    elif kind == 5:
        pieces[m] = replace(piece, id=rng.choice([blank.id for blank in made.job.blanks]))
    elif kind == 6:
        layouts[n] = replace(layout, times=layout.times + rng.choice((-1, 1)))
        return replace(made, layouts=tuple(layouts))
    elif kind == 7:
        other = rng.randrange(len(pieces))
        a, b = pieces[m], pieces[other]
        pieces[m], pieces[other] = replace(a, x=b.x, y=b.y), replace(b, x=a.x, y=a.y)
    elif kind == 8:
        layouts[n] = replace(layout, stock=rng.choice([stock.id for stock in made.job.stock]))
        return replace(made, layouts=tuple(layouts))
    elif kind == 9:
        return replace(made, cost=made.cost + rng.choice((-1, 1)))
    elif kind == 10:
        return replace(made, bound=made.cost + 1, gap=-1)
    elif kind == 11:
        pieces[m] = replace(piece, spare=not piece.spare)
    elif kind == 12 and piece.width is not None:
        blank = next(blank for blank in made.job.blanks if blank.id == piece.id)
        turned = not piece.rotated
        length, width = (blank.width, blank.length) if turned else (blank.length, blank.width)
        pieces[m] = replace(piece, rotated=turned, length=length, width=width)
    else:
        layouts[n] = replace(layout, first={"along": "across", "across": "along", None: None}[layout.first])
        return replace(made, layouts=tuple(layouts))
    layouts[n] = replace(layout, pieces=tuple(pieces))
    return replace(made, layouts=tuple(layouts))


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
