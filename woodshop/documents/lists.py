"""Lists of purchases, costs, cuts and parts, as CSV and as a workbook.

XlsxWriter writes the workbook (Office Open XML, ECMA-376). Every string is written as text and never interpreted, and
formulas contain only cell addresses and numbers. The same batch gives the same bytes.
"""

import csv
import io
import re
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from fractions import Fraction
from io import BytesIO
from itertools import groupby
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

from woodshop.design.lumber import Need
from woodshop.documents.packet.layouts import needs_of, numbered_layouts
from woodshop.plan.cost import cost_rows, is_without_price, split, unit_costs
from woodshop.plan.values import PlannedBatch, Purchase
from woodshop.units.lengths import Length, Money


def buy_csv(planned: PlannedBatch) -> bytes:
    """One row for each purchase, grouped by lumberyard, with delivery, tax, the total, and the total of the goods.

    Money is in whole units of the currency with two decimals. The row of a total has its name in the first column.
    """
    rows: list[list[object]] = [["group", "what", "count", "each", "total", "why", "lumberyard"]]
    for bill in planned.bills:
        for p in planned.purchases:
            if p.lumberyard == bill.lumberyard:
                each, total = money_text(p.price.minor), money_text(p.total.minor)
                rows.append([p.group, p.what, p.count, each, total, _why(planned, p), p.lumberyard])
        for word, money in (("delivery", bill.fee), ("tax", bill.tax), ("to pay", bill.total)):
            if planned.to_pay != planned.total:
                rows.append([word, "", "", "", money_text(money.minor), "", bill.lumberyard])
    for u in planned.unpriced:
        rows.append(["no price", u.what, "", "", "", u.amount, ""])
    without = f"without {planned.unpriced_goods}" if planned.unpriced else ""
    rows.append(["total", planned.batch.lumberyard.currency, "", "", money_text(planned.total.minor), without, ""])
    if planned.to_pay != planned.total:
        rows.append(
            ["total to pay", planned.batch.lumberyard.currency, "", "", money_text(planned.to_pay.minor), without, ""]
        )
    return csv_bytes(rows)


def _why(planned: PlannedBatch, purchase: Purchase) -> str:
    return f"{purchase.why}; example price" if planned.is_example_price(purchase) else purchase.why


def parts_csv(needs: Iterable[Need], unit: str) -> bytes:
    """One row for each of these parts: its mark, address, count and sizes in `unit`."""
    rows: list[list[object]] = [
        ["mark", "address", "count", "length", "width", "thickness", "material", "cuts", "notes"]
    ]
    for need in needs:
        part = need.part
        sizes = [_size(v, unit) for v in part.size]
        cuts = "; ".join(dict.fromkeys(cut.name for cut in part.cuts))
        rows.append([need.mark, need.address, need.count, *sizes, part.material.name, cuts, "; ".join(part.notes)])
    return csv_bytes(rows)


def cuts_csv(planned: PlannedBatch) -> bytes:
    """One row for each piece of every layout: its position on its board or sheet, as cut."""
    unit = planned.batch.unit
    rows: list[list[object]] = [
        ["layout", "stock", "times", "mark", "address", "along", "across", "length", "width", "turned", "spare"]
    ]
    for layout in numbered_layouts(planned):
        for piece in layout.pieces:
            rows.append(
                [
                    layout.name,
                    layout.what,
                    layout.times,
                    piece.mark,
                    piece.address,
                    *(_size(v, unit) for v in (piece.x, piece.y, piece.length, piece.width)),
                    "yes" if piece.turned else "",
                    "yes" if piece.spare else "",
                ]
            )
    return csv_bytes(rows)


def _size(length: Length, unit: str) -> str:
    return length.number(unit)


