"""CSV as spreadsheet programs write it: commas, semicolons or tabs, with or without a byte-order mark, in UTF-8."""

import csv
import io

from woodshop.design.sheets.sheet_grid import SheetGrid
from woodshop.errors import InputError, Problem

_MARKS = (",", ";", "\t")
_SAVE = 'Save it again as "CSV UTF-8".'


def csv_grid(where: str, data: bytes, sheet: str = "") -> SheetGrid:
    """The sheet in a CSV file's bytes; every value is text. Raises InputError for what is no UTF-8 or no CSV.

    Cells separated by the mark that a "sep=" line names, else by that which parts the first line most often.
    Rows are counted as a spreadsheet program counts them: text in quotes may run over several lines of the file.
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
        place, wanted = f"{where}, line {reader.line_num}", "cells in quotes closed, and quotes within them doubled"
        raise InputError(Problem(place, f"text that is no CSV ({why})", wanted, "Mend that line.")) from None
    return SheetGrid(where, values, faults)


def tidy(text: str) -> str:
    """Text without space at its ends; a no-break space, as web pages leave it, is a space like any other."""
    return text.replace("\N{NO-BREAK SPACE}", " ").strip(" \t")


def _text(where: str, data: bytes) -> str:
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise InputError(Problem(where, "text in UTF-16", "text in UTF-8", _SAVE))
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as why:
        line = data.count(b"\n", 0, why.start) + 1
        given = f"a byte that is no UTF-8 ({data[why.start]:#04x})"
        raise InputError(Problem(f"{where}, line {line}", given, "text in UTF-8", _SAVE)) from None
    if "\0" in text:
        line = text.count("\n", 0, text.index("\0")) + 1
        raise InputError(Problem(f"{where}, line {line}", "a byte of nothing (NUL)", "plain text", _SAVE))
    return text


def _separator(text: str) -> tuple[str, bool]:
    """The mark between cells, and whether the first line is there only to name it."""
    first = next((line for line in text.splitlines() if line.strip()), "")
    if first.lower().startswith("sep=") and first[4:5] in (*_MARKS, "|"):
        return first[4], True
    counts = {mark: _outside_quotes(text, mark) for mark in _MARKS}
    return max(_MARKS, key=lambda mark: (counts[mark], -_MARKS.index(mark))), False


def _outside_quotes(text: str, mark: str) -> int:
    """How often the mark parts cells in the row where it does so most, of the first twenty."""
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
