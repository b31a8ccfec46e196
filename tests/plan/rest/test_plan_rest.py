"""The rest of a plan: nothing lost between what was bought, cut, spoiled, used, left over and bought again."""

import json
import random
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from tests.nightly import IS_NIGHT
from tests.plan.rest.small_run import SmallRun
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.documents.packet.what_changed import what_changed_section
from woodshop.drawing.pens.text import section_text
from woodshop.errors import InputError, NothingToCutError
from woodshop.plan.parts_needed import parts_needed
from woodshop.plan.plan_batch import plan_one
from woodshop.plan.rest import least_change
from woodshop.plan.rest.earlier_plan import read_earlier
from woodshop.plan.rest.material import SHARE, MaterialRest
from woodshop.plan.rest.plan_rest import PlanOfRest, rest_to_json
from woodshop.plan.rest.progress import (
    BoardFault,
    BoughtCount,
    LayoutCut,
    OffcutOnHand,
    PieceCount,
    Progress,
)
from woodshop.plan.rest.reading import with_counts
from woodshop.plan.values import MaterialJob
from woodshop.plan.verify import verify_file
from woodshop.units.lengths import inch

COUNTS = ({}, {"tens": 5}, {"tens": 12}, {"eights": 0}, {"tens": 0, "eights": 9}, {"tens": 1, "eights": 1})
EVERY = [(counts, part, bool(part)) for part in (0, 1) for counts in COUNTS]
SOME = EVERY if IS_NIGHT else [each for n, each in enumerate(EVERY) if n in (0, 2, 9, 11)]
"""At a landing four of them: as planned and more with nothing cut, none of a group and few with a half cut."""


@pytest.fixture(scope="module", autouse=True)
def _fewer_tries() -> Iterator[None]:
    """By day the quick effort tries 8 sets of released boards, a third of what users have."""
    with pytest.MonkeyPatch.context() as patch:
        if not IS_NIGHT:
            patch.setitem(least_change.TRIES, "quick", 8)
        yield


def sizes(plan: Any, layouts: Callable[[int], int]) -> Counter[tuple[int, int]]:
    """Pieces of a plan by the sides they were cut to, by how many boards have each layout; from the layouts alone."""
    found: Counter[tuple[int, int]] = Counter()
    for n, layout in enumerate(plan.layouts):
        for piece in layout.pieces:
            if not piece.spare:
                found[max(piece.length, piece.width), min(piece.length, piece.width)] += layouts(n)
    return found


def wrong(run: SmallRun, found: PlanOfRest, earlier_text: str = "") -> list[Any]:
    """What the independent check finds in the written rest, counted against the earlier plan."""
    verdicts = verify_file(json.dumps(rest_to_json(found)), None, earlier_text or run.text)
    assert any(each["name"] == "rest of a plan" for each in verdicts)
    return [finding for each in verdicts for finding in each["findings"]]


def test_nothing_changed_and_nothing_bought_is_the_earlier_plan(small_run: SmallRun) -> None:
    found = small_run.rest(Progress(bought=()))
    assert found.lines == ()
    assert found.rest.total == found.was
    assert all(row.planned == row.used + row.buy for row in found.stock)
    assert "no change." in section_text(what_changed_section(found, "in"))
    assert wrong(small_run, found) == []


def test_nothing_done_and_all_bought_buys_and_changes_nothing(small_run: SmallRun) -> None:
    found = small_run.rest(Progress())
    assert found.rest.total.minor == 0
    assert {row.fate for row in found.layouts} == {"stays"}
    assert [row.number for row in found.layouts] == sorted(small_run.earlier.layouts)
    assert all(each.kept == each.boards and each.could_save.minor == 0 for each in found.changes)
    assert all(row.planned == row.used + row.left for row in found.stock)
    assert wrong(small_run, found) == []


def test_all_cut_leaves_nothing_to_cut(small_run: SmallRun) -> None:
    found = small_run.rest(Progress(cut=small_run.cut(1, 1)))
    assert found.rest.plans == ()
    assert all(row.to_cut == 0 == row.over for row in found.pieces)
    assert found.rest.total.minor == 0
    assert wrong(small_run, found) == []


