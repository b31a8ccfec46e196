"""Spreadsheets read by the names over their columns: every fault at once, each with its cell, and nothing guessed.

A sheet has one row of headings, then one row for each thing. A title may stand above the headings, in a row of its
own. Empty rows are passed over. What could be read in two ways is refused: merged cells, rows and columns that are
hidden, text that is struck through, formulas that were never reckoned, columns that nobody knows.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import KW_ONLY, dataclass
from difflib import get_close_matches
from pathlib import Path

from woodshop.design.sheets.csv_sheet import csv_grid
from woodshop.design.sheets.sheet_grid import MOST_ROWS, SheetGrid, letters
from woodshop.design.sheets.xlsx_sheet import xlsx_grid
from woodshop.errors import InputError, Problem
from woodshop.files.reading import read_file

MOST_BYTES, MOST_TOLD = 5_000_000, 100
_TITLES = 20  # rows within which the headings are looked for


@dataclass(frozen=True, slots=True)
class SheetColumn:
    """A column that is read: its name, other headings that mean the same, and whether it must be there.

    What it means, what holds where it is left out, and a value as it stands in a TOML file are for people.
    """

    name: str
    others: tuple[str, ...] = ()
    _: KW_ONLY
    required: bool = False
    meaning: str = ""
    otherwise: str = ""
    example: str = ""


@dataclass(frozen=True, slots=True)
class Cell:
    """A value and its place. `value` is None where nothing stands there; `is_told`: its fault has been told."""

    where: str
    value: object = None
    is_told: bool = False


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One row under the headings; a column that the sheet lacks is not in `cells`."""

    where: str
    cells: Mapping[str, Cell]


def read_sheet(
    path: Path, columns: Sequence[SheetColumn], others: Sequence[str] = (), sheet: str = ""
) -> list[SheetRow]:
    """The rows of an .xlsx or .csv file; `others` are headings that are passed over, `sheet` the one wanted of several.

    Raises InputError with every fault found.
    """
    rows, found = rows_of(read_grid(path, sheet), columns, others)
    refuse(found)
    return rows


def read_grid(path: Path, sheet: str = "") -> SheetGrid:
    """The sheet as it stands. Raises InputError for a file that is no spreadsheet, and where it is not clear which."""
    kinds: dict[str, Callable[[str, bytes, str], SheetGrid]] = {
        ".xlsx": xlsx_grid,
        ".xlsm": xlsx_grid,
        ".csv": csv_grid,
    }
    kind = path.suffix.lower()
    if kind not in kinds:
        given = f"a name ending in {kind!r}" if kind else "a name without ending"
        do = "Save it as .xlsx or as CSV in UTF-8, and name that."
        raise InputError(Problem(path.name, given, "a spreadsheet, .xlsx or .csv", do))
    return kinds[kind](path.name, read_file(path, "a spreadsheet", MOST_BYTES), sheet)


def rows_of(
    grid: SheetGrid, columns: Sequence[SheetColumn], others: Sequence[str] = ()
) -> tuple[list[SheetRow], list[Problem]]:
    """The rows of a sheet under its headings, and every fault of the sheet itself.

    Raises InputError for a sheet that is empty or far too long.
    """
    filled = sorted({row for row, cells in grid.values.items() if cells} | {row for row, _ in grid.faults})
    if not filled:
        wanted = "a row of headings, and rows under it"
        raise InputError(Problem(grid.where, "an empty sheet", wanted, "Is it the right sheet?"))
    if filled[-1] > MOST_ROWS:
        given, wanted = f"something in row {filled[-1]}", f"at most {MOST_ROWS} rows"
        raise InputError(Problem(grid.where, given, wanted, "Delete what stands far below, or split the file."))
    found: list[Problem] = []
    head = _head(grid, filled, columns)
    heads = _headings(grid, head, columns, others, found)
    found += _above(grid, filled, head)
    found += _shape(grid, head, heads)
    rows = []
    for n in filled:
        if n <= head:
            continue
        found += _row_faults(grid, n, heads, others)
        cells = {
            name: Cell(_cell(grid, n, column), grid.values.get(n, {}).get(column), (n, column) in grid.faults)
            for column, name in heads.items()
            if name
        }
        if any(cell.value is not None or cell.is_told for cell in cells.values()):
            rows.append(SheetRow(f"{grid.where}, row {n}", cells))
    if not rows and not found:
        found.append(
            Problem(grid.where, "headings and nothing under them", "at least one row", "Is it the right file?")
        )
    return rows, found