def money_text(cents: int) -> str:
    """Money in whole units of a currency with two decimals, without the currency sign."""
    return f"{'-' if cents < 0 else ''}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def csv_bytes(rows: Iterable[Iterable[object]]) -> bytes:
    """The rows as CSV, in which no cell can be read as a formula."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    for row in rows:
        writer.writerow([_harmless(cell) for cell in row])
    return out.getvalue().encode("utf-8")


def _harmless(cell: object) -> object:
    """The value of a cell; text gets an apostrophe in front if a spreadsheet would read it as a formula."""
    if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return "'" + cell
    return cell


_EPOCH = date(2000, 1, 1)  # for a design without a date, because the clock is never used
_LONGEST_TEXT = 32_767  # characters in a cell, ECMA-376
# Characters not allowed in XML, and characters that change the direction of the text around them.
_UNWANTED = re.compile(
    "[\x00-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufdd0-\ufdef\ufffe\uffff]+"
)
_WHOLES = (10**9, 72 * 10**7, 720_720_000, 997_920_000, 10**8)  # a share is an integer divided by one of these


def workbook(planned: PlannedBatch) -> bytes:
    """The .xlsx file, with the sheets Buy, Cost, Cuts, Parts and Shares (how each purchase is divided)."""
    from xlsxwriter import Workbook

    out = BytesIO()
    book = Workbook(out, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    made = planned.batch.days.on_by or _EPOCH
    title = plain(planned.batch.pages.title or planned.batch.name)
    book.set_properties({"title": title, "author": "woodshop", "created": datetime(made.year, made.month, made.day)})
    pen = _Pen(book, planned, title)
    totals = _buy(pen, planned)
    cost, cuts, parts, shares = (book.add_worksheet(name) for name in ("Cost", "Cuts", "Parts", "Shares"))
    _cost(pen, planned, totals, cost, shares)
    _cuts(pen, planned, cuts)
    _parts(pen, planned, parts)
    book.close()
    return _named(out.getvalue())


def _named(book: bytes) -> bytes:
    """The workbook with woodshop named as its application, instead of the name that the library writes."""
    out = BytesIO()
    with ZipFile(BytesIO(book)) as old, ZipFile(out, "w", ZIP_DEFLATED) as new:
        for part in old.infolist():
            data = old.read(part)
            if part.filename == "docProps/app.xml":
                data = re.sub(rb"<Application>[^<]*<", b"<Application>woodshop<", data)
            new.writestr(part, data, ZIP_DEFLATED)
    return out.getvalue()


def plain(text: str) -> str:
    """The text made suitable for a cell: without control and direction characters, and not too long.

    >>> plain("=1+1\\x07 \\u202eabc")
    '=1+1 abc'
    """
    text = " ".join(_UNWANTED.sub(lambda m: " " if m[0].isspace() else "", text).split())
    return text if len(text) <= _LONGEST_TEXT else text[: _LONGEST_TEXT - 3] + "..."


class _Pen:
    """Writes cells to a sheet. Rows and columns count from 0."""

    def __init__(self, book: Any, planned: PlannedBatch, title: str) -> None:
        self.book, self.planned, self.title = book, planned, title
        currency = plain(planned.batch.lumberyard.currency).replace('"', "")
        money = "$#,##0.00" if currency == "USD" else f'#,##0.00 "{currency}"'
        length = "0.0000" if planned.batch.unit == "in" else "0.00"
        self.formats = {
            "head": book.add_format({"bold": True, "text_wrap": True, "bottom": 1, "valign": "top", "align": "center"}),
            "text": book.add_format({"valign": "top", "text_wrap": True, "indent": 1}),
            "quoted": book.add_format({"valign": "top", "text_wrap": True, "indent": 1, "quote_prefix": True}),
            "fraction": book.add_format({"valign": "top", "align": "right"}),
            "note": book.add_format({"italic": True}),
            "count": book.add_format({"num_format": "0", "valign": "top"}),
            "length": book.add_format({"num_format": length, "valign": "top"}),
            "money": book.add_format({"num_format": money, "valign": "top"}),
            "price": book.add_format({"num_format": money, "valign": "top", "bg_color": "#FFF7CC", "border": 4}),
            "sum": book.add_format({"num_format": money, "bold": True, "top": 1}),
            "strong": book.add_format({"bold": True, "top": 1}),
        }

    def sheet(self, sheet: Any, columns: Sequence[tuple[str, float]]) -> Any:
        """Adds a sheet with headings in a frozen row, which is printed on every page. Widths are in characters."""
        for n, (heading, width) in enumerate(columns):
            sheet.set_column(n, n, width)
            sheet.write_string(0, n, heading, self.formats["head"])
        sheet.freeze_panes(1, 0)
        sheet.repeat_rows(0)
        sheet.set_landscape()
        sheet.set_paper(9 if self.planned.batch.pages.paper == "a4" else 1)
        sheet.fit_to_pages(1, 0)
        banner = "&C&BDO NOT CUT" if self.planned.report.has_errors else ""
        sheet.set_header("&L" + self.title.replace("&", "&&")[:100] + banner + "&R&A")
        sheet.set_footer("&R&P / &N")
        return sheet

    def text(self, sheet: Any, row: int, column: int, text: str, form: str = "text") -> None:
        """Writes a string, marked as text if a spreadsheet would read it as a formula when retyped."""
        words = plain(text)
        if form == "text" and words[:1] in ("=", "+", "-", "@"):
            form = "quoted"
        sheet.write_string(row, column, words, self.formats[form])

    def number(self, sheet: Any, row: int, column: int, value: float, form: str) -> None:
        """Writes a number."""
        sheet.write_number(row, column, value, self.formats[form])

    def formula(self, sheet: Any, row: int, column: int, formula: str, value: float, form: str) -> None:
        """Writes a formula, and its value for programs that do not calculate."""
        sheet.write_formula(row, column, formula, self.formats[form], value)

    def size(self, sheet: Any, row: int, column: int, length: Length) -> None:
        """Writes a length twice: as text for the shop, and as a number in the next column."""
        unit = self.planned.batch.unit
        self.text(sheet, row, column, length.number(unit), "fraction")
        value = length.inches if unit == "in" else Fraction(length.number(unit))
        self.number(sheet, row, column + 1, float(value), "length")


def _buy(pen: _Pen, planned: PlannedBatch) -> dict[str, str]:
    """Writes the buy list.

    Returns the cells with the totals of each group, as addresses for formulas on another sheet.
    """
    columns = (
        ("group", 18),
        ("what", 44),
        ("count", 8),
        ("price of one", 13),
        ("total", 13),
        ("why", 44),
        ("lumberyard", 26),
    )
    sheet = pen.sheet(pen.book.add_worksheet("Buy"), columns)
    for row, p in enumerate(planned.purchases, 1):
        pen.text(sheet, row, 0, p.group)
        pen.text(sheet, row, 1, p.what)
        pen.number(sheet, row, 2, p.count, "count")
        pen.number(sheet, row, 3, p.price.minor / 100, "price")
        pen.formula(sheet, row, 4, f"=ROUND(C{row + 1}*D{row + 1},2)", p.total.minor / 100, "money")
        pen.text(sheet, row, 5, _why(planned, p))
        pen.text(sheet, row, 6, p.lumberyard)
    end = len(planned.purchases) + 1
    pen.text(sheet, end, 1, "total", "strong")
    formula = f"=SUM(E2:E{end})" if end > 1 else "=0"
    pen.formula(sheet, end, 4, formula, planned.total.minor / 100, "sum")
    end = _bills(pen, planned, sheet, end)
    notes = ["You may change the shaded prices: totals and costs follow. The amounts stay as planned."]
    notes += [f"No price in the lumberyard file, not in the total: {u.what}, {u.amount}" for u in planned.unpriced]
    for n, note in enumerate(notes):
        pen.text(sheet, end + 2 + n, 1, note, "note")
    cells: dict[str, str] = {}
    for group in dict.fromkeys(p.group for p in planned.purchases):
        rows = [n + 2 for n, p in enumerate(planned.purchases) if p.group == group]
        runs = [[row for _, row in run] for _, run in groupby(enumerate(rows), lambda pair: pair[1] - pair[0])]
        cells[group] = ",".join(f"Buy!E{run[0]}:E{run[-1]}" for run in runs)
    return cells


def _bills(pen: _Pen, planned: PlannedBatch, sheet: Any, end: int) -> int:
    """Writes each lumberyard's goods, delivery and tax as formulas below the total. Returns the last row used."""
    if planned.to_pay == planned.total:
        return end
    terms = {each.lumberyard: each for each in planned.batch.lumberyard.terms}
    last, row, paid = len(planned.purchases) + 1, end + 2, []
    for bill in planned.bills:
        own = terms[bill.lumberyard]
        goods, fee, tax = f"E{row + 1}", f"E{row + 2}", f"E{row + 3}"
        free = f"IF({goods}>={own.free_from / 100},0,{own.fee / 100})" if own.free_from is not None else own.fee / 100
        base = f"({goods}+{fee})" if own.tax_on_delivery else goods
        rate = f"{own.tax.numerator}/{own.tax.denominator}"
        rows = (
            ("goods", f"=SUMIF(G2:G{last},G{row + 1},E2:E{last})", bill.goods),
            ("delivery", f"=IF({goods}=0,0,{free})", bill.fee),
            ("tax", f"=ROUND({base}*{rate},2)", bill.tax),
            ("to pay", f"={goods}+{fee}+{tax}", bill.total),
        )
        for n, (word, formula, money) in enumerate(rows):
            pen.text(sheet, row + n, 1, word, "strong" if n == 3 else "text")
            pen.formula(sheet, row + n, 4, formula, money.minor / 100, "sum" if n == 3 else "money")
            pen.text(sheet, row + n, 6, bill.lumberyard)
        paid.append(f"E{row + 4}")
        row += 5
    pen.text(sheet, row, 1, "total to pay", "strong")
    pen.formula(sheet, row, 4, f"={'+'.join(paid)}", planned.to_pay.minor / 100, "sum")
    return row


