"""The page of what to enter in the book: every line of the plan has its row, under a kind of event of the book."""

import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

from tests.once import bought
from woodshop.design.inventory import Inventory
from woodshop.documents.packet.layouts import numbered_layouts
from woodshop.documents.packet.packet import packet
from woodshop.documents.packet.what_to_enter import what_to_enter_chapter
from woodshop.drawing.values.model import Columns, Heading, Table
from woodshop.plan.values import PlannedBatch
from woodshop.records.kinds import KINDS

HOBBY = "hobby-batch"


def with_book(planned: PlannedBatch) -> PlannedBatch:
    """The same plan for a design that has a book, with nothing in it."""
    return replace(planned, batch=replace(planned.batch, inventory=Inventory(number=0, digest="", currency="USD")))


def steps() -> Iterator[tuple[str, Table]]:
    """The kinds of events in the order of the page, each with its table."""
    (columns,) = (b for b in what_to_enter_chapter(with_book(bought(HOBBY))).blocks if isinstance(b, Columns))
    heads = [block for block in columns.blocks if isinstance(block, Heading)]
    tables = [block for block in columns.blocks if isinstance(block, Table)]
    assert columns.blocks == tuple(block for pair in zip(heads, tables, strict=True) for block in pair)
    for head, table in zip(heads, tables, strict=True):
        found = re.search(r"\((.*)\)$", head.text)
        assert found
        yield found[1], table


@pytest.mark.slow("plans a whole batch")
def test_every_kind_is_one_of_the_book_s_in_the_order_of_the_work() -> None:
    kinds = [kind for kinds, _ in steps() for kind in kinds.split(", ")]
    assert set(kinds) <= set(KINDS)
    order = ["stock bought", "layout cut", "pieces spoiled", "units finished", "units packed", "units sold"]
    assert [kind for kind in kinds if kind in order] == order


@pytest.mark.slow("plans a whole batch")
def test_every_line_of_the_plan_has_its_row() -> None:
    plan, tables = bought(HOBBY), dict(steps())
    rows = {name: [row for row in table.text_rows if row[0] == "[ ]"] for name, table in tables.items()}
    assert [row[1:3] for row in rows["stock bought"]] == [(p.what, str(p.count)) for p in plan.purchases]
    layouts = numbered_layouts(plan)
    assert [(row[1].partition(":")[0], row[2], int(row[3])) for row in rows["layout cut"]] == [
        (lay.number, lay.material.name, lay.times) for lay in layouts
    ]
    materials = {layout.material.name for layout in layouts}
    assert {row[2] for row in rows["offcut put away"]} <= materials, "the event needs the material"
    made = sum(line.count for line in plan.batch.lines if line.item.is_per_hive)
    assert sum(int(row[2]) for row in rows["units finished"]) == made > 0
    assert {row[2] for row in rows["offcut put away"]} <= {lay.material.name for lay in layouts}  # the event needs it
    assert {row[1].partition("; ")[0] for row in rows["units packed"]} == {"fondant rim"}  # the event needs the item
    assert all(row[-1] == "" for each in rows.values() for row in each)  # a space to write


@pytest.mark.slow("plans a whole batch")
def test_without_a_book_there_is_no_such_page() -> None:
    titles = [section.title for section in packet(bought(HOBBY)).sections]
    assert "What to enter in the book" not in titles
    titles = [section.title for section in packet(with_book(bought(HOBBY))).sections]
    assert titles[-1] == "What to enter in the book"
