"""Workbooks read: the sheet that is wanted, its values, and what of them cannot be trusted."""

import io
import re
import warnings
import zipfile
from datetime import date, datetime, time
from html import unescape
from typing import Any

from woodshop.design.sheets.csv_sheet import tidy
from woodshop.design.sheets.sheet_grid import MOST_ROWS, SheetGrid, letters
from woodshop.errors import InputError, Problem

_MOST_UNPACKED = 16_000_000
_MOST_COLUMNS = 200
_MOST_CELLS, _MOST_FILES, _MOST_OTHER = 300_000, 1_000, 100_000
_LAST_COLUMN = 16_384  # of a workbook of this kind (ECMA-376)
_CELL = re.compile(rb"<(?:\w+:)?(?:c|row)[\s/>]")
_RANGE = re.compile(rb"<(?:\w+:)?(?:mergeCell|hyperlink)\s[^>]*?\bref\s*=\s*[\"']([^\"']*)")
_CORNERS = re.compile(r"([A-Za-z]{1,3})([0-9]{1,7})(?::([A-Za-z]{1,3})([0-9]{1,7}))?")
_COLUMNS = re.compile(rb"<(?:\w+:)?col\s[^>]*?\bmax\s*=\s*[\"']([0-9]+)")
_OLD = b"\xd0\xcf\x11\xe0"  # how old workbooks, and those with a password, begin
_ESCAPED = re.compile(r"_x([0-9A-Fa-f]{4})_")  # how a workbook writes control characters (ECMA-376, ST_Xstring)
_ERRORS = ("#NULL!", "#DIV/0!", "#VALUE!", "#REF!", "#NAME?", "#NUM!", "#N/A")


def xlsx_grid(where: str, data: bytes, sheet: str = "") -> SheetGrid:
    """The sheet of that name, or the only one that holds anything, in a workbook's bytes.

    A formula stands for the value that was last reckoned. Raises InputError where nothing can be read.
    """
    try:
        _unpacks(where, data)
        return _read(where, data, sheet)
    except InputError:
        raise
    except Exception as why:  # the libraries raise whatever a broken file leads them to, also while it is read
        raise InputError(
            _broken(where, f"a file that is no workbook, or a damaged one ({type(why).__name__})")
        ) from None


def _read(where: str, data: bytes, sheet: str) -> SheetGrid:
    told, reckoned = _opened(where, data, False), _opened(where, data, True)
    name, unread = _sheet(where, told, sheet)
    page, values_page = told[name], reckoned[name]
    place = f"{where}, sheet {name}"
    if _is_vast(page):
        given = f"cells down to {letters(page.max_column)}{page.max_row}"
        wanted = f"at most {MOST_ROWS} rows and {_MOST_COLUMNS} columns"
        raise InputError(Problem(place, given, wanted, "Delete the empty rows and columns far out, and save it anew."))
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


def _value(cell: Any, reckoned: object) -> tuple[object, tuple[str, str, str] | None]:
    """What a cell holds, and what is wrong with that; a value of a formula where it has been reckoned."""
    value = cell.value
    if cell.data_type == "f":
        if reckoned is None:
            do = "Open it in the spreadsheet program and save it, or type the value."
            return "a formula", ("a formula that was never reckoned", "a value", do)
        value = reckoned
    if isinstance(value, str):
        if cell.data_type != "s" and value in _ERRORS:
            return value, (f"the error {value}", "a value", "Mend the formula, or type the value.")
        value = tidy(_ESCAPED.sub(lambda match: chr(int(match[1], 16)), value)) or None
        if value is not None and any("\ud800" <= letter <= "\udfff" for letter in value):
            return value, (f"text with half a character, {value[:40]!a}", "text", "Type it anew.")
    if value is not None and cell.font is not None and cell.font.strike:
        do = "Delete the row if the order is off; take off the line if it holds."
        return value, (f"{value!r}, struck through" if isinstance(value, str) else f"{value}, struck through",
                       "text that holds", do)  # fmt: skip
    if isinstance(value, datetime) and value.time() == time():
        value = value.date()
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    known = isinstance(value, str | int | float | date) or value is None
    return (value, None) if known else (str(value), (f"{value}", "text, a number or a date", "Type it anew."))


def _sheet(where: str, book: Any, wanted: str) -> tuple[str, tuple[str, ...]]:
    """The sheet to read, and those beside it that hold something and are not read."""
    seen = [page.title for page in book.worksheets if page.sheet_state == "visible"]
    full = [
        page.title
        for page in book.worksheets
        if _is_vast(page) or any(cell.value is not None for row in page.rows for cell in row)
    ]
    named = [name for name in full if name.casefold() == wanted.casefold()]
    chosen = named or full
    if not chosen:
        raise InputError(Problem(where, "a workbook in which nothing stands", "a sheet", "Is it the right file?"))
    if len(chosen) > 1:
        given = f"the sheets {', '.join(chosen)}"
        raise InputError(Problem(where, given, f"one sheet, or one called {wanted}", f"Call the one meant {wanted}."))
    if chosen[0] not in seen:
        given, wanted_here = f"the sheet {chosen[0]}, hidden", "a sheet that can be seen"
        raise InputError(Problem(where, given, wanted_here, "Show it, and look at what it holds."))
    return chosen[0], tuple(name for name in full if name != chosen[0])


def _is_vast(page: Any) -> bool:
    """Whether a cell is so far out that going over all before it would take very long."""
    return bool(page.max_row > MOST_ROWS or page.max_column > _MOST_COLUMNS)


def _opened(where: str, data: bytes, reckoned: bool) -> Any:
    import openpyxl

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of what is not read: pictures, lists to choose from, colours
        return openpyxl.load_workbook(io.BytesIO(data), data_only=reckoned)


def _unpacks(where: str, data: bytes) -> None:
    """Refuse what is no workbook, what a password closes, and what unpacks to far more than a sheet of orders."""
    if data[:4] == _OLD:
        do = "Take off the password, and save it as .xlsx."
        raise InputError(Problem(where, "an old workbook, or one with a password", "a plain .xlsx workbook", do))
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        if sum(each.file_size for each in packed.infolist()) > _MOST_UNPACKED or len(packed.infolist()) > _MOST_FILES:
            given, do = "a workbook that unpacks to over 16 MB", "Is it the right file? Take out pictures."
            raise InputError(Problem(where, given, "a sheet of some hundred lines", do))
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
            given, wanted = f"a workbook of {read} cells, those of ranges counted", f"at most {_MOST_CELLS}"
            raise InputError(Problem(where, given, wanted, "Save the sheet of orders as a file of its own."))


def _cells(where: str, text: bytes) -> int:
    """How many cells the library will make of a file of the workbook, before it makes any.

    It makes one for each cell of a merged range, or of a range with a link, whatever the range holds.
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
