"""Reads sheets for the shop's book: events in rows, and inventory counts."""

import re
from collections.abc import Sequence
from datetime import date
from pathlib import Path

from woodshop.design.sheets import Cell, SheetColumn, SheetRow, read_sheet
from woodshop.records.inventory_count import SUBJECTS
from woodshop.records.rows import COLUMN_NAMES, MEANINGS

MOST_EVENTS, MOST_EVENT_BYTES = 500_000, 200_000_000
EVENT_COLUMNS = tuple(
    SheetColumn(name, required=name == "kind", meaning=MEANINGS[name], others=("event",) if name == "kind" else ())
    for name in COLUMN_NAMES
)
TAKE_COLUMNS = (*map(SheetColumn, SUBJECTS), SheetColumn("book"), SheetColumn("counted", required=True))
Row = tuple[str, dict[str, str]]


def read_event_rows(path: Path) -> list[Row]:
    """The rows of a sheet of events: the place of each, and its texts by column.

    Raises InputError with every problem of the sheet.
    """
    return _texts(read_sheet(path, EVENT_COLUMNS, most_rows=MOST_EVENTS, most_bytes=MOST_EVENT_BYTES))


def read_take_rows(path: Path) -> list[Row]:
    """The rows of an inventory count: the place of each, and its texts by column. The column `book` is ignored.

    Raises InputError with every problem of the sheet.
    """
    rows = _texts(read_sheet(path, TAKE_COLUMNS))
    return [(where, {name: text for name, text in texts.items() if name != "book"}) for where, texts in rows]


def _texts(rows: Sequence[SheetRow]) -> list[Row]:
    return [(row.where, {name: _text(cell) for name, cell in row.cells.items()}) for row in rows]


def _text(cell: Cell) -> str:
    """The text of a cell, without the apostrophe that keeps a spreadsheet from treating the text as a formula."""
    if isinstance(cell.value, bool):
        return "yes" if cell.value else "no"
    if isinstance(cell.value, date):
        return cell.value.isoformat()
    text = "" if cell.value is None else str(cell.value)
    return text[1:] if re.match(r"'[=+\-@]", text) else text
