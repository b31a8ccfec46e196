"""The saw's list of cuts, replayed on a board, yields exactly the pieces of the layout."""

from collections import Counter
from pathlib import Path

import pytest

from tests.cutting.middling_jobs import planned_sheets
from tests.nightly import IS_NIGHT, spread
from woodshop.cutting.model.job import Job, read_job
from woodshop.cutting.model.plan import Layout, Piece
from woodshop.cutting.order.sequence import Leftover, SawCut, leftovers, saw_cuts
from woodshop.cutting.planner.plan_job import plan

HOBBY = Path(__file__).resolve().parents[1] / "data" / "cutting" / "hobby"


def replay(job: Job, layout: Layout, cuts: tuple[SawCut, ...]) -> Counter:
    """Cut a board by the list; what is left of each named part at the end, with its size."""
    stock = next(stock for stock in job.stock if stock.id == layout.stock)
    names = {blank.id for blank in job.blanks}
    parts: dict[str, list[tuple[int, int]]] = {"board": [(stock.length, stock.width or 1)]}
    done: Counter = Counter()

    def put(label: str, size: tuple[int, int]) -> None:
        parts.setdefault(label, []).append(size)

    for cut in cuts:
        length, width = parts[cut.of].pop()
        kerf = job.kerf.rip if cut.along else job.kerf.crosscut
        extent = width if cut.along else length
        assert extent > 0
        yields = list(cut.yields)
        for n in range(cut.count):
            if cut.kind == "trim":
                extent -= cut.setting
                assert extent > 0
                continue
            if cut.is_narrow:
                off = extent - cut.setting - kerf
                extent = cut.setting
            else:
                off = cut.setting
                extent -= off + kerf
                assert extent > -kerf or (n == len(yields) - 1 and extent >= -kerf)
            assert off > 0
            put(yields[n], (length, off) if cut.along else (off, width))
        if cut.kind != "trim" and cut.count < len(yields):
            assert cut.count == len(yields) - 1
            assert extent == cut.setting, "what remains is the last of the equal parts"
            put(yields[-1], (length, extent) if cut.along else (extent, width))
            continue
        if extent > 0:
            rest = (length, extent) if cut.along else (extent, width)
            put(cut.of, rest)
    for name in names:
        for size in parts.get(name, []):
            done[(name, *size)] += 1
    return done


def wanted(layout: Layout) -> Counter:
    return Counter((piece.id, piece.length, piece.width or 1) for piece in layout.pieces)


@pytest.mark.slow("plans many random jobs")
@pytest.mark.invariant
def test_replaying_the_cuts_of_random_jobs_yields_the_pieces() -> None:
    replayed = 0
    for seed in spread(range(64), 24):
        made = planned_sheets(seed)
        if made is None:
            continue
        job = made.job
        for layout in made.layouts:
            assert replay(job, layout, saw_cuts(job, layout)) == wanted(layout), (seed, layout)
            replayed += 1
    assert replayed > (100 if IS_NIGHT else 30)


@pytest.mark.invariant
def test_replaying_the_cuts_of_a_hobby_job_yields_the_pieces() -> None:
    made = plan(read_job((HOBBY / "D42.json").read_text(encoding="utf-8")))
    for layout in made.layouts:
        assert replay(made.job, layout, saw_cuts(made.job, layout)) == wanted(layout)


def board(first: str = "along", **rules: int) -> Job:
    return read_job(
        {
            "format": "woodshop-job/1",
            "unit": "1/64 in",
            "money": "cent",
            "kerf": {"rip": 8, "crosscut": 8},
            "cutting": {"stages": 2, "first": first},
            "rules": rules,
            "stock": [{"id": "s", "length": 3000, "width": 464, "cost": 900, "unusable": [[2500, 2600]]}],
            "blanks": [
                {"id": "side", "length": 1272, "width": 160, "count": 2},
                {"id": "strip", "length": 900, "width": 24, "count": 2},
            ],
        }
    )


LAYOUT = Layout(
    "s",
    1,
    (
        Piece("side", 0, 1272, y=0, width=160),
        Piece("side", 0, 1272, y=168, width=160),
        Piece("strip", 0, 900, y=336, width=24),
        Piece("strip", 0, 900, y=368, width=24),
    ),
    "along",
)


def test_narrow_strips_fall_away_from_the_fence_and_leave_parent_wood() -> None:
    """464 less 24 + 8 leaves 432 between fence and blade, then 400; the wide strips follow at their own width."""
    rips = [cut for cut in saw_cuts(board(narrow_below=48, parent_wood=96), LAYOUT) if cut.kind == "rip"]
    assert [(cut.setting, cut.count, cut.is_narrow) for cut in rips] == [
        (432, 1, True),
        (400, 1, True),
        (160, 2, False),
    ]


def test_without_a_narrow_rule_the_widest_strips_come_first() -> None:
    rips = [cut for cut in saw_cuts(board(), LAYOUT) if cut.kind == "rip"]
    assert [(cut.setting, cut.count, cut.is_narrow) for cut in rips] == [(160, 2, False), (24, 2, False)]


def test_crosscuts_come_longest_first() -> None:
    settings = [cut.setting for cut in saw_cuts(board(), LAYOUT) if cut.kind == "crosscut"]
    assert settings == [1272, 1272, 900, 900]


def test_leftovers_are_clean_rectangles_large_enough_to_keep() -> None:
    """Beyond the knot at 2500..2600 nothing is one piece with what lies before it."""
    found = leftovers(board(), LAYOUT, 1000, 100)
    assert found == (Leftover(1280, 0, 1220, 160), Leftover(1280, 168, 1220, 160))
    assert Leftover(2600, 0, 400, 160) in leftovers(board(), LAYOUT, 400, 100)
    assert Leftover(0, 400, 2500, 64) in leftovers(board(), LAYOUT, 400, 60)


@pytest.mark.invariant
def test_leftovers_and_pieces_never_share_wood() -> None:
    for seed in range(40):
        made = planned_sheets(seed)
        if made is None:
            continue
        job = made.job
        for layout in made.layouts:
            stock = next(stock for stock in job.stock if stock.id == layout.stock)
            boxes = [(p.x, p.x + p.length, p.y or 0, (p.y or 0) + (p.width or 1)) for p in layout.pieces]
            boxes += [(r.x, r.x + r.length, r.y, r.y + r.width) for r in leftovers(job, layout, 1)]
            for n, a in enumerate(boxes):
                assert stock.end_trim <= a[0] < a[1] <= stock.length - stock.end_trim
                assert not any(a[0] < u1 and u0 < a[1] for u0, u1 in stock.unusable)
                assert not any(a[0] < b[1] and b[0] < a[1] and a[2] < b[3] and b[2] < a[3] for b in boxes[n + 1 :])


def test_a_layout_that_cannot_be_sawn_is_refused() -> None:
    bad = Layout("s", 1, (Piece("side", 0, 1272, y=0, width=160), Piece("side", 100, 1272, y=165, width=160)))
    with pytest.raises(ValueError, match="cannot be sawn"):
        saw_cuts(board(), bad)
