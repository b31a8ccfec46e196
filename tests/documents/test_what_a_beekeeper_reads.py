"""What a beekeeper reads first: the verdict, what to weigh and measure before buying, and how the board is packed."""

import re
from fractions import Fraction
from pathlib import Path

import pytest

from tests.once import planned, uncut
from woodshop.design.batch import first_needed, hives_fitted
from woodshop.design.design_file import read_design
from woodshop.design.orders.lines import read_orders
from woodshop.documents.answers.hives import orders_section
from woodshop.documents.packet.cautions import batch_topics
from woodshop.documents.packet.first_article import first_article_section
from woodshop.documents.packet.front import weigh_first
from woodshop.documents.packet.mix import mix_chapter
from woodshop.documents.packet.shopping import backings
from woodshop.documents.report.cold_top import cold_chapter
from woodshop.documents.report.report import verdict_line
from woodshop.drawing.pens.text import section_text
from woodshop.plan.values import PlannedBatch


@pytest.fixture(scope="module")
def hobby(designs: Path) -> PlannedBatch:
    return uncut(designs / "hobby-batch.toml")


def test_the_front_page_has_the_density_at_which_each_rim_must_be_taller(hobby: PlannedBatch) -> None:
    """By hand: 16 lb in 2 1/2 - 3/8 = 2 1/8 in over 255.28 sq in is 0.816 kg/L; the rim's sheet says the same."""
    text = "".join(weigh_first(hobby))
    rims = {u.line.fits: {f.name: f.value for f in u.assembly.facts} for u in hobby.units
            if u.line.item.name == "fondant rim"}  # fmt: skip
    assert len(rims) == 3
    for box, facts in rims.items():
        dry = float(facts["use a taller rim below"].removesuffix(" kg/L"))
        ((pounds, ounces),) = re.findall(rf"(\d) lb ([\d /]+) oz for {hives_fitted(box, hobby.batch)}", text)
        found = int(pounds) * 16 + float(sum(map(Fraction, ounces.split())))
        assert 0 <= found - dry * 0.946353 * 1.0976 / 0.02834952 < 0.55  # rounded up to half an ounce
    # 0.816 kg/L x 0.94635 L x 1.0976 / 28.3495 g: 29.9 oz, so up to the next half ounce
    assert "1 lb 14 oz for house tens" in text


def test_old_parts_have_limits_of_their_own(hobby: PlannedBatch) -> None:
    """Five rims want 2.42 in: 2 7/16; a sheet 19.541 x 15.541 with 3/8 in at both ends and sides: 18 3/4 x 14 3/4."""
    text = str(first_article_section(hobby))
    assert "Old strips must be 13/64 to 1/4 in thick (house tens, 5 on hand)." in text
    assert "Old rims must be at least 2 7/16 in high (house tens, 5 on hand)." in text
    assert "Old rims that get a new wire bottom must be at most 18 3/4 x 14 3/4 in inside" in text
    assert "(house tens, 2 of the 5 on hand)" in text


def test_a_size_that_is_out_has_a_rule(hobby: PlannedBatch) -> None:
    text = str(first_article_section(hobby))
    assert "If one size is off but inside its limits, use the piece. If two are off" in text
    assert "Send its sizes to whoever made this packet, or write them in a unit file and run woodshop check" in text


def test_backings_are_counted_on_sheets_of_plywood(hobby: PlannedBatch) -> None:
    """21 7/8 x 18 1/4 on 96 x 48: 4 x 2 one way, 5 x 2 the other. 24 boards: 2.4 sheets; 12: 1.2."""
    text = "".join(backings(hobby))
    assert (
        "A 4 x 8 ft sheet of plywood makes 10. To dry 24 at a time, you need 3 sheets; to dry 12 at a time, 2." in text
    )
    assert "Wax paper: 3 sq ft for each backing board." in text  # 399 sq in


def test_the_board_dries_for_one_time_and_is_placed_by_the_day(hobby: PlannedBatch) -> None:
    text = str(mix_chapter(hobby).blocks)
    assert "flat for 2 days, until" in text
    assert "no later than November 26, 2026" in text
    assert "a helper peels off the wax paper" in text
    assert "Fit a mouse guard or an entrance reducer." in text
    assert "under [" not in text


@pytest.fixture(scope="module")
def sawn() -> PlannedBatch:
    return planned("hobby-batch")


def test_only_the_work_of_the_batch_has_cautions(sawn: PlannedBatch) -> None:
    topics = batch_topics(sawn)
    assert {"mesh", "staples", "drilling", "food"} <= set(topics)
    assert "sheet metal" not in topics


def test_parts_are_needed_when_boards_are_packed(hobby: PlannedBatch) -> None:
    """On the hives by 26 November; packed boards dry for two days."""
    first = first_needed(hobby.batch.hives, hobby.batch, hobby.units)
    assert first is not None
    assert first.day.isoformat() == "2026-11-24"


def test_the_trial_wants_damp_sugar_and_subtracts_its_water(hobby: PlannedBatch) -> None:
    """3 US cups, 0.7098 L at 0.99823 kg/L, in 16 lb: 9.76 %; 10 lb / 1.0976 = 9.11 lb."""
    text = str(mix_chapter(hobby).blocks)
    assert "10 lb damp less 0.89 lb of water is 9.11 lb of dry sugar" in text
    assert "Mix bowl 2 and pack it the same way." in text


def test_a_gauge_that_is_not_made_is_drawn(hobby: PlannedBatch) -> None:
    """Its steps, and the drill bits that work too; in a batch that makes one the page points to it."""
    text = str(first_article_section(hobby))
    assert "Bee-space gauge, from scrap" in text
    assert "Drill bits of 3/16, 1/4, 3/8, 1/2 in work too." in text
    for end in ("1 in long and 9/16 in deep", "4 in long and 1/4 in deep"):
        assert end in text


def test_the_verdict_counts_what_the_report_lists(hobby: PlannedBatch) -> None:
    assert verdict_line(hobby.report) == "It fits: 0 errors, 0 warnings, 7 notes."


def test_orders_are_counted_as_they_are_listed(designs: Path) -> None:
    """Nine order lines make seven groups of hives, one listed line each."""
    design = read_design(designs / "production-run.toml")
    assert design.ordering is not None
    lines = section_text(orders_section(read_orders(design.ordering), design)).split("\n")
    (total,) = (line for line in lines if "order lines" in line)
    assert total.startswith("9 order lines in 7 groups of hives, 6 customers, 400 hives: ")
    assert lines.index(total) == 1 + 7 + 1


def test_the_page_on_the_cold_has_the_sizes_of_every_kind_of_hive(hobby: PlannedBatch) -> None:
    """Three kinds, the same temperatures; their sugar lies 2.04, 2.08 and 1.87 in deep, and weighs 16 or 12 lb."""
    text = str(cold_chapter(hobby).blocks)
    assert "packed sugar 2.04, 2.08 or 1.87 in" in text
    assert "more for 16 lb, " in text
    assert "more for 12 lb." in text
