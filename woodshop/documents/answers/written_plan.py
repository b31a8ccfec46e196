"""A written plan: the result of its independent check, and the changes that a recount makes."""

from collections.abc import Iterable
from typing import Any

from woodshop.documents.packet.cutting import cutting_chapter
from woodshop.documents.packet.parts import parts_section
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import (
    Align,
    Block,
    Bullets,
    Cell,
    Column,
    Data,
    Document,
    Heading,
    PageBreak,
    Paragraph,
    Section,
    Table,
)
from woodshop.files.one_file import json_bytes
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.rest.material import PieceRow
from woodshop.plan.rest.recount import Recount
from woodshop.units.lengths import Money


def recount_section(found: Recount, unit: str) -> Section:
    """The totals of a recount, then a table for each kind of change."""
    rest = found.rest
    data: Data = {
        "batch": rest.batch.name,
        "bought": found.is_bought,
        "lines": [{"address": x.address, "hives": x.hives, "was": x.was, "now": x.wanted} for x in found.lines],
        "stock": [
            {"material": x.material.name, "what": x.what, "price": x.price, "planned": x.planned, "cut": x.cut,
             "used": x.used, "left": x.left, "buy": x.buy}
            for x in found.stock
        ],
        "pieces": [
            {"material": x.material.name, "size": [size.number(unit) for size in x.size], "what": x.what,
             "cut": x.cut, "wanted": x.wanted, "to_cut": x.to_cut, "over": x.over}
            for x in found.pieces
        ],
        "goods": [
            {"goods": x.goods, "what": x.what, "price": x.price, "planned": x.planned, "left": x.left, "buy": x.buy}
            for x in found.goods
        ],
        "buy": [{"what": p.what, "count": p.count, "total": p.total} for p in rest.purchases],
        "unknown": found.unknown,
        "was": found.was,
        "to_buy": rest.total,
        "to_pay": rest.to_pay,
        "left_over": found.left_over,
        "currency": found.was.currency,
    }  # fmt: skip
    tables = (
        block
        for title, heads, rows in _tables(found, unit)
        if rows
        for block in (
            Heading(title, 2),
            Table((Column(heads[0], weight=7), *(Column(head, Align.RIGHT, 2) for head in heads[1:])), rows),
        )
    )
    return Section("Recount", (Bullets(tuple(_sums(found))), *tables), data)


def recount_files(found: Recount) -> dict[str, bytes]:
    """`recount.pdf`, with the new cutting pages, and the `plan.json` of the remaining work, for `woodshop verify`."""
    rest = found.rest
    section = recount_section(found, rest.batch.unit)
    blocks: list[Block] = [Heading(section.title, 1), *section.blocks]
    if rest.plans:
        blocks += [
            PageBreak(),
            Paragraph(
                "These pages replace the old layouts, and show only what is still to be cut. Marks may differ from "
                "those "
                "before: the part table says which.",
                lead="New layouts.",
            ),
            Heading("Cutting", 1),
            *cutting_chapter(rest, is_all=True).blocks,
            *parts_section(rest).with_title,
        ]
    document = Document(
        rest.batch.pages.title,
        "Recount: what changes in wood, money and pieces",
        (Section("", tuple(blocks)),),
        footer=f"{rest.batch.name}, recount",
        banner="DO NOT CUT" if rest.report.has_errors else None,
    )
    return {
        "recount.pdf": write_pdf(document, rest.batch.pages.paper),
        "plan.json": json_bytes(batch_to_json(rest, found.cut, found.there)),
    }


_Row = tuple[Cell, ...]


