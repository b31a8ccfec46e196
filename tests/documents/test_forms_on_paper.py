"""Form, number and due date of an order, on the front page, labels, part drawings and the customers' pages."""

from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from tests.once import uncut
from woodshop.checks.for_sale import check_prices
from woodshop.design.batch import due_dates
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.orders.lines import read_orders
from woodshop.design.settings.buying import Days
from woodshop.documents.answers.hives import orders_section
from woodshop.documents.fullsize.labels import hive_labels, unit_labels
from woodshop.documents.packet.due import due_blocks
from woodshop.documents.packet.front import front_chapter
from woodshop.documents.packet.parts import parts_section
from woodshop.documents.packet.shopping import seen_text
from woodshop.documents.result import line_chapter
from woodshop.drawing.pens.text import section_text
from woodshop.drawing.values.model import Heading, KeyFigures, Table
from woodshop.plan.values import PlannedBatch


@pytest.fixture(scope="module")
def run(designs: Path) -> PlannedBatch:
    return uncut(designs / "order-run.toml")


def texts(labels: object) -> list[str]:
    return [" / ".join(line.text for line in label.lines) for label in labels]  # type: ignore[attr-defined]


def test_a_label_says_form_and_day_of_its_own_order(run: PlannedBatch) -> None:
    hives = texts(hive_labels(run.batch))
    assert len(hives) == 18
    assert sum("/ unassembled kit / due Nov 20, 2026" in text for text in hives) == 5
    assert sum("Ida Sorrel" in text and text.endswith("due Nov 14, 2026") for text in hives) == 6
    assert sum("/ empty / on by Nov 26, 2026" in text for text in hives) == 3  # the run's day, as none was given
    assert sum("order M-3, Tomasz Wren" in text for text in hives) == 5
    things = texts(unit_labels(run.batch))
    assert sum("order M-3, Tomasz Wren" in text for text in things) == 3 * 5
    shared = [text for text in things if "the whole batch" in text]
    assert shared
    assert all(text.endswith("due Nov 14, 2026") for text in shared)  # the first order needs them
    assert sum("unassembled kit" in text for text in things) == 3 * 5
    assert sum("/ empty /" in text for text in things) == 3
    assert not any("packed" in text for text in things)


def test_the_report_says_by_customer_what_is_due_when(run: PlannedBatch) -> None:
    blocks = line_chapter(run).blocks
    heads = [block.text for block in blocks if isinstance(block, Heading)]
    assert heads[:-1] == [
        "Ida Sorrel, 6 hives, due November 14, 2026",
        "Heath End Allotments, 4 hives, due November 20, 2026",
        "Tomasz Wren, 5 hives, due November 20, 2026",
        "Pell, Dora, 3 hives, due November 26, 2026",
    ]
    rows = [row for block in blocks if isinstance(block, Table) for row in block.rows]
    assert "order M-3, Tomasz Wren, wren eights, 8-frame 13 7/8, unassembled kit" in {row[1] for row in rows}


def test_the_front_page_goes_by_the_earliest_order_and_names_it(run: PlannedBatch) -> None:
    """The run is to be on the hives by 26 November; order M-1 is due on the 14th, and its boards dry for two days."""
    text = str(due_blocks(run.batch, run.units))
    assert "Pack the first 6 fondant boards by November 12, 2026." in text
    assert "They are due on November 14, 2026 (order M-1, Ida Sorrel)." in text
    (figures,) = (block for block in front_chapter(replace(run, plans=()), ()).blocks if isinstance(block, KeyFigures))
    assert ("first due", "Nov 14, 2026") in figures.figures
    (table,) = tables(due_blocks(run.batch, run.units))
    assert table.rows == (
        ("Nov 14, 2026", "order M-1, Ida Sorrel", "6", "6", "Nov 12, 2026"),
        ("Nov 20, 2026", "order M-2, Heath End Allotments; order M-3, Tomasz Wren", "9", "", ""),
        ("Nov 26, 2026", "order M-4, Pell, Dora", "3", "", ""),
    )


def tables(blocks: Any) -> list[Table]:
    found: list[Table] = []
    for block in blocks:
        found += [block] if isinstance(block, Table) else tables(getattr(block, "blocks", ()))
    return found


def test_one_date_for_all_is_named_once(run: PlannedBatch) -> None:
    alike = tuple(replace(hives, due=run.batch.days.on_by) for hives in run.batch.hives)
    batch = replace(run.batch, hives=alike)
    text = str(due_blocks(batch, run.units))
    assert "Pack the fondant boards by November 24, 2026. They are due on November 26, 2026. Cut and build" in text
    assert tables(due_blocks(batch, run.units)) == []
    undated = replace(batch, days=Days(), hives=tuple(replace(hives, due=None) for hives in alike))
    assert due_blocks(undated, run.units) == []


@pytest.mark.slow("plans a run of orders")
def test_no_date_is_later_than_the_earliest_order(designs: Path) -> None:
    """The production run is dated 1 December; 120 of its hives are due on 13 November."""
    planned = uncut(designs / "production-run.toml")
    first = due_dates(planned.batch.hives)[0]
    assert first.day == date(2026, 11, 13) < planned.batch.days.on_by  # type: ignore[operator]
    text = str(due_blocks(planned.batch, planned.units))
    assert "by November 11, 2026. They are due on November 13, 2026 (order" in text


def test_a_part_drawing_has_the_earliest_date_of_the_hives_it_is_for(run: PlannedBatch) -> None:
    text = str(parts_section(run))
    # due on the 14th, and its boards, packed, dry for two days: the front page says 12 November too
    assert "needed by" in text
    assert "'Nov 12, 2026, order M-1')" in text
    assert "'Nov 26, 2026')" not in text


def test_prices_age_up_to_the_earliest_order(run: PlannedBatch) -> None:
    terms = tuple(replace(each, stale_after=1) for each in run.batch.lumberyard.terms)
    found = list(check_prices(replace(run.batch, lumberyard=replace(run.batch.lumberyard, terms=terms))))
    assert all("days old on 2026-11-14 (the earliest due date of order M-1, Ida Sorrel" in each.value for each in found)
    assert found


def test_orders_are_listed_with_number_day_and_priority(designs: Path) -> None:
    design = read_design(designs / "order-run.toml")
    assert design.ordering is not None
    lines = section_text(orders_section(read_orders(design.ordering), design)).split("\n")
    assert lines[0].split() == ["hives", "order", "due", "priority", "for", "customer", "form", "what"]
    assert [line.split()[:4] for line in lines[1:5]] == [
        ["6", "M-1", "2026-11-14", "1"],
        ["4", "M-2", "2026-11-20", "5"],
        ["5", "M-3", "2026-11-20", "5"],
        ["2", "M-4", "2026-11-26", "2"],
    ]


def test_every_lumberyard_is_printed_with_its_own_days(designs: Path) -> None:
    lumberyard = read_lumberyards((designs / "creekside-lumberyard.toml", designs / "harbor-lumberyard.toml"))
    words = seen_text(lumberyard)
    for terms in lumberyard.terms:
        assert f"{terms.lumberyard}, prices as of " in words
    one, other = (each.seen for each in lumberyard.terms)
    assert one != other
    assert words.count(" 2026") >= 2
    assert str(one.day) in words
    assert str(other.day) in words
