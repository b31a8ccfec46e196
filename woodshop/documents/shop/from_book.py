"""The sections that the shop's book adds to a cost sheet: measured minutes, and the bill of an earlier batch."""

from fractions import Fraction

from woodshop.documents.lists import plain
from woodshop.drawing.values.model import Align, Block, Bullets, Column, Data, Heading, Paragraph, Section, Table
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.shop_file import Shop
from woodshop.trade.costing import RunCost
from woodshop.trade.earlier_bill import BillLine, EarlierBill, earlier_bill
from woodshop.trade.measured_minutes import MeasuredTimes, measured_times
from woodshop.units.lengths import Money, decimals
from woodshop.units.wording import date_text


def book_sections(planned: PlannedBatch, run: RunCost, shop: Shop, beside: str | None) -> tuple[Section, ...]:
    """Sections from the book: any measured minutes, and a comparison with the bill of the batch `beside`, if given."""
    found = []
    times = measured_times(planned, run, shop)
    if times is not None and planned.batch.inventory is not None:
        found.append(minutes_section(times, planned.batch.inventory.source, run.currency))
    if beside is not None:
        found.append(bill_section(earlier_bill(planned, beside)))
    return tuple(found)


def minutes_section(times: MeasuredTimes, source: str, currency: str) -> Section:
    """The measured and standard time of operations, and the change in cost in `currency`. `source` names the book."""
    columns = (
        Column("operation", weight=8),
        Column("standard", Align.RIGHT, weight=3),
        Column("measured", Align.RIGHT, weight=3),
        Column("of", Align.RIGHT, weight=2),
        Column("in this run", Align.RIGHT, weight=3),
        Column("hours", Align.RIGHT, weight=2),
        Column("cost", Align.RIGHT, weight=3),
        Column("prices", Align.RIGHT, weight=3),
    )
    rows = [
        (
            row.operation,
            f"{decimals(row.standard.minutes, 2)} min",
            f"{decimals(row.measured.mean, 2)} min",
            str(row.measured.count),
            f"{decimals(row.times, 1)} x {row.one}",
            _signed(row.minutes / 60, decimals(abs(row.minutes) / 60, 2)),
            _signed_money(row.cost, currency),
            _signed_money(row.price, currency),
        )
        for row in times.rows
    ]
    hours = _signed(times.minutes / 60, decimals(abs(times.minutes) / 60, 2))
    total = ("All measured", "", "", "", "", hours, *(_signed_money(n, currency) for n in (times.cost, times.price)))
    words = (
        f"Minutes for one, from the {source}; of: how many were timed. The last three columns are what the measured "
        "minutes would change in this run. They are not in its prices: to use them, write them in the shop file."
    )
    blocks: list[Block] = [Heading("Measured minutes", 2), Paragraph(words)]
    if rows:
        blocks.append(Table(columns, (*rows, total), (len(rows),), small=True))
    if times.unknown:
        blocks.append(Bullets((f"Not an operation of a shop file: {'; '.join(map(plain, times.unknown))}.",)))
    data: Data = {
        "measured_minutes": {
            "source": source,
            "operations": [
                {
                    "operation": row.operation,
                    "standard": str(row.standard.minutes),
                    "standard_source": row.standard.source,
                    "measured": str(row.measured.mean),
                    "count": row.measured.count,
                    "in_this_run": str(row.times),
                    "minutes": str(row.minutes),
                    "cost": row.cost,
                    "price": row.price,
                }
                for row in times.rows
            ],
            "unknown": list(times.unknown),
            "minutes": str(times.minutes),
            "cost": times.cost,
            "price": times.price,
        }
    }
    return Section("", tuple(blocks), data)


def bill_section(bill: EarlierBill) -> Section:
    """The earlier bill next to this one, line by line, with the differences."""
    columns = (
        Column("what", weight=10),
        Column("then", Align.RIGHT, weight=1),
        Column("each", Align.RIGHT, weight=2),
        Column("total", Align.RIGHT, weight=3),
        Column("now", Align.RIGHT, weight=1),
        Column("each", Align.RIGHT, weight=2),
        Column("total", Align.RIGHT, weight=3),
        Column("difference", Align.RIGHT, weight=3),
    )
    rows = [
        (
            plain(line.what),
            str(line.bought or ""),
            _each(line.then_each, bill.currency),
            _total(line, bill.currency),
            str(line.count or ""),
            _each(line.new_each, bill.currency),
            str(line.new) if line.count else "",
            _signed_money(line.new.minor - line.then.minor, bill.currency) if not line.unpriced else "not known",
        )
        for line in bill.lines
    ]
    difference = _signed_money(bill.new.minor - bill.then.minor, bill.currency)
    if any(line.unpriced for line in bill.lines):
        difference = "not known"
    rows.append(("Total", "", "", str(bill.then), "", "", str(bill.new), difference))
    when = ""
    if bill.days is not None:
        first, last = map(date_text, bill.days)
        when = f", {first}" if first == last else f", {first} to {last}"
    words = (
        f"Then: bought for {plain(bill.batch)}{when} ({bill.source}). Now: this plan. Goods, before delivery and tax."
    )
    blocks: list[Block] = [
        Heading(f"The bill of {plain(bill.batch)} beside this one", 2),
        Paragraph(words),
        Table(columns, tuple(rows), (len(rows) - 1,), small=True),
    ]
    unpriced = [f"{line.unpriced} x {plain(line.what)}" for line in bill.lines if line.unpriced]
    if unpriced:
        blocks.append(Bullets((f"Without a price in the book, and not in its total: {'; '.join(unpriced)}.",)))
    data: Data = {
        "beside": {
            "batch": bill.batch,
            "source": bill.source,
            "lines": [
                {
                    "what": line.what,
                    "then": {"count": line.bought, "total": line.then.minor, "unpriced": line.unpriced},
                    "now": {"count": line.count, "total": line.new.minor},
                }
                for line in bill.lines
            ],
            "then": bill.then.minor,
            "now": bill.new.minor,
        }
    }
    return Section("", tuple(blocks), data)


def _each(cents: Fraction | None, currency: str) -> str:
    return "" if cents is None else str(Money(int(cents + Fraction(1, 2)), currency))


def _total(line: BillLine, currency: str) -> str:
    if not line.bought:
        return ""
    return "no price" if line.unpriced == line.bought else str(line.then)


def _signed_money(cents: int, currency: str) -> str:
    return _signed(cents, str(Money(abs(cents), currency)))


def _signed(value: Fraction | int, words: str) -> str:
    return f"+{words}" if value > 0 else f"\N{MINUS SIGN}{words}" if value < 0 else words