def refuse(found: Sequence[Problem]) -> None:
    """Raise InputError with all that was found, if anything was; of very many the first hundred, and how many more."""
    told = list(dict.fromkeys(found))
    if len(told) > MOST_TOLD:
        rest = f"{len(told) - MOST_TOLD} faults more"
        told = [*told[:MOST_TOLD], Problem("and so on", rest, "none", "Mend these first.")]
    if told:
        raise InputError(*told)


def _cell(grid: SheetGrid, row: int, column: int) -> str:
    return f"{grid.where}, cell {letters(column)}{row}"


def _plain(text: object) -> str:
    """A heading without case, spaces doubled, and the marks that people put after it."""
    return " ".join(str(text).casefold().split()).rstrip(":*. ")


def _known(columns: Sequence[SheetColumn]) -> dict[str, str]:
    return {name: column.name for column in columns for name in (column.name, *column.others)}


def _head(grid: SheetGrid, filled: list[int], columns: Sequence[SheetColumn]) -> int:
    """The row of headings: the first in which two are known, else the first that holds anything."""
    known = _known(columns)
    for n in filled[:_TITLES]:
        if sum(_plain(value) in known for value in grid.values.get(n, {}).values()) >= min(2, len(columns)):
            return n
    return filled[0]


def _headings(
    grid: SheetGrid, head: int, columns: Sequence[SheetColumn], others: Sequence[str], found: list[Problem]
) -> dict[int, str]:
    """The name of each column by its place; "" for one that is passed over."""
    known, passed = _known(columns), {_plain(other) for other in others}
    listed = ", ".join(column.name for column in columns)
    heads: dict[int, str] = {}
    places: dict[str, int] = {}
    for column, value in sorted(grid.values.get(head, {}).items()):
        plain, place = _plain(value), _cell(grid, head, column)
        if plain in known:
            name = known[plain]
            if name in places:
                given = f"{str(value)!r} again, as in {letters(places[name])}{head}"
                found.append(Problem(place, given, "each column once", "Take one of them out."))
            places.setdefault(name, column)
            heads[column] = name
        elif plain in passed:
            heads[column] = ""
        else:
            near = get_close_matches(plain, known, n=1)
            do = f"Did you mean {near[0]!r}?" if near else (
                "Take the column out, or name it under other_columns in the design: it is then not read.")  # fmt: skip
            found.append(Problem(place, f"the heading {_shown(value)}", f"one of {listed}", do))
            heads[column] = ""
    for each in columns:
        if each.required and each.name not in places:
            place = f"{grid.where}, row {head}"
            found.append(Problem(place, f"no column {each.name!r}", f"the columns {listed}", "Add it."))
    return heads


def _above(grid: SheetGrid, filled: list[int], head: int) -> list[Problem]:
    """Above the headings a title may stand, and nothing else."""
    found = []
    for n in filled:
        if n < head and len(grid.values.get(n, {})) > 1:
            given = "a row of several cells above the headings"
            found.append(Problem(f"{grid.where}, row {n}", given, "a title at most", "Move it below, or delete it."))
    return found


def _shape(grid: SheetGrid, head: int, heads: Mapping[int, str]) -> list[Problem]:
    """What the sheet as a whole hides or runs together."""
    found = []
    for name, _, last in grid.merged:
        if last >= head:
            where, wanted = f"{grid.where}, cells {name}", "one value in each cell"
            found.append(Problem(where, "merged cells", wanted, "Undo the merge, and fill each cell."))
    for column in sorted(grid.hidden_columns):
        if heads.get(column):
            given = f"the column {heads[column]!r}, hidden"
            do = "Show it, or delete it."
            found.append(Problem(f"{grid.where}, column {letters(column)}", given, "columns that can be seen", do))
    return found


def _row_faults(grid: SheetGrid, n: int, heads: Mapping[int, str], others: Sequence[str]) -> list[Problem]:
    found = []
    if n in grid.hidden:
        do = "Take off the filter or show the row; delete it if it is not wanted."
        found.append(Problem(f"{grid.where}, row {n}", "a hidden row", "rows that can be seen", do))
    for column in sorted(grid.values.get(n, {}).keys() | {c for row, c in grid.faults if row == n}):
        place = _cell(grid, n, column)
        if column not in heads:
            given = f"{_shown(grid.values.get(n, {}).get(column))} under no heading"
            do = "Name the column, or clear the cell. In CSV a comma within a text needs quotes round it."
            found.append(Problem(place, given, "a heading over every column", do))
        elif (n, column) in grid.faults and heads[column]:
            found.append(Problem(place, *grid.faults[n, column]))
    return found


def _shown(value: object) -> str:
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."