@pytest.mark.slow("plans a run and its rest")
@pytest.mark.invariant
@pytest.mark.parametrize(("counts", "part", "offcuts"), SOME, ids=str)
def test_every_piece_wanted_was_cut_or_will_be_and_every_board_is_somewhere(
    small_run: SmallRun, counts: dict[str, int], part: int, offcuts: bool
) -> None:
    """Counted anew from the earlier layouts, the new layouts and the parts of the new batch."""
    progress = Progress(cut=small_run.cut(part, 2), counts=counts, keeps_offcuts=offcuts)
    found = small_run.rest(progress)
    done = {small_run.earlier.layouts[row.layout]: row.times for row in progress.cut}
    rest = {each.job.material: each for each in found.rest.plans}
    for job in parts_needed(found.rest.batch, found.rest.units):
        material = job.material
        wanted: Counter[tuple[int, int]] = Counter()
        for blank in job.job.blanks:
            wanted[max(blank.length, blank.width or 0), min(blank.length, blank.width or 0)] += blank.count
        old = small_run.earlier.plans.get(material)
        cut = Counter() if old is None else sizes(old, lambda n, m=material: done.get((m, n), 0))
        still = (
            Counter()
            if material not in rest
            else sizes(rest[material].plan, lambda n, m=material: rest[m].plan.layouts[n].times)
        )
        for size in wanted:
            assert still[size] == max(0, wanted[size] - cut[size])
        assert set(still) <= set(wanted)
    for each in rest.values():
        assert check_plan(each.plan) == ()
        assert prove_plan(each.plan) == ()
    for row in found.stock:
        assert row.planned == row.cut + row.bad + row.used + row.left
        assert min(row.planned, row.cut, row.used, row.left, row.buy) >= 0
    assert found.rest.total.minor == sum(p.total.minor for p in found.rest.purchases)
    assert wrong(small_run, found) == []


def happened(run: SmallRun, seed: int) -> Progress:
    """Some of everything that can happen."""
    draw = random.Random(seed)
    cut, pieces, boards = [], [], []
    made: Counter[str] = Counter()
    left: Counter[tuple[Any, str]] = Counter()
    for number, (material, n) in run.earlier.layouts.items():
        layout = run.earlier.plans[material].layouts[n]
        times = draw.choice((0, 0, layout.times, draw.randint(0, layout.times)))
        cut.append(LayoutCut(number, times))
        left[material, layout.stock] += layout.times - times
        for piece in layout.pieces:
            made[piece.id] += times
    for part, count in made.items():
        if count and draw.random() < 0.3:
            pieces.append(PieceCount(part, draw.choice(("spoiled", "lost")), draw.randint(1, count), "knot"))
        if draw.random() < 0.2:
            pieces.append(PieceCount(part, draw.choice(("found", "made extra")), draw.randint(1, 2)))
    for (material, stock), count in left.items():
        if count and draw.random() < 0.4:
            long = run.earlier.grids[material] * next(
                row.length for row in run.earlier.plans[material].job.stock if row.id == stock
            )
            fault = draw.choice(
                (
                    BoardFault(stock=stock),
                    BoardFault(stock=stock, length=long - long / draw.randint(2, 9)),
                    BoardFault(stock=stock, bad=((long / 3, long / 3 + inch(2)),)),
                )
            )
            boards.append(fault)
    offcuts = (OffcutOnHand(material="board 3/4 in", length=inch(30), width=inch("5 1/2"), label="A"),)
    return Progress(
        cut=tuple(cut),
        pieces=tuple(pieces),
        boards=tuple(boards),
        offcuts=offcuts if draw.random() < 0.5 else (),
        keeps_offcuts=draw.random() < 0.5,
        counts=draw.choice(({}, {}, {"tens": 6}, {"eights": 8})),
    )


@pytest.mark.slow("plans a rest, and its materials once more from nothing")
@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(40 if IS_NIGHT else 3))
def test_whatever_happened_all_is_there_and_no_plan_from_nothing_is_cheaper(small_run: SmallRun, seed: int) -> None:
    progress = happened(small_run, seed)
    found = small_run.rest(progress)
    assert wrong(small_run, found) == []
    for row in found.stock:
        assert row.planned == row.cut + row.bad + row.used + row.left
    jobs = {each.job.material: each.job for each in found.rest.plans}
    for change in found.changes:
        job: MaterialJob = jobs[change.material]
        there = {offer.id for offer in job.offers if offer.label}
        costs = {stock.id: stock.cost for stock in job.job.stock if stock.id not in there}
        own = next(each.plan for each in found.rest.plans if each.job.material == change.material)
        pays = sum(costs.get(layout.stock, 0) * layout.times for layout in own.layouts)
        try:
            free = plan_one(job, None, "quick").plan
        except NothingToCutError:
            continue
        assert pays <= sum(costs.get(layout.stock, 0) * layout.times for layout in free.layouts)


