"""What a recount says: in lines, as plain values, and on paper with the cutting pages of what is still to be cut."""

from typing import Any

from woodshop.documents.packet.cutting import cutting_blocks
from woodshop.documents.packet.parts import part_blocks
from woodshop.documents.packet.saw_order import saw_order_blocks
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import Align, Block, Bullets, Column, Document, Heading, PageBreak, Paragraph, Table
from woodshop.files.writing import json_bytes
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.rest.material import PieceRow
from woodshop.plan.rest.recount import Recount
from woodshop.units.lengths import Money

Rows = list[tuple[str, ...]]


def recount_lines(told: Recount, unit: str) -> list[str]:
    """The recount for people."""
    lines = []
    for title, heads, rows in _tables(told, unit):
        lines += [title, *_columns((heads, *rows)), ""]
    return [*lines, *_sums(told)]


def recount_told(told: Recount, unit: str) -> dict[str, Any]:
    """The same as plain values; money in whole minor units."""
    rest = told.rest
    return {
        "batch": rest.batch.name,
        "bought": told.is_bought,
        "lines": [{"address": x.address, "hives": x.hives, "was": x.was, "now": x.wanted} for x in told.lines],
        "stock": [
            {"material": x.material.name, "what": x.what, "price": x.price.minor, "planned": x.planned, "cut": x.cut,
             "used": x.used, "left": x.left, "buy": x.buy}
            for x in told.stock
        ],
        "pieces": [
            {"material": x.material.name, "size": [size.number(unit) for size in x.size], "what": list(x.what),
             "cut": x.cut, "wanted": x.wanted, "to_cut": x.to_cut, "over": x.over}
            for x in told.pieces
        ],
        "goods": [
            {"goods": x.goods, "what": x.what, "price": x.price.minor,
             "planned": x.planned, "left": x.left, "buy": x.buy}
            for x in told.goods
        ],
        "buy": [{"what": p.what, "count": p.count, "total": p.total.minor} for p in rest.purchases],
        "unknown": list(told.unknown),
        "was": told.was.minor,
        "to_buy": rest.total.minor,
        "to_pay": rest.to_pay.minor,
        "left_over": told.left_over.minor,
        "currency": told.was.currency,
    }  # fmt: skip


def recount_files(told: Recount) -> dict[str, bytes]:
    """`recount.pdf`, with the cutting pages of the rest, and `plan.json` of the rest, for `woodshop verify`."""
    rest = told.rest
    blocks: list[Block] = [Heading("Recount", 1), Bullets(tuple(_sums(told)))]
    for title, heads, rows in _tables(told, rest.batch.unit):
        columns = [
            Column(head, Align.LEFT if n == 0 else Align.RIGHT, 7 if n == 0 else 2) for n, head in enumerate(heads)
        ]
        blocks += [Heading(title, 2), Table(tuple(columns), tuple(rows))]
    if rest.plans:
        blocks += [
            PageBreak(),
            Paragraph(
                "These pages are for what is still to be cut; the old layouts hold no longer. Marks may be others than "
                "before: the part table says which.",
                lead="New layouts.",
            ),
            *cutting_blocks(rest),
            *saw_order_blocks(rest),
            *part_blocks(rest),
        ]
    document = Document(
        rest.batch.title,
        "Recount: what changes in wood, money and pieces",
        tuple(blocks),
        footer=f"{rest.batch.name}, recount",
        banner="DO NOT CUT" if rest.report.has_errors else None,
    )
    return {
        "recount.pdf": write_pdf(document, rest.batch.paper),
        "plan.json": json_bytes(batch_to_json(rest, told.cut, told.there)),
    }


def _tables(told: Recount, unit: str) -> list[tuple[str, tuple[str, ...], Rows]]:
    """Title, headings and rows of each table that says something."""
    changed = [(_line(x.address, x.hives), str(x.was), str(x.wanted), f"{x.wanted - x.was:+d}") for x in told.lines]
    pieces = [_piece(x, unit) for x in told.pieces] if any(x.cut for x in told.pieces) else []
    buy = [(p.what, str(p.count), str(p.price), str(p.total)) for p in told.rest.purchases]
    if told.is_bought:
        heads: tuple[str, ...] = ("planned", "cut", "still to use", "left over", "to buy")
        stock = [_counts(x.what, x.planned, x.cut, x.used, x.left, x.buy) for x in told.stock]
        packs: tuple[str, ...] = ("bought", "stay closed", "to buy")
        goods = [_counts(x.what, x.planned, x.left, x.buy) for x in told.goods]
    else:
        heads = packs = ("planned", "now", "change")
        stock = [_change(x.what, x.planned, x.used + x.buy) for x in told.stock]
        goods = [_change(x.what, x.planned, x.buy) for x in told.goods]
    found: list[tuple[str, tuple[str, ...], Rows]] = [
        ("What changes", ("made", "was", "now", "change"), [*changed]),
        ("Wood, mesh and sheets", ("boards, sheets and rolls", *heads), stock),
        ("Bags, boxes and bottles", ("pack", *packs), goods),
        ("Pieces", ("size, and what it is", "cut", "wanted", "to cut", "too many"), pieces),
        ("To buy now", ("what", "count", "each", "in all"), [*buy]),
    ]
    return [each for each in found if each[2]]


def _counts(what: str, *counts: int) -> tuple[str, ...]:
    return (what, *map(str, counts))


def _change(what: str, was: int, now: int) -> tuple[str, ...]:
    return (what, str(was), str(now), f"{now - was:+d}" if now != was else "-")


def _line(address: str, hives: str) -> str:
    return f"{address}, {hives}" if hives else address


def _piece(row: PieceRow, unit: str) -> tuple[str, ...]:
    long, wide = (size.number(unit) for size in row.size)
    more = f" and {len(row.what) - 1} more" if len(row.what) > 1 else ""
    return (f"{long} x {wide}, {row.what[0]}{more}", *(str(n) for n in (row.cut, row.wanted, row.to_cut, row.over)))


def _sums(told: Recount) -> list[str]:
    """What it comes to, in sentences."""
    rest = told.rest
    fees = "" if rest.to_pay == rest.total else f"; {rest.to_pay} with delivery and tax"
    if not told.is_bought:
        change = Money(rest.total.minor - told.was.minor, told.was.currency)
        more = "more" if change.minor > 0 else "less"
        by = f"{Money(abs(change.minor), change.currency)} {more}" if change.minor else "no change"
        return [f"To buy at first for {told.was}, now for {rest.total}: {by}{fees}."]
    lines = [f"Bought for {told.was}. To buy now: {rest.total}{fees}."]
    lines.append(f"Left over, boards whole and packs closed, for {told.left_over} as bought.")
    if told.saved.minor:
        lines.append(f"No other way to cut what is there saves more than {told.saved} of that.")
    cut = sum(row.cut for row in told.pieces)
    over, to_cut = sum(row.over for row in told.pieces), sum(row.to_cut for row in told.pieces)
    lines.append(f"Pieces cut and sound: {cut}, of which {over} are wanted no more; still to cut: {to_cut}.")
    if told.unknown:
        lines.append(f"Not counted, for no yard file has them now: {', '.join(told.unknown)}.")
    return lines


def _columns(rows: tuple[tuple[str, ...], ...]) -> list[str]:
    """Rows as lines: the first column to the left, the others to the right."""
    wide = [max(len(row[n]) for row in rows) for n in range(len(rows[0]))]
    return [
        "  " + "  ".join(cell.ljust(wide[n]) if n == 0 else cell.rjust(wide[n]) for n, cell in enumerate(row)).rstrip()
        for row in rows
    ]