def _cost(pen: _Pen, planned: PlannedBatch, totals: dict[str, str], cost: Any, shares: Any) -> None:
    """Writes the cost of one unit of each item, from the sheet Shares, which divides each group's total into cents.

    That sheet has columns for shares, remainders and cents. Rows with the largest remainders get the cents left over.
    """
    rows, groups = planned.costs, list(totals)
    pen.sheet(cost, (("what", 60), ("count", 8), ("cost of one", 13), ("total cost", 13)))
    width = len(groups)
    blocks = [(f"{group}: {word}", 14.0) for word in ("share", "rest", "cents") for group in groups]
    pen.sheet(shares, (("what", 60), *blocks))
    top, whole_row, cents_row = 2, len(rows) + 2, len(rows) + 3  # rows as people count them; shares start in row 2
    last = len(rows) + 1
    pen.text(shares, whole_row - 1, 0, "total of shares", "strong")
    pen.text(shares, cents_row - 1, 0, "cents to divide", "strong")
    for n, row in enumerate(rows):
        pen.text(shares, n + 1, 0, row.address)
    for g, group in enumerate(groups):
        cents = sum(p.total.minor for p in planned.purchases if p.group == group)
        parts, wanted = _parts_of(planned, group)
        w, r = _column(1 + g), _column(1 + g + width)
        whole, pool = f"{w}${whole_row}", f"{w}${cents_row}"
        rests = [cents * part % sum(parts) if parts else 0 for part in parts]
        pen.formula(shares, cents_row - 1, 1 + g, f"=ROUND(100*SUM({totals[group]}),0)", cents, "count")
        if parts:
            formula = f"=SUM({w}{top}:{w}{last})"
            pen.formula(shares, whole_row - 1, 1 + g, formula, sum(parts), "count")
        else:
            pen.text(shares, whole_row - 1, 1 + g, "as planned; does not follow prices", "note")
        for n, share in enumerate(wanted):
            at = n + top
            if not parts:
                pen.number(shares, n + 1, 1 + g + 2 * width, share, "count")
                continue
            pen.number(shares, n + 1, 1 + g, parts[n], "count")
            pen.formula(shares, n + 1, 1 + g + width, f"=MOD({pool}*{w}{at},{whole})", rests[n], "count")
            rank = f"RANK({r}{at},{r}${top}:{r}${last})"
            if n:
                rank += f"+COUNTIF({r}${top}:{r}{at - 1},{r}{at})"
            odd = f"IF({rank}<=SUM({r}${top}:{r}${last})/{whole},1,0)"
            formula = f"=({pool}*{w}{at}-{r}{at})/{whole}+{odd}"
            pen.formula(shares, n + 1, 1 + g + 2 * width, formula, share, "count")
    first, end = _column(1 + 2 * width), _column(3 * width)
    used = cost_rows(planned.batch, planned.units)
    for n, row in enumerate(rows):
        at = n + 2
        pen.text(cost, n + 1, 0, row.address)
        pen.number(cost, n + 1, 1, row.count, "count")
        if is_without_price(used[n], planned.purchases, planned.unpriced):
            pen.text(cost, n + 1, 2, "no price")
            pen.text(cost, n + 1, 3, "no price")
            continue
        each = (row.total.minor * 2 + row.count) // (row.count * 2) / 100 if row.count else 0
        formula = f"=IF(B{at}=0,0,INT((ROUND(D{at}*100,0)*2+B{at})/(B{at}*2))/100)"
        pen.formula(cost, n + 1, 2, formula, each, "money")
        formula = f"=SUM(Shares!{first}{at}:{end}{at})/100" if width else "=0"
        pen.formula(cost, n + 1, 3, formula, row.total.minor / 100, "money")
    pen.text(cost, last, 0, "total", "strong")
    total = sum(row.total.minor for row in rows)
    pen.formula(cost, last, 3, f"=SUM(D2:D{last})" if rows else "=0", total / 100, "sum")


