"""The lists as CSV: what to buy, what to cut, what parts there are. Plain text, comma, CRLF (RFC 4180)."""

import csv
import io
from collections.abc import Iterable

from woodshop.documents.packet.layouts import numbered_layouts
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import Length


def buy_csv(planned: PlannedBatch) -> bytes:
    """One row a purchase, yard after yard with delivery, tax and what is paid there, and the total of the goods.

    Money in whole units of the currency with two decimals. A sum's row has its word in the first column.
    """
    rows: list[list[object]] = [["group", "what", "count", "each", "total", "why", "yard"]]
    for bill in planned.bills:
        for p in planned.purchases:
            if p.yard == bill.yard:
                each, total = money_text(p.price.minor), money_text(p.total.minor)
                rows.append([p.group, p.what, p.count, each, total, p.why, p.yard])
        for word, money in (("delivery", bill.fee), ("tax", bill.tax), ("to pay", bill.total)):
            if planned.to_pay != planned.total:
                rows.append([word, "", "", "", money_text(money.minor), "", bill.yard])
    for u in planned.unpriced:
        rows.append(["no price", u.what, "", "", "", u.amount, ""])
    rows.append(["total", planned.batch.yard.currency, "", "", money_text(planned.total.minor), "", ""])
    if planned.to_pay != planned.total:
        rows.append(["to pay in all", planned.batch.yard.currency, "", "", money_text(planned.to_pay.minor), "", ""])
    return csv_bytes(rows)


def parts_csv(planned: PlannedBatch) -> bytes:
    """One row a part: its mark, address, count and sizes."""
    rows: list[list[object]] = [
        ["mark", "address", "count", "length", "width", "thickness", "material", "cuts", "notes"]
    ]
    for each in planned.plans:
        for need in each.job.needs:
            part = need.part
            sizes = [_size(v, planned.batch.unit) for v in part.size]
            cuts = "; ".join(dict.fromkeys(cut.name for cut in part.cuts))
            rows.append([need.mark, need.address, need.count, *sizes, part.material.name, cuts, "; ".join(part.notes)])
    return csv_bytes(rows)


def cuts_csv(planned: PlannedBatch) -> bytes:
    """One row a piece of every layout: where it lies on its board or sheet, as laid."""
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
    """Money in whole units of a currency with two decimals, without its sign."""
    return f"{'-' if cents < 0 else ''}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def csv_bytes(rows: Iterable[Iterable[object]]) -> bytes:
    """Rows as CSV; no cell is taken for a formula."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    for row in rows:
        writer.writerow([_harmless(cell) for cell in row])
    return out.getvalue().encode("utf-8")


def _harmless(cell: object) -> object:
    """A spreadsheet takes text that begins with one of these for a formula: an apostrophe makes it text again."""
    if isinstance(cell, str) and cell[:1] in ("=", "+", "-", "@", "\t", "\r"):
        return "'" + cell
    return cell
