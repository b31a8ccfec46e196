"""Malformed spreadsheets made by a generator: each fault told by its cell, all at once, and nothing taken over."""

import random
from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter

from woodshop.design.orders.lines import read_run
from woodshop.design.sheets import MOST_TOLD
from woodshop.errors import InputError

HEAD = ["Order", "Customer", "Item", "Box", "Count", "Form", "Due", "Priority", "Note"]
DESIGN = """format = "woodshop-design/2"
batch = "b"
unit = "in"
lumberyard = "lumberyard.toml"
orders = "FILE"
[[box]]
name = "mill tens"
frames = 10
width = "16 1/4"
gap = "1/4"
[[set]]
name = "winter set"
item = ["board", "quilt box"]
"""
PEOPLE = ("Anna Voss", "Mill Lane Bees", "Reed & Sons", "Øyvind Krag", "School of St. Ann")
ITEMS = ("board", "winter set", "quilt box", "board + mouse guard", "fondant rim")
BOXES = ("mill tens", "10-frame 16", "10-frame 16 1/4", "8-frame 13 3/4", "5-frame")
FORMS = ("packed", "with mesh", "empty", "unassembled kit")
FIRST = 4  # the first row under the headings; a title stands over them


class Book:
    """A workbook as it will be written: values by cell, and what else is done to the sheet."""

    def __init__(self, seed: int, rows: int = 12) -> None:
        draw = random.Random(seed)
        self.cells: dict[tuple[int, int], Any] = {(1, 1): "Orders, autumn"}
        for n, name in enumerate(HEAD, 1):
            self.cells[3, n] = name
        for row in range(FIRST, FIRST + rows):
            values = (f"T-{row}", draw.choice(PEOPLE), draw.choice(ITEMS), draw.choice(BOXES), draw.randint(1, 90),
                      draw.choice(FORMS), date(2026, 11, draw.randint(1, 28)), draw.randint(1, 9), None)  # fmt: skip
            for column, value in enumerate(values, 1):
                self.cells[row, column] = value
        self.formats: dict[tuple[int, int], dict[str, Any]] = {}
        self.formulas: dict[tuple[int, int], tuple[str, Any]] = {}
        self.hidden: set[int] = set()
        self.hidden_columns: set[int] = set()
        self.merged: list[tuple[int, int, int, int]] = []
        self.more_sheets: dict[str, str] = {}
        self.name = "Orders"

    def write(self, path: Path) -> None:
        with xlsxwriter.Workbook(path, {"strings_to_formulas": False}) as book:
            sheet = book.add_worksheet(self.name)
            for (row, column), value in self.cells.items():
                if (row, column) in self.formulas or value is None:
                    continue
                look = dict(self.formats.get((row, column), {}))
                if isinstance(value, date):
                    look.setdefault("num_format", "yyyy-mm-dd")
                form = book.add_format(look)
                if isinstance(value, bool):
                    sheet.write_boolean(row - 1, column - 1, value, form)
                elif isinstance(value, datetime):
                    sheet.write_datetime(row - 1, column - 1, value, form)
                elif isinstance(value, date):
                    sheet.write_datetime(row - 1, column - 1, datetime(value.year, value.month, value.day), form)
                elif isinstance(value, str):
                    sheet.write_string(row - 1, column - 1, value, form)
                else:
                    sheet.write_number(row - 1, column - 1, value, form)
            for (row, column), (formula, value) in self.formulas.items():
                sheet.write_formula(row - 1, column - 1, formula, None, value)
            for row in self.hidden:
                sheet.set_row(row - 1, None, None, {"hidden": True})
            for column in self.hidden_columns:
                sheet.set_column(column - 1, column - 1, None, None, {"hidden": True})
            for top, left, bottom, right in self.merged:
                sheet.merge_range(top - 1, left - 1, bottom - 1, right - 1, self.cells[top, left])
            for name, text in self.more_sheets.items():
                book.add_worksheet(name).write_string(0, 0, text)


def cell(row: int, column: int) -> str:
    return f"cell {'ABCDEFGHIJK'[column - 1]}{row}"


Fault = Callable[[Book, int], str]


