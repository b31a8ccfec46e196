"""The workbook: what it says is what was planned, its formulas give just that, and texts stay texts."""

import io
import re
import shutil
import zipfile
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from woodshop.design.settings.buying import Days
from woodshop.documents.lists import plain, workbook
from woodshop.documents.plan_design import checked_file
from woodshop.plan.buy_list import buy
from woodshop.plan.cost import unit_costs
from woodshop.plan.plan_batch import plan_batch
from woodshop.plan.values import PlannedBatch, Unpriced
from woodshop.units.lengths import Money

DANGEROUS = ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", '=HYPERLINK("a")', "http://a.example", "'=1", "{=1}")

FEW = """format = "woodshop-design/2"
batch = "few"
title = "Winter boards"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
[[hives]]
name = "tens"
frames = 10
count = 3
gap = "1/4"
[[hives]]
name = "eights"
frames = 8
count = 2
gap = "1/4"
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips", "packing blocks", "quilt box"]
"""


class Sheets:
    """Reckons the formulas of a workbook in exact numbers, from their texts alone; knows only the functions used."""

    def __init__(self, data: bytes) -> None:
        self.book = openpyxl.load_workbook(io.BytesIO(data))
        self.known: dict[tuple[str, str], Any] = {}

    def value(self, sheet: str, cell: str) -> Any:
        """A cell's value: that of its formula, or what stands in it."""
        at = (sheet, cell.replace("$", ""))
        if at not in self.known:
            found = self.book[at[0]][at[1]].value
            is_formula = self.book[at[0]][at[1]].data_type == "f"
            self.known[at] = self._reckon(found[1:], sheet) if is_formula else found
            if isinstance(found, int | float):
                self.known[at] = Fraction(str(found))
        return self.known[at]

    def _cells(self, sheet: str, first: str, last: str) -> list[Any]:
        rows = self.book[sheet][f"{first}:{last}".replace("$", "")]
        return [self.value(sheet, cell.coordinate) for row in rows for cell in row]

    def _reckon(self, formula: str, sheet: str) -> Any:
        cell = r"\$?[A-Z]{1,3}\$?\d+"
        assert re.fullmatch(rf"(?:(?:Buy!|Shares!)?{cell}|[A-Z]+(?=\()|\d+|[-+*/:,()=<])*", formula), formula
        code = re.sub(r"(?<!<)=", "==", formula)
        code = re.sub(rf"(?:(\w+)!)?({cell}):({cell})", lambda m: f"_cells('{m[1] or sheet}','{m[2]}','{m[3]}')", code)
        code = re.sub(
            rf"(?<!['A-Z$])(?:(\w+)!)?({cell})(?!['\d])", lambda m: f"_value('{m[1] or sheet}','{m[2]}')", code
        )
        code = re.sub(r"(?<![\w'$!])(\d+)(?![\w'])", r"_whole(\1)", code)
        names = {
            "_cells": self._cells, "_value": self.value, "_whole": Fraction,
            "SUM": lambda *a: sum((v for x in a for v in (x if isinstance(x, list) else [x])), Fraction(0)),
            "ROUND": lambda v, n: Fraction(int(v * 10 ** int(n) + Fraction(1, 2)), 10 ** int(n)),
            "INT": lambda v: Fraction(v // 1),
            "MOD": lambda v, n: v % n,
            "IF": lambda test, yes, no: yes() if test else no(),
            "RANK": lambda v, all_: Fraction(1 + sum(other > v for other in all_)),
            "COUNTIF": lambda all_, v: Fraction(sum(other == v for other in all_)),
        }  # fmt: skip
        code = _late(code)
        return eval(code, {"__builtins__": {}, **names})


def _late(code: str) -> str:
    """The two outcomes of every IF as functions: only the one that is wanted is reckoned."""
    at = code.find("IF(")
    while at >= 0:
        if at == 0 or not code[at - 1].isalpha():
            depth, commas = 0, []
            for n in range(at + 2, len(code)):
                depth += (code[n] == "(") - (code[n] == ")")
                if code[n] == "," and depth == 1:
                    commas.append(n)
                if depth == 0:
                    break
            first, second = commas
            code = f"{code[: first + 1]}lambda:{code[first + 1 : second + 1]}lambda:{code[second + 1 :]}"
        at = code.find("IF(", at + 3)
    return code


@pytest.fixture(scope="module")
def bought(
    batches: dict[str, PlannedBatch], designs: Path, tmp_path_factory: pytest.TempPathFactory
) -> dict[str, PlannedBatch]:
    """A few boards planned for a first look, and the production run bought as if it took 3 or more of every offer."""
    folder = tmp_path_factory.mktemp("few")
    shutil.copy(designs / "creekside-lumberyard.toml", folder)
    (folder / "few.toml").write_text(FEW)
    batch, units, report = checked_file(folder / "few.toml")
    few = plan_batch(batch, units, report, progress=lambda _: None, effort="quick")
    run = batches["production-run"]
    goods, unpriced = buy(run.batch, run.units, ())
    stock = tuple(
        replace(goods[0], group=each.job.material.name, what=offer.what, count=3 + n, price=offer.price)
        for each in run.plans
        for n, offer in enumerate(each.job.offers)
        if not offer.label
    )
    costs = unit_costs(run.batch, run.units, stock + goods)
    return {"few": few, "run": replace(run, plans=(), purchases=stock + goods, unpriced=unpriced, costs=costs)}


@pytest.fixture(params=("few", "run"))
def planned(request: pytest.FixtureRequest, bought: dict[str, PlannedBatch]) -> PlannedBatch:
    """One of them after the other."""
    return bought[request.param]


def _assert_says(sheets: Sheets, planned: PlannedBatch) -> None:
    """The workbook's formulas give the totals of the purchases and of every unit, and what one costs."""
    for n, purchase in enumerate(planned.purchases, 2):
        assert sheets.value("Buy", f"E{n}") == Fraction(purchase.total.minor, 100)
    assert sheets.value("Buy", f"E{len(planned.purchases) + 2}") == Fraction(planned.total.minor, 100)
    currency = planned.batch.lumberyard.currency
    for n, cost in enumerate(planned.costs, 2):
        assert sheets.value("Cost", f"A{n}") == cost.address
        assert sheets.value("Cost", f"D{n}") == Fraction(cost.total.minor, 100)
        assert str(Money(int(sheets.value("Cost", f"C{n}") * 100), currency)) == cost.each
    assert sheets.value("Cost", f"D{len(planned.costs) + 2}") == Fraction(planned.total.minor, 100)


@pytest.mark.invariant
def test_formulas_give_the_planned_totals_to_the_cent(planned: PlannedBatch) -> None:
    sheets = Sheets(workbook(planned))
    _assert_says(sheets, planned)
    assert len([cell for row in sheets.book["Cost"].iter_rows() for cell in row if cell.data_type == "f"]) == (
        2 * len(planned.costs) + 1
    )


@pytest.mark.invariant
def test_values_kept_beside_the_formulas_are_those_that_they_give(planned: PlannedBatch) -> None:
    """A program that shows the file without reckoning shows the same."""
    data = workbook(planned)
    sheets = Sheets(data)
    kept = openpyxl.load_workbook(io.BytesIO(data), data_only=True)
    count = 0
    for sheet in sheets.book:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    count += 1
                    value = float(sheets.value(sheet.title, cell.coordinate))
                    assert kept[sheet.title][cell.coordinate].value == pytest.approx(value, abs=1e-9)
    assert count > 100


@pytest.mark.invariant
@pytest.mark.parametrize("cents", [0, 1, 733, 99_999])
def test_another_price_in_its_cell_changes_totals_and_costs_as_planning_would(
    bought: dict[str, PlannedBatch], cents: int
) -> None:
    """The first purchase at another price: what the cost module makes of it is what the formulas make of it."""
    planned = bought["few"]
    sheets = Sheets(workbook(planned))
    sheets.book["Buy"]["D2"].value = cents / 100
    first = replace(planned.purchases[0], price=Money(cents))
    purchases = (first, *planned.purchases[1:])
    costs = unit_costs(planned.batch, planned.units, purchases)
    assert costs != planned.costs
    _assert_says(sheets, replace(planned, purchases=purchases, costs=costs))


def test_parts_and_cuts_are_listed_as_text_and_as_number(bought: dict[str, PlannedBatch]) -> None:
    planned = bought["few"]
    sheets = Sheets(workbook(planned))
    rows = list(sheets.book["Parts"].iter_rows(min_row=2, values_only=True))
    needs = [need for each in planned.plans for need in each.job.needs]
    assert [row[0] for row in rows] == [need.mark for need in needs]
    for row, need in zip(rows, needs, strict=True):
        assert row[2] == need.count
        assert row[3:9:2] == tuple(size.number("in") for size in need.part.size)
        assert row[4:9:2] == pytest.approx([float(size.inches) for size in need.part.size])
    cuts = list(sheets.book["Cuts"].iter_rows(min_row=2, values_only=True))
    pieces: dict[str, int] = {}
    for row in cuts:
        pieces[str(row[3])] = pieces.get(str(row[3]), 0) + int(str(row[2]))
    assert pieces == {need.mark: need.count for need in needs}


@pytest.mark.parametrize("text", DANGEROUS)
def test_what_a_user_wrote_is_never_a_formula_or_a_link(bought: dict[str, PlannedBatch], text: str) -> None:
    planned = bought["few"]
    odd = replace(planned.purchases[0], what=text, why=text)
    costs = (replace(planned.costs[0], address=text), *planned.costs[1:])
    changed = replace(
        planned,
        batch=replace(planned.batch, pages=replace(planned.batch.pages, title=text), name=text),
        purchases=(odd, *planned.purchases[1:]),
        costs=costs,
        unpriced=(Unpriced(text, text),),
    )
    data = workbook(changed)
    book = openpyxl.load_workbook(io.BytesIO(data))
    for sheet, address in (("Buy", "B2"), ("Buy", "F2"), ("Cost", "A2"), ("Shares", "A2")):
        cell = book[sheet][address]
        assert (cell.data_type, cell.value, cell.hyperlink) == ("s", text.strip(), None)
        assert bool(cell.quotePrefix) == (text.strip()[0] in "=+-@")
    formulas = {str(c.value) for s in book for row in s.iter_rows() for c in row if c.data_type == "f"}
    assert not any("HYPERLINK" in formula for formula in formulas)
    _assert_says(Sheets(data), replace(changed, costs=(replace(costs[0], address=text.strip()), *costs[1:])))


def test_controls_and_turned_text_do_no_harm(bought: dict[str, PlannedBatch]) -> None:
    """Hebrew stays; marks that turn the line around it, controls and broken characters go; long texts are cut."""
    text = "\u202eמסגרת\u202c \x00\x07\x0b\ud800\ufffe & <b> _x0041_ \u2067abc\u2069"
    assert plain(text) == "מסגרת & <b> _x0041_ abc"
    assert len(plain("x" * 40_000)) == 32_767
    planned = bought["few"]
    odd = replace(planned.purchases[0], what=text, why="y" * 40_000)
    batch = replace(planned.batch, pages=replace(planned.batch.pages, title="\u202eמסגרת\x07&D&P"))
    book = openpyxl.load_workbook(
        io.BytesIO(workbook(replace(planned, batch=batch, purchases=(odd, *planned.purchases[1:]))))
    )
    assert book["Buy"]["B2"].value == plain(text)
    assert len(str(book["Buy"]["F2"].value)) == 32_767
    assert book.properties.title == "מסגרת&D&P"
    assert book["Buy"].oddHeader.left.text == "מסגרת&&D&&P"


def test_sheets_print_their_headings_and_keep_them_in_sight(bought: dict[str, PlannedBatch]) -> None:
    for name, title in (("few", "Winter boards"), ("run", "Autumn run")):
        book = openpyxl.load_workbook(io.BytesIO(workbook(bought[name])))
        assert book.sheetnames == ["Buy", "Cost", "Cuts", "Parts", "Shares"]
        for sheet in book:
            assert sheet.freeze_panes == "A2"
            assert sheet.print_title_rows == "$1:$1"
            assert sheet.column_dimensions["A"].width > 5
            assert title in str(sheet.oddHeader.left.text)


def test_a_packet_with_errors_says_do_not_cut_on_every_printed_sheet(batches: dict[str, PlannedBatch]) -> None:
    from woodshop.findings import Finding, Report, Severity

    planned = replace(batches["hobby-batch"], plans=())
    assert not planned.report.has_errors
    fault = replace(planned.report.findings[0], severity=Severity.ERROR)
    assert isinstance(fault, Finding)
    book = openpyxl.load_workbook(io.BytesIO(workbook(replace(planned, report=Report((fault,))))))
    assert {sheet.oddHeader.center.text for sheet in book} == {"&BDO NOT CUT"}


def test_the_same_batch_gives_the_same_bytes_with_the_date_of_the_design(bought: dict[str, PlannedBatch]) -> None:
    planned = replace(bought["run"], batch=replace(bought["run"].batch, days=Days(on_by=date(2026, 12, 1))))
    data = workbook(planned)
    assert workbook(planned) == data
    book = openpyxl.load_workbook(io.BytesIO(data))
    assert book.properties.created.date() == date(2026, 12, 1)
    assert {entry.date_time[:3] for entry in zipfile.ZipFile(io.BytesIO(data)).infolist()} == {(1980, 1, 1)}
    assert b"<Application>woodshop</Application>" in zipfile.ZipFile(io.BytesIO(data)).read("docProps/app.xml")
    undated = replace(planned, batch=replace(planned.batch, days=Days()))
    assert openpyxl.load_workbook(io.BytesIO(workbook(undated))).properties.created.year == 2000


def test_another_currency_stands_in_the_cells_format(bought: dict[str, PlannedBatch]) -> None:
    planned = bought["few"]
    lumberyard = replace(planned.batch.lumberyard, currency="EUR")
    purchases = tuple(replace(p, price=Money(p.price.minor, "EUR")) for p in planned.purchases)
    planned = replace(planned, bills=())
    euros = replace(planned, batch=replace(planned.batch, lumberyard=lumberyard), purchases=purchases)
    book = openpyxl.load_workbook(io.BytesIO(workbook(euros)))
    assert book["Buy"]["E2"].number_format == '#,##0.00 "EUR"'


def test_a_batch_with_nothing_to_buy_has_a_workbook(bought: dict[str, PlannedBatch]) -> None:
    planned = bought["few"]
    nothing = replace(planned, purchases=(), costs=unit_costs(planned.batch, planned.units, ()))
    _assert_says(Sheets(workbook(nothing)), nothing)
