"""[worth]: money, work at the saw and offcuts in one sum, read, refused and told."""

import json
from dataclasses import replace
from typing import Any

import pytest

from tests.nightly import IS_NIGHT
from woodshop.checks.check_batch import check_batch
from woodshop.cutting.layouts.boards import settings_of
from woodshop.cutting.layouts.fewer_layouts import EFFORTS
from woodshop.design.batch import Batch
from woodshop.design.make_units import make_units
from woodshop.design.settings.buying import wishes_for
from woodshop.documents.packet.shopping import certainty_text
from woodshop.documents.report.bounds import bound_chapter, certainty_of
from woodshop.drawing.values.model import Block, KeepTogether, Paragraph, Table
from woodshop.errors import InputError
from woodshop.plan.parts_needed import parts_needed
from woodshop.plan.plan_batch import batch_to_json, plan_batch, refuse_worth
from woodshop.plan.values import PlannedBatch
from woodshop.plan.verify import verify_file
from woodshop.reference.materials import read_material
from woodshop.units.lengths import Money, inch


@pytest.fixture(scope="module")
def planned(shop: Any) -> Any:
    """A function from lines of [worth] to six boards planned quickly, by day in a tenth of the steps; once each."""
    known: dict[str, PlannedBatch] = {}

    def plan(lines: str) -> PlannedBatch:
        if lines not in known:
            batch = shop.batch(shop.design_text + (f"[worth]\n{lines}\n" if lines else ""))
            units, report = check_batch(batch)
            with pytest.MonkeyPatch.context() as patch:
                if lines and not IS_NIGHT:
                    patch.setitem(EFFORTS, "quick", EFFORTS["quick"] // 10)
                known[lines] = plan_batch(batch, units, report, effort="quick")
        return known[lines]

    return plan


WORK = 'layout = "5.00"\nsetting = "2.00"'


def flat(blocks: list[Block]) -> list[Block]:
    return [each for block in blocks for each in (block.blocks if isinstance(block, KeepTogether) else (block,))]


@pytest.mark.parametrize(
    ("lines", "where", "given", "wanted"),
    [
        ('layout = "-1"', "worth, layout", "'-1'", "a price"),
        ("layout = true", "worth, layout", "True", "a price"),
        ('setting = "a lot"', "worth, setting", "'a lot'", "a price"),
        ('setting = "1000.01"', "worth, setting", "1,000.01", "at most 1,000.00"),
        ('offcut = "0.1234"', "worth, offcut", "'0.1234'", "a price"),
        ('offcut = "0.10"\nleast_length = "0"', "worth, least_length", "0 in", "more than 0"),
        ('least_width = "3"', "worth", "least_width of an offcut that is worth nothing", "offcut, with a price"),
        ('cut = "1.00"', "worth, cut", "unknown key 'cut'", "a known key"),
    ],
)
def test_a_slip_is_named_with_its_place(shop: Any, lines: str, where: str, given: str, wanted: str) -> None:
    with pytest.raises(InputError) as caught:
        shop.design(shop.design_text + f"[worth]\n{lines}\n")
    (problem,) = caught.value.problems
    assert problem.where == f"design.toml, {where}"
    assert given in problem.given
    assert wanted in problem.wanted


def test_offcuts_dearer_than_their_board_are_refused_with_the_most_that_will_do(planned: Any, shop: Any) -> None:
    """The most named is taken, and a cent more is refused: that is the price of the cheapest board by area."""
    with pytest.raises(InputError) as caught:
        planned('offcut = "5.00"')
    places = {problem.where for problem in caught.value.problems}
    assert places == {"design, worth, offcut"}
    mosts = [int(problem.wanted.split("$")[1].split(";")[0].replace(".", "")) for problem in caught.value.problems]
    most = min(mosts)
    assert most > 0
    with pytest.raises(InputError):
        planned(f'offcut = "{Money(most + 1)}"')
    batch = settled(shop, f'offcut = "{Money(most)}"')
    refuse_worth(parts_needed(batch, make_units(batch)), batch)
    assert not IS_NIGHT or planned(f'offcut = "{Money(most)}"').plans


def test_nothing_worth_anything_is_no_wish(shop: Any) -> None:
    assert settled(shop, 'layout = "0"') == shop.batch()
    assert shop.batch().worth is None


def settled(shop: Any, lines: str) -> Batch:
    batch: Batch = shop.batch(shop.design_text + f"[worth]\n{lines}\n")
    return batch


def test_the_least_offcut_is_the_saws_unless_given(shop: Any) -> None:
    batch = settled(shop, 'offcut = "0.10"')
    assert batch.worth is not None
    assert (batch.worth.least_length, batch.worth.least_width) == (batch.saw.shortest_offcut, inch("1 1/2"))
    listed = {(default.where, default.name) for default in batch.defaults}
    assert {("worth", "least_length"), ("worth", "least_width")} <= listed
    assert not any(default.where == "worth" for default in settled(shop, WORK).defaults)


@pytest.mark.slow("plans the hobby batch twice")
def test_only_what_is_sawn_is_weighed(planned: Any) -> None:
    assert [
        read_material(material).is_sawn for material in ("board 3/4 in", "mesh 1/2 in", "cloth", "plywood 1/4 in")
    ] == [
        True,
        False,
        False,
        True,
    ]
    for each in planned(WORK).plans:
        assert (each.sums is not None) == each.job.material.is_sawn


def test_lengths_of_an_offcut_are_rounded_up_to_the_grid(planned: Any, shop: Any) -> None:
    """A third of an inch on a grid of 1/64 in: 21 1/3 parts, so 22."""
    each = planned("").plans[0]
    worth = replace(settled(shop, 'offcut = "0.10"').worth, least_length=inch("16 1/3"))
    wishes = wishes_for(worth, each.job.material, each.job.grid, each.job.job)
    assert wishes is not None
    assert (wishes.least_length, wishes.least_width) == (16 * 64 + 22, 96)


def test_a_dearer_plan_is_chosen_for_less_work_and_told_so(planned: Any) -> None:
    """Money up, the sum down; no page calls it the cheapest, and the sum by hand is that of the page."""
    cheap, dear = planned("").plans[0], planned(WORK).plans[0]
    assert dear.plan.cost > cheap.plan.cost
    sums = dear.sums.plan
    layouts = dear.plan.layouts
    assert sums.layouts == 500 * len(layouts)
    settings = sum(settings_of(dear.plan.job, layout) for layout in layouts)
    assert sums.total == dear.plan.cost + 500 * len(layouts) + 200 * settings
    assert sums.total < dear.sums.cheapest.total
    assert dear.sums.least <= sums.total
    more = Money(dear.plan.cost - cheap.plan.cost)
    told = certainty_of(dear, "USD")
    assert f"{more} more than the cheapest plan found, by choice" in told
    assert f"it totals {Money(sums.total)}" in told
    assert f"no plan totals less than {Money(dear.sums.least)}" in told
    assert "By choice" in certainty_text(planned(WORK))
    assert "costs less." not in certainty_text(planned(WORK))  # only "costs less than" a bound
    assert "By choice" not in certainty_text(planned(""))


def test_the_last_pages_show_the_parts_of_the_sum(planned: Any) -> None:
    blocks = flat(bound_chapter(planned(WORK)).blocks)
    (words,) = [b for b in blocks if isinstance(b, Paragraph) and b.lead.startswith("Money, work")]
    assert "$5.00 for each layout, $2.00 for each fence or stop setting" in words.text
    assert "for an offcut" not in words.text
    table = next(b for b in blocks if isinstance(b, Table) and b.columns[-1].heading == "lower bound")
    for row in table.rows:
        parts = [round(float(cell.replace("$", "")) * 100) for cell in row[1:6]]
        assert sum(parts[:4]) == parts[4]
    assert not any(
        isinstance(b, Paragraph) and b.lead.startswith("Money, work") for b in bound_chapter(planned("")).blocks
    )


def test_the_plan_file_holds_the_sums_as_the_planners_word(planned: Any) -> None:
    told = batch_to_json(planned(WORK))
    each = planned(WORK).plans[0]
    sums = told["sums"][each.job.material.name]
    assert sums["money"] + sums["layouts"] + sums["settings"] - sums["offcuts"] == sums["sum"]
    assert sums["planner_says_no_sum_below"] == each.sums.least
    assert batch_to_json(planned(""))["sums"] == {}
    assert all(not verdict["findings"] for verdict in verify_file(json.dumps(told)))
