"""Reads spreadsheets by their column names; reports every problem at once, with its cell, and never guesses.

A sheet has one row of headings, then one row for each entry. A title may be above the headings, in its own row. Empty
rows are skipped. Ambiguous content is an error: merged cells, hidden rows and columns, text struck through, formulas
without a result, unknown columns. CSV is read as spreadsheet programs write it: commas, semicolons or tabs, with or
without a byte-order mark, in UTF-8.
"""

import csv
import io
import re
import warnings
import zipfile
from collections.abc import Callable, Mapping, Sequence
from dataclasses import KW_ONLY, dataclass, field
from datetime import date, datetime, time
from html import unescape
from pathlib import Path
from typing import Any

from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.files.one_file import read_file

MOST_ROWS = 20_000


@dataclass(frozen=True, slots=True)
class SheetGrid:
    """A sheet before it is interpreted; rows and columns count from 1.

    `values`, keyed by row and column, are text, numbers, dates or Boolean values. `faults` are problems with a cell
    that do not depend on its meaning: what is given, what is wanted, and what to do. `hidden` are the hidden rows,
    `hidden_columns` the hidden columns. `merged` is the name, first row and last row of each merged range. `where` is
    put before the place of each problem.
    """

    where: str
    values: Mapping[int, Mapping[int, object]]
    faults: Mapping[tuple[int, int], tuple[str, str, str]] = field(default_factory=dict)
    _: KW_ONLY
    hidden: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    merged: tuple[tuple[str, int, int], ...] = ()
    unread: tuple[str, ...] = ()


def letters(column: int) -> str:
    """The letters of a column counted from 1.

    >>> letters(1), letters(26), letters(27), letters(703)
    ('A', 'Z', 'AA', 'AAA')
    """
    text = ""
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(65 + rest) + text
    return text


_MARKS = (",", ";", "\t")
_SAVE = 'Save it again as "CSV UTF-8".'
_UNKNOWN_COLUMN = "Remove the column, or name it under other_columns in the design so that it is ignored."


def csv_grid(where: str, data: bytes, sheet: str = "") -> SheetGrid:
    """The sheet in the bytes of the CSV file `where`; every value is text.

    Raises InputError for bytes that are not UTF-8 or not CSV.

    Cells are separated by the character in a "sep=" line or, if there is none, by the one that makes the most cells in
    one of the first twenty rows. Rows are counted as in a spreadsheet program, where quoted text can span several
    lines. `sheet` is ignored.
    """
    text = _text(where, data)
    mark, skip = _separator(text)
    values: dict[int, dict[int, object]] = {}
    faults: dict[tuple[int, int], tuple[str, str, str]] = {}
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    try:
        for n, cells in enumerate(reader, 1):
            if n == 1 and skip:
                continue
            kept = {c: plain for c, cell in enumerate(cells, 1) if (plain := tidy(cell))}
            if kept:
                values[n] = dict(kept)
    except csv.Error as why:
        place, wanted = f"{where}, line {reader.line_num}", "closed quotes, with quotes inside them doubled"
        raise InputError(Problem(place, f"text that is not CSV ({why})", wanted, "Correct that line.")) from None
    return SheetGrid(where, values, faults)


def tidy(text: str) -> str:
    """The text without spaces at its ends. A no-break space, as on web pages, counts as a space."""
    return text.replace("\N{NO-BREAK SPACE}", " ").strip(" \t")


def _text(where: str, data: bytes) -> str:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(Problem(where, "text in UTF-16", "text in UTF-8", _SAVE))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as why:
        line = data.count(b"\n", 0, why.start) + 1
        given = f"a byte that is not UTF-8 ({data[why.start]:#04x})"
        raise InputError(Problem(f"{where}, line {line}", given, "text in UTF-8", _SAVE)) from None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise InputError(Problem(f"{where}, line {line}", "a NUL byte", "plain text", _SAVE))
    return text