def _parts_of(planned: PlannedBatch, group: str) -> tuple[list[int], list[int]]:
    """The shares of a group as whole numbers, and the cents charged to each row.

    The shares reproduce the plan's charges to the cent; they are empty if no whole numbers can.
    """
    cents = sum(p.total.minor for p in planned.purchases if p.group == group)
    wanted = _charged(planned, group, cents)
    for whole in _WHOLES:
        if cents * whole >= 2**53:  # the largest exact integer in a spreadsheet
            continue
        parts = _charged(planned, group, whole)
        if split(cents, [Fraction(part) for part in parts]) == wanted:
            return parts, wanted
    return [], wanted


def _charged(planned: PlannedBatch, group: str, cents: int) -> list[int]:
    """What each row would be charged if the group cost this many cents in total."""
    purchase = Purchase(group=group, what="", count=1, price=Money(cents, planned.batch.lumberyard.currency), why="")
    return [row.total.minor for row in unit_costs(planned.batch, planned.units, (purchase,))]


def _cuts(pen: _Pen, planned: PlannedBatch, sheet: Any) -> None:
    """Writes one row for each piece of every layout: its position on its board or sheet, as cut."""
    unit = planned.batch.unit
    sizes = [
        heading
        for word in ("along", "across", "length", "width")
        for heading in ((word, 9.0), (f"{word}, {unit}", 10.0))
    ]
    columns = (
        ("layout", 11),
        ("stock", 40),
        ("times", 7),
        ("mark", 7),
        ("part", 56),
        *sizes,
        ("turned", 8),
        ("spare", 7),
    )
    pen.sheet(sheet, columns)
    row = 0
    for layout in numbered_layouts(planned):
        for piece in layout.pieces:
            row += 1
            pen.text(sheet, row, 0, layout.name)
            pen.text(sheet, row, 1, layout.what)
            pen.number(sheet, row, 2, layout.times, "count")
            pen.text(sheet, row, 3, piece.mark)
            pen.text(sheet, row, 4, piece.address)
            for n, length in enumerate((piece.x, piece.y, piece.length, piece.width)):
                pen.size(sheet, row, 5 + 2 * n, length)
            pen.text(sheet, row, 13, "yes" if piece.turned else "")
            pen.text(sheet, row, 14, "yes" if piece.spare else "")


