"""Form and due day of an order, on labels and on the customers' pages."""

from pathlib import Path

import pytest

from tests.documents.conftest import uncut
from woodshop.batch.values import PlannedBatch
from woodshop.documents.front import customer_blocks
from woodshop.documents.labels import hive_labels, unit_labels
from woodshop.drawing.model import Heading, Table


@pytest.fixture(scope="module")
def run(designs: Path) -> PlannedBatch:
    return uncut(designs / "order-run.toml")


def texts(labels: object) -> list[str]:
    return [" / ".join(line.text for line in label.lines) for label in labels]  # type: ignore[attr-defined]


def test_a_label_says_form_and_day_of_its_own_order(run: PlannedBatch) -> None:
    hives = texts(hive_labels(run.batch))
    assert len(hives) == 18
    assert sum("/ flat kit / on by 20 Nov 2026" in text for text in hives) == 5
    assert sum("Ida Sorrel" in text and text.endswith("on by 14 Nov 2026") for text in hives) == 6
    assert sum("/ empty / on by 26 Nov 2026" in text for text in hives) == 3  # the run's day, as none was given
    things = texts(unit_labels(run.batch))
    assert sum("flat kit" in text for text in things) == 3 * 5
    assert sum("/ empty /" in text for text in things) == 3
    assert not any("packed" in text for text in things)


def test_the_customers_page_says_what_is_due_when(run: PlannedBatch) -> None:
    blocks = customer_blocks(run)
    heads = [block.text for block in blocks if isinstance(block, Heading)]
    assert heads == [
        "By customer",
        "Ida Sorrel, 6 hives, due 14 November",
        "Heath End Allotments, 4 hives, due 20 November",
        "Tomasz Wren, 5 hives, due 20 November",
        "Pell, Dora, 3 hives",
    ]
    rows = [row for block in blocks if isinstance(block, Table) for row in block.rows]
    assert "Tomasz Wren, wren eights, 8-frame 13 7/8, flat kit" in {row[1] for row in rows}