@pytest.mark.slow("plans two rests")
def test_the_rest_of_a_rest_counts_on_what_was_cut_before(small_run: SmallRun) -> None:
    """All cut but one layout, then a part of another material is lost: only that is cut again."""
    first = small_run.rest(Progress(cut=small_run.cut(1, 2)))
    text = json.dumps(rest_to_json(first))
    earlier = read_earlier(text, "plan.json")
    assert set(earlier.layouts) <= set(small_run.earlier.layouts)
    again = small_run.rest(Progress(), earlier)
    assert again.rest.total.minor == 0
    assert {row.fate for row in again.layouts} <= {"stays"}
    assert wrong(small_run, again, text) == []
    material = first.kept[0].material
    lost = small_run.rest(Progress(pieces=(PieceCount(first.kept[0].mark, "lost", 1),)), earlier)
    assert sum(row.to_cut for row in lost.pieces) == sum(row.to_cut for row in again.pieces) + 1
    assert next(each.kept == each.boards for each in lost.changes if each.material == material)
    assert wrong(small_run, lost, text) == []


def test_one_unusable_board_changes_one_board_at_most(small_run: SmallRun) -> None:
    number, (material, _) = next(iter(small_run.earlier.layouts.items()))
    found = small_run.rest(Progress(boards=(BoardFault(layout=number, reason="twisted"),)))
    change = next(each for each in found.changes if each.material == material)
    assert change.boards - change.kept <= 1
    assert found.rest.total.minor > 0
    assert "twisted" in change.why[0]
    others = [each for each in found.changes if each.material != material]
    assert all(each.kept == each.boards for each in others)
    assert wrong(small_run, found) == []


def test_a_bad_stretch_in_the_waste_changes_nothing(small_run: SmallRun) -> None:
    """A board is cut as planned if the stretch that is bad was waste anyway."""
    for number, (material, n) in small_run.earlier.layouts.items():
        plan = small_run.earlier.plans[material]
        layout = plan.layouts[n]
        stock = next(row for row in plan.job.stock if row.id == layout.stock)
        end = max(piece.x + piece.length for piece in layout.pieces)
        if material.is_lumber and stock.length - stock.end_trim - end > 64:
            grid = small_run.earlier.grids[material]
            bad = ((grid * (end + 40), grid * (end + 60)),)
            found = small_run.rest(Progress(boards=(BoardFault(layout=number, bad=bad),)))
            assert found.rest.total.minor == 0
            change = next(each for each in found.changes if each.material == material)
            assert change.kept == change.boards
            return
    pytest.fail("no layout of the small run has waste at its end")


def test_a_kept_piece_that_nobody_needs_is_an_offcut(small_run: SmallRun) -> None:
    """All cut, then fewer hives, then a part is lost that comes out of a piece left over: nothing is bought."""
    found = small_run.rest(Progress(cut=small_run.cut(1, 1), counts={"tens": 5}))
    assert found.rack
    assert sum(row.over for row in found.pieces) == sum(count for _, _, count in found.rack)
    short = next(row for row in found.pieces if row.wanted and not row.over and row.material.is_lumber)
    lost = PieceCount(short.what[0], "lost", 1)
    again = small_run.rest(Progress(cut=small_run.cut(1, 1), counts={"tens": 5}, pieces=(lost,)))
    assert again.rest.total.minor == 0
    stock = next(layout.stock for each in again.rest.plans for layout in each.plan.layouts)
    assert stock.startswith("piece left over")
    assert wrong(small_run, again) == []


def test_boards_not_bought_yet_are_bought_now(small_run: SmallRun) -> None:
    lines = [line for line in small_run.earlier.bought if line.count > 1 and line.stock]
    some = tuple(BoughtCount(line.what, line.count - (line is lines[0])) for line in small_run.earlier.bought)
    found = small_run.rest(Progress(bought=some))
    assert {p.what: p.count for p in found.rest.purchases} == {lines[0].what: 1}
    assert wrong(small_run, found) == []