def _parts(pen: _Pen, planned: PlannedBatch, sheet: Any) -> None:
    """Writes one row for each part: its mark, address, count and sizes."""
    unit = planned.batch.unit
    sizes = [
        heading for word in ("length", "width", "thickness") for heading in ((word, 9.0), (f"{word}, {unit}", 10.0))
    ]
    columns = (("mark", 7), ("part", 56), ("count", 8), *sizes, ("material", 18), ("cuts", 30), ("notes", 40))
    pen.sheet(sheet, columns)
    for row, need in enumerate(needs_of(planned), 1):
        part = need.part
        pen.text(sheet, row, 0, need.mark)
        pen.text(sheet, row, 1, need.address)
        pen.number(sheet, row, 2, need.count, "count")
        for n, length in enumerate(part.size):
            pen.size(sheet, row, 3 + 2 * n, length)
        pen.text(sheet, row, 9, part.material.name)
        pen.text(sheet, row, 10, "; ".join(dict.fromkeys(cut.name for cut in part.cuts)))
        pen.text(sheet, row, 11, "; ".join(part.notes))


def _column(n: int) -> str:
    """The letters of a column counted from 0.

    >>> _column(0), _column(25), _column(26), _column(702)
    ('A', 'Z', 'AA', 'AAA')
    """
    letters = ""
    n += 1
    while n:
        n, rest = divmod(n - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