def _tables(found: Recount, unit: str) -> tuple[tuple[str, tuple[str, ...], tuple[_Row, ...]], ...]:
    """The title, headings and rows of each table. Tables without rows are omitted."""
    if found.is_bought:
        heads: tuple[str, ...] = ("planned", "cut", "still to use", "left over", "to buy")
        stock: list[_Row] = [(x.what, x.planned, x.cut, x.used, x.left, x.buy) for x in found.stock]
        packs: tuple[str, ...] = ("bought", "stay closed", "to buy")
        goods: list[_Row] = [(x.what, x.planned, x.left, x.buy) for x in found.goods]
    else:
        heads = packs = ("planned", "now", "change")
        stock = [(x.what, *_change(x.planned, x.used + x.buy)) for x in found.stock]
        goods = [(x.what, *_change(x.planned, x.buy)) for x in found.goods]
    pieces = found.pieces if any(x.cut for x in found.pieces) else ()
    return (
        (
            "What changes",
            ("made", "was", "now", "change"),
            tuple((_line(x.address, x.hives), *_change(x.was, x.wanted)) for x in found.lines),
        ),
        ("Wood, mesh and sheets", ("boards, sheets and rolls", *heads), tuple(stock)),
        ("Bags, boxes and bottles", ("pack", *packs), tuple(goods)),
        (
            "Pieces",
            ("size and description", "cut", "wanted", "to cut", "too many"),
            tuple((_piece(x, unit), x.cut, x.wanted, x.to_cut, x.over) for x in pieces),
        ),
        (
            "To buy now",
            ("what", "count", "each", "total"),
            tuple((p.what, p.count, p.price, p.total) for p in found.rest.purchases),
        ),
    )


def _change(was: int, now: int) -> _Row:
    return was, now, f"{now - was:+d}" if now != was else None


def _line(address: str, hives: str) -> str:
    return f"{address}, {hives}" if hives else address


def _piece(row: PieceRow, unit: str) -> str:
    long, wide = (size.number(unit) for size in row.size)
    more = f" and {len(row.what) - 1} more" if len(row.what) > 1 else ""
    return f"{long} x {wide}, {row.what[0]}{more}"


def _sums(found: Recount) -> list[str]:
    """The totals, in sentences."""
    rest = found.rest
    fees = "" if rest.to_pay == rest.total else f"; {rest.to_pay} with delivery and tax"
    if not found.is_bought:
        change = Money(rest.total.minor - found.was.minor, found.was.currency)
        more = "more" if change.minor > 0 else "less"
        by = f"{Money(abs(change.minor), change.currency)} {more}" if change.minor else "no change"
        return [f"To buy: {found.was} before, {rest.total} now: {by}{fees}."]
    lines = [f"Bought for {found.was}. To buy now: {rest.total}{fees}."]
    lines.append(f"Left over: whole boards and unopened packs worth {found.left_over}.")
    if found.saved.minor:
        lines.append(f"No other way to cut the wood on hand saves more than {found.saved} of that.")
    cut = sum(row.cut for row in found.pieces)
    over, to_cut = sum(row.over for row in found.pieces), sum(row.to_cut for row in found.pieces)
    lines.append(f"Good pieces cut: {cut}, of which {over} are no longer needed. Still to cut: {to_cut}.")
    if found.unknown:
        lines.append(f"Not counted, because no lumberyard file lists them now: {', '.join(found.unknown)}.")
    return lines


def verdict_section(verdicts: Iterable[dict[str, Any]]) -> Section:
    """The verdict on each plan checked by `plan.verify.verify_file`, with the findings about unsound plans."""
    plans = list(verdicts)
    rows = []
    blocks: list[Block] = []
    for each in plans:
        found = each["findings"]
        cost = "" if "says" in each else f"cost {each['cost']}, lower bound {each['bound']}, gap {each['gap']}"
        rows.append((each["name"], "NOT SOUND" if found else "sound", cost if found else each.get("says", cost)))
        if found:
            lines = (f"{f['code']}: {f['place']}: {f['value']}; wanted {f['limits']}" for f in found)
            blocks += [Heading(each["name"], 3), Bullets(tuple(lines))]
    table = Table((Column("plan"), Column("verdict"), Column("figures")), tuple(rows))
    return Section("", (table, *blocks), {"plans": plans, "sound": not any(each["findings"] for each in plans)})