def put(column: int, value: Any) -> Fault:
    """A wrong value in that column of a row."""

    def spoil(book: Book, row: int) -> str:
        book.cells[row, column] = value
        return cell(row, column)

    return spoil


def formula(column: int, text: str, value: Any) -> Fault:
    def spoil(book: Book, row: int) -> str:
        book.formulas[row, column] = (text, value)
        return cell(row, column)

    return spoil


def struck(column: int) -> Fault:
    def spoil(book: Book, row: int) -> str:
        book.formats[row, column] = {"font_strikeout": True}
        return cell(row, column)

    return spoil


def hide(book: Book, row: int) -> str:
    book.hidden.add(row)
    return f"row {row}"


CUSTOMER, ITEM, BOX, COUNT, FORM, DUE, PRIORITY, NOTE = range(2, 10)
IN_A_ROW: dict[str, Fault] = {
    "no customer": put(CUSTOMER, None),
    "a customer of spaces": put(CUSTOMER, "   "),
    "a number for a customer": put(CUSTOMER, 12),
    "a truth value for a customer": put(CUSTOMER, True),
    "two lines of name": put(CUSTOMER, "Anna\nVoss"),
    "a tab in a name": put(CUSTOMER, "Anna\tVoss"),
    "a bell in a name": put(CUSTOMER, "Anna\x07Voss"),
    "right to left": put(CUSTOMER, "Anna \u202e ssoV"),
    "a mark of direction": put(CUSTOMER, "Anna\u200f"),
    "nothing as wide as nothing": put(CUSTOMER, "An\u200bna"),
    "a name without end": put(CUSTOMER, "A" * 61),
    "no item": put(ITEM, None),
    "an item misspelt": put(ITEM, "quilt bocks"),
    "one of two items misspelt": put(ITEM, "board + mouse gard"),
    "an item twice": put(ITEM, "board + fondant rim"),
    "an item of the whole run": put(ITEM, "packing blocks"),
    "a plus too many": put(ITEM, "board + "),
    "a number for an item": put(ITEM, 3),
    "no box": put(BOX, None),
    "a box nobody knows": put(BOX, "mill elevens"),
    "a width of no maker": put(BOX, "10-frame 15"),
    "a width left open": put(BOX, "10-frame"),
    "frames of no maker": put(BOX, "9-frame 15"),
    "a measured file elsewhere": put(BOX, "../wren-boxes.toml"),
    "no count": put(COUNT, None),
    "nothing wanted": put(COUNT, 0),
    "less than nothing": put(COUNT, -4),
    "half a hive": put(COUNT, 2.5),
    "words for a count": put(COUNT, "a dozen"),
    "a count with its unit": put(COUNT, "12 boards"),
    "a count with a comma": put(COUNT, "1,200"),
    "a truth value for a count": put(COUNT, True),
    "a day for a count": put(COUNT, date(2026, 11, 3)),
    "more than there are bees": put(COUNT, 10_000_000),
    "a formula never reckoned": formula(COUNT, "=SUM(A1:A2)", ""),
    "a broken formula": formula(COUNT, "=1/0", "#DIV/0!"),
    "a broken link": formula(CUSTOMER, "=Old!A1", "#REF!"),
    "a form misspelt": put(FORM, "pakced"),
    "a form of no meaning": put(FORM, "x"),
    "a board without form": put(FORM, None),
    "a day read in two ways": put(DUE, "10/11/26"),
    "a day with dots": put(DUE, "3.11.2026"),
    "a day in words": put(DUE, "mid November"),
    "a day not in the calendar": put(DUE, "2026-11-31"),
    "a bare number for a day": put(DUE, 46_337),
    "a day with an hour": put(DUE, datetime(2026, 11, 3, 14, 30)),
    "a year of another age": put(DUE, date(1926, 11, 3)),
    "priority nought": put(PRIORITY, 0),
    "priority ten": put(PRIORITY, 10),
    "priority in words": put(PRIORITY, "high"),
    "a note of two lines": put(NOTE, "ring first\nthen come"),
    "a value under no heading": put(11, "see me"),
    "struck through": struck(CUSTOMER),
    "a count struck through": struck(COUNT),
    "a hidden row": hide,
}