def _separator(text: str) -> tuple[str, bool]:
    """The separator, and whether the first line serves only to name it."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    if first.lower().startswith("sep=") and first[4:5] in (*_MARKS, "|"):
        return first[4], True
    counts = {mark: _outside_quotes(text, mark) for mark in _MARKS}
    return max(_MARKS, key=lambda mark: (counts[mark], -_MARKS.index(mark))), False


def _outside_quotes(text: str, mark: str) -> int:
    """The maximum number of cell breaks that the character makes in any of the first twenty rows."""
    most = count = rows = 0
    quoted = False
    for letter in text:
        if letter == '"':
            quoted = not quoted
        elif not quoted and letter == mark:
            count += 1
        elif not quoted and letter == "\n":
            most, count, rows = max(most, count), 0, rows + 1
            if rows == 20:
                break
    return max(most, count)


_MOST_UNPACKED = 16_000_000
_MOST_COLUMNS = 200
_MOST_CELLS, _MOST_FILES, _MOST_OTHER = 300_000, 1_000, 100_000
_LAST_COLUMN = 16_384  # of a workbook of this kind (ECMA-376)
_CELL = re.compile(rb"<(?:\w+:)?(?:c|row)[\s/>]")
_RANGE = re.compile(rb"<(?:\w+:)?(?:mergeCell|hyperlink)\s[^>]*?\bref\s*=\s*[\"']([^\"']*)")
_CORNERS = re.compile(r"([A-Za-z]{1,3})([0-9]{1,7})(?::([A-Za-z]{1,3})([0-9]{1,7}))?")
_COLUMNS = re.compile(rb"<(?:\w+:)?col\s[^>]*?\bmax\s*=\s*[\"']([0-9]+)")
_OLD = b"\xd0\xcf\x11\xe0"  # the first bytes of old workbooks, and of workbooks with a password
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")  # control characters in a workbook (ECMA-376, ST_Xstring)
_ERRORS = ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A")


def xlsx_grid(where: str, data: bytes, sheet: str = "") -> SheetGrid:
    """The sheet named `sheet`, or the only one with content, in the bytes of the workbook `where`.

    A formula counts as its last saved result. Raises InputError if nothing can be read.
    """
    try:
        _unpacks(where, data)
        return _read(where, data, sheet)
    except InputError:
        raise
    except Exception as why:  # a broken file can make the libraries raise anything, also while it is being read
        raise InputError(_broken(where, f"not a workbook, or a damaged one ({type(why).__name__})")) from None


def _read(where: str, data: bytes, sheet: str) -> SheetGrid:
    formulas, computed = _opened(where, data, False), _opened(where, data, True)
    name, unread = _sheet(where, formulas, sheet)
    page, values_page = formulas[name], computed[name]
    place = f"{where}, sheet {name}"
    if _is_vast(page):
        given = f"cells down to {letters(page.max_column)}{page.max_row}"
        wanted = f"at most {MOST_ROWS} rows and {_MOST_COLUMNS} columns"
        raise InputError(Problem(place, given, wanted, "Delete the empty rows and columns far out, and save it again."))
    values: dict[int, dict[int, object]] = {}
    faults: dict[tuple[int, int], tuple[str, str, str]] = {}
    for row in page.iter_rows():
        for cell in row:
            at = (cell.row, cell.column)
            if cell.value is None:
                continue
            value, fault = _value(cell, values_page.cell(*at).value)
            if fault is not None:
                faults[at] = fault
            if value is not None:
                values.setdefault(cell.row, {})[cell.column] = value
    hidden = frozenset(n for n, row in page.row_dimensions.items() if row.hidden)
    columns = frozenset(
        n for each in page.column_dimensions.values() if each.hidden for n in range(each.min, each.max + 1)
    )
    merged = tuple((str(each), each.min_row, each.max_row) for each in page.merged_cells.ranges)
    return SheetGrid(
        place,
        values,
        faults,
        hidden=hidden,
        hidden_columns=columns,
        merged=tuple(sorted(merged, key=lambda m: m[1:])),
        unread=unread,
    )


def _value(cell: Any, computed: object) -> tuple[object, tuple[str, str, str] | None]:
    """The content of a cell (for a formula, its saved result), and the problem with it if there is one."""
    value = cell.value
    if cell.data_type == "f":
        if computed is None:
            do = "Open it in the spreadsheet program and save it, or type the value."
            return "a formula", ("a formula without a saved result", "a value", do)
        value = computed
    if isinstance(value, str):
        if cell.data_type != "s" and value in _ERRORS:
            return value, (f"the error {value}", "a value", "Correct the formula, or type the value.")
        value = tidy(_ESCAPED.sub(lambda match: chr(int(match[1], 16)), value)) or None
        if value is not None and any("\ud800" <= letter <= "\udfff" for letter in value):
            return value, (f"text with half a character, {value[:40]!a}", "text", "Type it again.")
    if value is not None and cell.font is not None and cell.font.strike:
        do = "Delete the row if the order is canceled; remove the strikethrough if it stands."
        return value, (f"{value!r}, struck through" if isinstance(value, str) else f"{value}, struck through",
                       "text that holds", do)  # fmt: skip
    if isinstance(value, datetime) and value.time() == time():
        value = value.date()
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    known = isinstance(value, str | int | float | date) or value is None
    return (value, None) if known else (str(value), (f"{value}", "text, a number or a date", "Type it again."))


def _sheet(where: str, book: Any, wanted: str) -> tuple[str, tuple[str, ...]]:
    """The sheet to read, and the names of the other sheets with content."""
    seen = [page.title for page in book.worksheets if page.sheet_state == "visible"]
    full = [
        page.title
        for page in book.worksheets
        if _is_vast(page) or any(cell.value is not None for row in page.rows for cell in row)
    ]
    named = [name for name in full if name.casefold() == wanted.casefold()]
    chosen = named or full
    if not chosen:
        raise InputError(Problem(where, "an empty workbook", "a sheet", "Check that this is the right file."))
    if len(chosen) > 1:
        given = f"the sheets {', '.join(chosen)}"
        raise InputError(Problem(where, given, f"one sheet, or one called {wanted}", f"Name the right one {wanted}."))
    if chosen[0] not in seen:
        given, wanted_here = f"the sheet {chosen[0]}, hidden", "a visible sheet"
        raise InputError(Problem(where, given, wanted_here, "Unhide it and check its contents."))
    return chosen[0], tuple(name for name in full if name != chosen[0])


def _is_vast(page: Any) -> bool:
    """Whether a cell is so far down or to the right that reading up to it would take too long."""
    return bool(page.max_row > MOST_ROWS or page.max_column > _MOST_COLUMNS)


def _opened(where: str, data: bytes, computed: bool) -> Any:
    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # about content that is not read: pictures, drop-down lists, colors
        return openpyxl.load_workbook(io.BytesIO(data), data_only=computed)


def _unpacks(where: str, data: bytes) -> None:
    """Refuses a file that is not a workbook, has a password, or unpacks to far more than a sheet of orders."""
    if data[:4] == _OLD:
        do = "Remove the password, and save it as .xlsx."
        raise InputError(Problem(where, "an old workbook, or one with a password", "a plain .xlsx workbook", do))
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        if sum(each.file_size for each in packed.infolist()) > _MOST_UNPACKED or len(packed.infolist()) > _MOST_FILES:
            given, do = "a workbook that unpacks to over 16 MB", "Check that this is the right file. Remove pictures."
            raise InputError(Problem(where, given, "a sheet of a few hundred lines", do))
        read = 0
        for each in packed.infolist():
            text = packed.read(each)
            if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
                raise InputError(_broken(where, f"a document type in {each.filename!r}"))
            if b"\0" in text[:4] and each.filename.endswith((".xml", ".rels")):
                raise InputError(_broken(where, f"text that is not UTF-8 in {each.filename!r}"))
            read += _cells(where, text)
            if not each.filename.startswith(("xl/worksheets/", "xl/sharedStrings")) and text.count(b"<") > _MOST_OTHER:
                raise InputError(_broken(where, f"far too many entries in {each.filename!r}"))
        if read > _MOST_CELLS:
            given, wanted = f"a workbook of {read} cells, counting ranges", f"at most {_MOST_CELLS}"
            raise InputError(Problem(where, given, wanted, "Save the sheet of orders as a file of its own."))


def _cells(where: str, text: bytes) -> int:
    """The number of cells that the library will create from one file in the workbook.

    It creates a cell for each place in a merged range or in a range with a link, even if the place is empty.
    """
    count = len(_CELL.findall(text))
    for found in _RANGE.finditer(text):
        written = unescape(found[1].decode("ascii", "replace"))
        corners = _CORNERS.fullmatch(written.replace("$", ""))
        if corners is None:
            raise InputError(_broken(where, f"the range {written[:40]!r}"))
        left, top, right, bottom = corners.groups(default="")
        count += (abs(_column(right or left) - _column(left)) + 1) * (abs(int(bottom or top) - int(top)) + 1)
    if any(int(number) > _LAST_COLUMN for number in _COLUMNS.findall(text)):
        raise InputError(_broken(where, f"a width for column {max(map(int, _COLUMNS.findall(text)))}"))
    return count


def _column(name: str) -> int:
    number = 0
    for letter in name.upper():
        number = number * 26 + ord(letter) - 64
    return number


def _broken(where: str, given: str) -> Problem:
    return Problem(where, given, "an .xlsx workbook", "Open it in the spreadsheet program and save it as .xlsx.")


MOST_BYTES, MOST_TOLD = 5_000_000, 100
_TITLES = 20  # rows in which headings are looked for


@dataclass(frozen=True, slots=True)
class SheetColumn:
    """A column to read: its name, other headings for it, and whether it is required.

    The meaning, the default, and an example value in a TOML file are for display.
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
    """A value and its place.

    `value` is None if the cell is empty; `is_reported` says whether its problem is already listed.
    """

    where: str
    value: object = None
    is_reported: bool = False


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One row under the headings. `cells` holds only columns that are in the sheet."""

    where: str
    cells: Mapping[str, Cell]


def read_sheet(
    path: Path,
    columns: Sequence[SheetColumn],
    others: Sequence[str] = (),
    sheet: str = "",
    *,
    most_rows: int = MOST_ROWS,
    most_bytes: int = MOST_BYTES,
) -> list[SheetRow]:
    """The rows of an .xlsx or .csv file. `others` are headings to ignore; `sheet` names the sheet to read, if needed.

    Raises InputError with every problem found, including a file with more than `most_rows` or `most_bytes`.
    """
    rows, found = rows_of(read_grid(path, sheet, most_bytes), columns, others, most_rows)
    refuse(found)
    return rows


def read_grid(path: Path, sheet: str = "", most_bytes: int = MOST_BYTES) -> SheetGrid:
    """The sheet named `sheet`, before it is interpreted.

    Raises InputError if the file is not a spreadsheet or has over `most_bytes`, or the sheet is ambiguous.
    """
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
    return kinds[kind](path.name, read_file(path, "a spreadsheet", most_bytes), sheet)


def rows_of(
    grid: SheetGrid, columns: Sequence[SheetColumn], others: Sequence[str] = (), most_rows: int = MOST_ROWS
) -> tuple[list[SheetRow], list[Problem]]:
    """The rows of a sheet under its headings, and every problem of the sheet itself. `others` are headings to ignore.

    Raises InputError for a sheet that is empty or has something below `most_rows`.
    """
    filled = sorted({row for row, cells in grid.values.items() if cells} | {row for row, _ in grid.faults})
    if not filled:
        wanted = "a row of headings, and rows under it"
        raise InputError(Problem(grid.where, "an empty sheet", wanted, "Is it the right sheet?"))
    if filled[-1] > most_rows:
        given, wanted = f"something in row {filled[-1]}", f"at most {most_rows} rows"
        raise InputError(Problem(grid.where, given, wanted, "Delete the cells far below, or split the file."))
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
        if any(cell.value is not None or cell.is_reported for cell in cells.values()):
            rows.append(SheetRow(f"{grid.where}, row {n}", cells))
    if not rows and not found:
        found.append(
            Problem(grid.where, "headings without rows", "at least one row", "Check that this is the right file.")
        )
    return rows, found


def refuse(found: Sequence[Problem]) -> None:
    """Raises InputError with all problems found, if there are any.

    If there are more than a hundred, it lists the first hundred and counts the rest.
    """
    faults = list(dict.fromkeys(found))
    if len(faults) > MOST_TOLD:
        rest = f"{len(faults) - MOST_TOLD} faults more"
        faults = [*faults[:MOST_TOLD], Problem("and so on", rest, "none", "Correct these first.")]
    if faults:
        raise InputError(*faults)


def _cell(grid: SheetGrid, row: int, column: int) -> str:
    return f"{grid.where}, cell {letters(column)}{row}"


def _plain(text: object) -> str:
    """A heading in lower case, without double spaces or trailing punctuation."""
    return " ".join(str(text).casefold().split()).rstrip(":*. ")


def _known(columns: Sequence[SheetColumn]) -> dict[str, str]:
    return {name: column.name for column in columns for name in (column.name, *column.others)}


def _head(grid: SheetGrid, filled: list[int], columns: Sequence[SheetColumn]) -> int:
    """The row of headings: the first row with two known headings or, if there is none, the first row not empty."""
    known = _known(columns)
    for n in filled[:_TITLES]:
        if sum(_plain(value) in known for value in grid.values.get(n, {}).values()) >= min(2, len(columns)):
            return n
    return filled[0]


def _headings(
    grid: SheetGrid, head: int, columns: Sequence[SheetColumn], others: Sequence[str], found: list[Problem]
) -> dict[int, str]:
    """The name of each column, keyed by its position, or "" if the column is ignored."""
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
                found.append(Problem(place, given, "each column once", "Remove one of them."))
            places.setdefault(name, column)
            heads[column] = name
        elif plain in passed:
            heads[column] = ""
        else:
            do = did_you_mean(plain, known, _UNKNOWN_COLUMN)
            found.append(Problem(place, f"the heading {_shown(value)}", f"one of {listed}", do))
            heads[column] = ""
    for each in columns:
        if each.required and each.name not in places:
            place = f"{grid.where}, row {head}"
            found.append(Problem(place, f"no column {each.name!r}", f"the columns {listed}", "Add it."))
    return heads


def _above(grid: SheetGrid, filled: list[int], head: int) -> list[Problem]:
    """Checks that only a title is above the headings."""
    found = []
    for n in filled:
        if n < head and len(grid.values.get(n, {})) > 1:
            given = "a row of several cells above the headings"
            found.append(
                Problem(f"{grid.where}, row {n}", given, "nothing but a title", "Move it below, or delete it.")
            )
    return found


def _shape(grid: SheetGrid, head: int, heads: Mapping[int, str]) -> list[Problem]:
    """Finds hidden rows, hidden columns and merged cells anywhere in the sheet."""
    found = []
    for name, _, last in grid.merged:
        if last >= head:
            where, wanted = f"{grid.where}, cells {name}", "one value in each cell"
            found.append(Problem(where, "merged cells", wanted, "Undo the merge, and fill each cell."))
    for column in sorted(grid.hidden_columns):
        if heads.get(column):
            given = f"the column {heads[column]!r}, hidden"
            do = "Unhide it, or delete it."
            found.append(Problem(f"{grid.where}, column {letters(column)}", given, "visible columns", do))
    return found


def _row_faults(grid: SheetGrid, n: int, heads: Mapping[int, str], others: Sequence[str]) -> list[Problem]:
    found = []
    if n in grid.hidden:
        do = "Remove the filter or unhide the row. Delete it if it is not needed."
        found.append(Problem(f"{grid.where}, row {n}", "a hidden row", "visible rows", do))
    for column in sorted(grid.values.get(n, {}).keys() | {c for row, c in grid.faults if row == n}):
        place = _cell(grid, n, column)
        if column not in heads:
            given = f"{_shown(grid.values.get(n, {}).get(column))} under no heading"
            do = "Name the column, or clear the cell. In CSV, put quotes around text with a comma."
            found.append(Problem(place, given, "a heading over every column", do))
        elif (n, column) in grid.faults and heads[column]:
            found.append(Problem(place, *grid.faults[n, column]))
    return found


def _shown(value: object) -> str:
    text = repr(value) if isinstance(value, str) else str(value)
    return text if len(text) <= 60 else text[:57] + "..."