@pytest.mark.invariant
def test_what_is_there_is_used_before_more_is_bought(small_run: SmallRun) -> None:
    """All bought, some hives fewer wanted: nothing is bought, and the boards left over have their price."""
    found = small_run.rest(Progress(counts={"tens": 4, "eights": 3}))
    assert found.rest.total.minor == 0
    assert sum(row.left for row in found.stock) > 0
    prices = {line.what: line.price for line in small_run.earlier.bought}
    own = [row for row in found.stock if not row.is_offcut]
    by_hand = sum(row.left * prices[row.what] for row in (*own, *found.goods) if row.left)
    assert found.left_over.minor == by_hand
    assert SHARE > 1


def test_goods_are_counted_in_closed_packs(small_run: SmallRun) -> None:
    """14 boards of which 8 tens at 16 lb; with 6 tens fewer 96 lb less. Packs held less those opened stay closed."""
    found = small_run.rest(Progress(counts={"tens": 2, "eights": 1}))
    pounds = {"white sugar, 25 lb bag": 25, "white sugar, 4 lb bag": 4}
    rows = {row.what: row for row in found.goods if row.goods == "sugar"}
    held = sum(row.planned * pounds[what] for what, row in rows.items())
    closed = sum(row.left * pounds[what] for what, row in rows.items())
    wanted = sum(hives.sugar.pounds * hives.count for hives in found.rest.batch.hives)
    assert held - closed >= wanted
    assert all(row.left == row.planned or held - closed - pounds[what] < wanted for what, row in rows.items())
    assert closed > 0


def test_no_hives_of_a_kind_left_takes_their_lines_and_shed_away(small_run: SmallRun) -> None:
    design = with_counts(small_run.design, {"tens": 0})
    assert [hives.name for hives in design.hives] == ["eights"]
    assert design.shed == ()
    assert {make.item.name for make in design.makes} == {"fondant rim", "wire bottom"}
    one = with_counts(small_run.design, {"tens": 1})
    assert one.shed[0].have == 1
    assert "1 of 2 on hand used" in {default.value for default in one.order_defaults}
    with pytest.raises(InputError, match="no hives to make anything for"):
        with_counts(small_run.design, {"tens": 0, "eights": 0})


def test_a_spoiled_piece_is_cut_again(small_run: SmallRun) -> None:
    material, n = next(iter(small_run.earlier.layouts.values()))
    piece = small_run.earlier.plans[material].layouts[n].pieces[0].id
    found = small_run.rest(Progress(cut=small_run.cut(1, 1), pieces=(PieceCount(piece, "spoiled", 1),)))
    assert sum(row.to_cut for row in found.pieces) == 1
    assert [each.job.material for each in found.rest.plans] == [material]
    assert [row.fate for row in found.layouts] == ["new"]
    assert found.layouts[0].number == max(small_run.earlier.layouts) + 1
    assert wrong(small_run, found) == []


@pytest.mark.slow("plans the rest of a batch")
def test_marks_stay(small_run: SmallRun) -> None:
    found = small_run.rest(Progress(counts={"tens": 0, "eights": 9}))
    known = {address: mark for mark, address in small_run.earlier.marks.items()}
    needs = [need for each in found.rest.plans for need in each.job.needs]
    assert all(need.mark == known[need.address] for need in needs if need.address in known)
    assert all(need.mark not in small_run.earlier.marks for need in needs if need.address not in known)
    assert len({need.mark for need in needs}) == len(needs)


def test_a_material_sold_in_another_way_must_match(small_run: SmallRun) -> None:
    material, plan = next(iter(small_run.earlier.plans.items()))
    job = next(each.job for each in small_run.rest(Progress(bought=())).rest.plans if each.job.material == material)
    other = MaterialJob(job.material, job.grid, job.job, job.needs, job.offers)
    object.__setattr__(other, "job", type(job.job)("1/10 mm", "cent", job.job.kerf, stock=job.job.stock, blanks=()))
    from woodshop.plan.rest.progress import work_of

    with pytest.raises(InputError, match="Use the unit of the design"):
        MaterialRest(material, small_run.earlier, other, work_of(Progress(), small_run.earlier), None)  # type: ignore[arg-type]
    assert plan.job.unit == "1/64 in"