def merged(book: Book) -> str:
    book.merged.append((6, CUSTOMER, 8, CUSTOMER))
    return "cells B6:B8"


def heading(column: int, text: str | None, said: str) -> Callable[[Book], str]:
    def spoil(book: Book) -> str:
        book.cells[3, column] = text
        return said

    return spoil


def hidden_column(book: Book) -> str:
    book.hidden_columns.add(PRIORITY)
    return "column H"


def two_sheets(book: Book) -> str:
    book.name, book.more_sheets = "Autumn", {"Spring": "x"}
    return "orders.xlsx: given the sheets Autumn, Spring"


def empty(book: Book) -> str:
    book.cells.clear()
    return "orders.xlsx"


def headings_alone(book: Book) -> str:
    book.cells = {at: value for at, value in book.cells.items() if at[0] <= 3}
    return "sheet Orders"


def far_below(book: Book) -> str:
    book.cells[30_000, 1] = "x"
    return "sheet Orders"


def two_above(book: Book) -> str:
    book.cells[1, 2] = "page 1"
    return "row 1"


def twice(book: Book) -> str:
    for column in range(1, 9):
        book.cells[9, column] = book.cells[5, column]
    return "cell C9"


def spelled_otherwise(book: Book) -> str:
    book.cells[5, CUSTOMER], book.cells[9, CUSTOMER] = "Reed & Sons", "reed  & sons"
    book.cells[4, CUSTOMER] = book.cells[6, CUSTOMER] = book.cells[7, CUSTOMER] = book.cells[8, CUSTOMER] = "Anna"
    return "cell B9"


OF_THE_SHEET: dict[str, Callable[[Book], str]] = {
    "merged cells": merged,
    "a heading misspelt": heading(COUNT, "Cuont", "cell E3"),
    "a heading of no meaning": heading(NOTE, "Colour", "cell I3"),
    "no heading over what stands there": heading(PRIORITY, None, "cell H4"),
    "no column of counts": heading(COUNT, "Colour", "row 3"),
    "a heading twice": heading(FORM, "Item", "cell F3"),
    "a heading twice in other words": heading(FORM, "Qty", "cell F3"),
    "a hidden column": hidden_column,
    "two sheets": two_sheets,
    "an empty sheet": empty,
    "headings without rows": headings_alone,
    "something far below": far_below,
    "two cells above the headings": two_above,
    "the same order twice": twice,
    "one name in two spellings": spelled_otherwise,
}


@pytest.fixture
def folder(tmp_path: Path, designs: Path) -> Path:
    """A folder with a lumberyard, a measured file, and a design that takes its orders from orders.xlsx."""
    (tmp_path / "lumberyard.toml").write_bytes((designs / "creekside-lumberyard.toml").read_bytes())
    (tmp_path / "wren-boxes.toml").write_bytes((designs / "wren-boxes.toml").read_bytes())
    (tmp_path / "design.toml").write_text(DESIGN.replace("FILE", "orders.xlsx"), encoding="utf-8")
    return tmp_path


def refused(folder: Path, book: Book) -> list[str]:
    book.write(folder / "orders.xlsx")
    before = sorted(folder.rglob("*"))
    with pytest.raises(InputError) as caught:
        read_run(folder / "design.toml")
    assert sorted(folder.rglob("*")) == before
    told = [str(problem) for problem in caught.value.problems]
    assert len(told) == len(set(told))
    return told


def test_there_are_over_fifty_kinds_of_fault() -> None:
    assert len(IN_A_ROW) + len(OF_THE_SHEET) >= 50


@pytest.mark.parametrize("seed", range(8))
def test_unspoilt_books_are_read(folder: Path, seed: int) -> None:
    book = Book(seed)
    book.write(folder / "orders.xlsx")
    design = read_run(folder / "design.toml")
    counts = [book.cells[row, COUNT] for row in range(FIRST, FIRST + 12)]
    assert [hives.count for hives in design.hives] == counts


@pytest.mark.parametrize("name", IN_A_ROW)
def test_one_fault_in_a_row_is_told_by_its_cell_alone(folder: Path, name: str) -> None:
    for seed in range(3):
        book, row = Book(seed), FIRST + 3 * seed + 1
        book.cells[row, ITEM] = "board"  # which needs a form
        said = IN_A_ROW[name](book, row)
        told = refused(folder, book)
        assert len(told) == 1, told
        assert f"orders.xlsx, sheet Orders, {said}: given " in told[0], told


@pytest.mark.parametrize("name", OF_THE_SHEET)
def test_a_fault_of_the_sheet_is_told_by_its_place(folder: Path, name: str) -> None:
    book = Book(1)
    said = OF_THE_SHEET[name](book)
    assert any(said in line for line in refused(folder, book))


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(25))
def test_many_faults_are_all_told_at_once(folder: Path, seed: int) -> None:
    """Every row gets a fault of its own, drawn at random; every cell of them is named, and no other."""
    draw = random.Random(seed)
    book = Book(seed)
    hidden = "a hidden row", "a board without form"
    names = draw.sample([name for name in IN_A_ROW if name not in hidden], 12)
    said = {IN_A_ROW[name](book, row) for row, name in enumerate(names, FIRST)}
    told = refused(folder, book)
    places = {line.partition(": given")[0].partition("sheet Orders, ")[2] for line in told}
    assert places == said


def test_of_very_many_faults_the_first_hundred_are_told(folder: Path) -> None:
    book = Book(0, rows=400)
    for row in range(FIRST, FIRST + 400):
        book.cells[row, COUNT] = "many"
    told = refused(folder, book)
    assert len(told) == MOST_TOLD + 1
    assert told[-1].startswith("and so on: given 300 faults more")


# ---- files that are no spreadsheet -------------------------------------------------------------


def no_book(folder: Path, data: bytes, name: str = "orders.xlsx") -> str:
    (folder / name).write_bytes(data)
    (folder / "design.toml").write_text(DESIGN.replace("FILE", name), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_run(folder / "design.toml")
    (problem,) = caught.value.problems
    return str(problem)


def test_what_is_no_workbook_is_refused_in_one_sentence(folder: Path) -> None:
    Book(0).write(folder / "orders.xlsx")
    good = (folder / "orders.xlsx").read_bytes()
    assert "not a workbook" in no_book(folder, b"")
    assert "not a workbook" in no_book(folder, b"Customer,Item\n")
    assert "not a workbook" in no_book(folder, good[: len(good) // 2])
    assert "password" in no_book(folder, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600))
    assert "over 5 MB" in no_book(folder, bytes(6_000_000))
    assert "'.ods'" in no_book(folder, good, "orders.ods")
    assert "without ending" in no_book(folder, good, "orders")


@pytest.mark.invariant
def test_a_workbook_with_any_byte_changed_is_read_or_refused(folder: Path) -> None:
    """Never anything but the same orders, or InputError: a zip keeps a check sum of each of its files."""
    Book(0, rows=3).write(folder / "orders.xlsx")
    good = (folder / "orders.xlsx").read_bytes()
    whole = read_run(folder / "design.toml")
    draw = random.Random(7)
    for _ in range(150):
        at = draw.randrange(len(good))
        (folder / "orders.xlsx").write_bytes(good[:at] + bytes([good[at] ^ draw.randint(1, 255)]) + good[at + 1 :])
        try:
            read = read_run(folder / "design.toml")
        except InputError:
            continue
        assert read.hives == whole.hives


def test_entities_and_great_sizes_are_not_unpacked(folder: Path) -> None:
    import io
    import zipfile

    Book(0).write(folder / "orders.xlsx")
    bomb, bloated = io.BytesIO(), io.BytesIO()
    with zipfile.ZipFile(folder / "orders.xlsx") as good, zipfile.ZipFile(bomb, "w") as bad:
        for name in good.namelist():
            data = good.read(name)
            if name.endswith("sheet1.xml"):
                data = data.replace(b"<worksheet", b'<!DOCTYPE x [<!ENTITY a "b">]><worksheet', 1)
            bad.writestr(name, data)
    assert "document type" in no_book(folder, bomb.getvalue())
    with zipfile.ZipFile(bloated, "w", zipfile.ZIP_DEFLATED) as bad:
        bad.writestr("xl/worksheets/sheet1.xml", bytes(70_000_000))
    assert "over 16 MB" in no_book(folder, bloated.getvalue())


def _with_sheet(folder: Path, old: str, new: str) -> bytes:
    """The good workbook with one text of its sheet replaced."""
    import io
    import zipfile

    Book(0).write(folder / "orders.xlsx")
    made = io.BytesIO()
    with zipfile.ZipFile(folder / "orders.xlsx") as good, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as bad:
        for name in good.namelist():
            text = good.read(name)
            if name.endswith("sheet1.xml"):
                assert old.encode() in text
                text = text.replace(old.encode(), new.encode(), 1)
            bad.writestr(name, text)
    return made.getvalue()


@pytest.mark.parametrize(
    ("new", "said"),
    [
        ('<mergeCells><mergeCell ref="A1:XFD1048576"/></mergeCells>', "at most 300000"),
        ("<mergeCells>" + '<mergeCell ref="A5:SZ1005"/>' * 3 + "</mergeCells>", "at most 300000"),
        ('<mergeCells><mergeCell ref="A1&#58;XFD1048576"/></mergeCells>', "at most 300000"),
        ('<mergeCells><mergeCell ref="1:1048576"/></mergeCells>', "the range '1:1048576'"),
        ('<hyperlinks><hyperlink ref="$A$1:$XFD$1048576" location="x"/></hyperlinks>', "at most 300000"),
        ('<mergeCells><mergeCell ref="A1:"/></mergeCells>', "the range 'A1:'"),
        ("<mergeCells", "damaged one"),
    ],
)
def test_ranges_are_counted_before_they_are_laid_out(folder: Path, new: str, said: str) -> None:
    assert said in no_book(folder, _with_sheet(folder, "</sheetData>", f"</sheetData>{new}"))


@pytest.mark.parametrize("row", ["<row", '<row r="x"', '<row r="1"><c r="XFD1048576"><v>1</v></c></row><row'])
def test_a_cell_far_out_and_damaged_rows_are_one_error(folder: Path, row: str) -> None:
    data = _with_sheet(folder, "<row", row)
    if row != "<row":
        no_book(folder, data)


def test_whatever_the_library_raises_is_one_error(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where it raises only as the cells are looked at."""
    import openpyxl
    from openpyxl.cell import Cell

    def fail(*_: object, **__: object) -> None:
        raise LookupError("a style that is not there")

    Book(0).write(folder / "orders.xlsx")
    good = (folder / "orders.xlsx").read_bytes()
    with monkeypatch.context() as patch:
        patch.setattr(Cell, "font", property(fail), raising=False)
        assert "LookupError" in no_book(folder, good)
    with monkeypatch.context() as patch:
        patch.setattr(openpyxl, "load_workbook", fail)
        assert "LookupError" in no_book(folder, good)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "orders.csv: given an empty sheet"),
        ("Customer,Item\nZoë".encode("latin-1"), "orders.csv, line 2: given a byte that is not UTF-8 (0xeb)"),
        ("Customer,Item\nAnna".encode("utf-16"), "orders.csv: given text in UTF-16"),
        (b"Customer,Item\n\0", "orders.csv, line 2: given a NUL byte"),
        (b'Customer,Item\n"Anna,board\n', "orders.csv, line 2: given text that is not CSV"),
        (b'Customer,Item\n"Anna" Voss,board\n', "orders.csv, line 2: given text that is not CSV"),
    ],
)
def test_what_is_no_csv_is_refused_by_its_line(folder: Path, data: bytes, said: str) -> None:
    assert no_book(folder, data, "orders.csv").startswith(said)


def test_a_comma_within_a_name_without_quotes_is_found(folder: Path) -> None:
    text = b"Customer,Item,Box,Count,Form\nVoss, Anna,board,mill tens,4,packed\n"
    (folder / "orders.csv").write_bytes(text)
    (folder / "design.toml").write_text(DESIGN.replace("FILE", "orders.csv"), encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_run(folder / "design.toml")
    assert "orders.csv, cell F2: given 'packed' under no heading" in str(caught.value)


def test_a_missing_file_is_told_by_its_name(folder: Path) -> None:
    with pytest.raises(InputError, match=r"orders\.xlsx: given no such file"):
        read_run(folder / "design.toml")
