"""Reports how the rest of a plan differs from the earlier plan, and why: layouts, cost, pieces and stock."""

from woodshop.drawing.values.model import (
    Align,
    Block,
    Bullets,
    Cell,
    Column,
    Data,
    Heading,
    KeepTogether,
    Paragraph,
    Section,
    Table,
)
from woodshop.plan.rest.material import PieceRow
from woodshop.plan.rest.plan_rest import LayoutRow, MaterialChange, PlanOfRest
from woodshop.reference.materials import Form
from woodshop.units.lengths import Money

_Row = tuple[Cell, ...]
_WOOD = "Wood, mesh and sheets"


def what_changed_section(found: PlanOfRest, unit: str) -> Section:
    """The totals of the rest of a plan, what happens to each layout, then a table for each kind of change."""
    rest = found.rest
    data: Data = {
        "batch": rest.batch.name,
        "bought": found.is_bought,
        "boards": sum(each.boards for each in found.changes),
        "boards_as_planned": sum(each.kept for each in found.changes),
        "materials": [
            {"material": x.material.name, "why": x.why, "boards": x.boards, "as_planned": x.kept,
             "could_save": x.could_save,
             "with_fewer_changes": None if x.fewer is None else {"boards_changed": x.fewer[0], "more": x.fewer[1]}}
            for x in found.changes
        ],
        "layouts": [
            {"material": x.material.name, "layout": x.number, "change": x.fate, "planned": x.planned, "cut": x.cut,
             "to_cut": x.to_cut, "like": x.like}
            for x in found.layouts
        ],
        "lines": [{"address": x.address, "hives": x.hives, "was": x.was, "now": x.wanted} for x in found.lines],
        "stock": [
            {"material": x.material.name, "what": x.what, "price": x.price, "planned": x.planned, "cut": x.cut,
             "bad": x.bad, "used": x.used, "left": x.left, "buy": x.buy}
            for x in found.stock
        ],
        "pieces": [
            {"material": x.material.name, "size": [size.number(unit) for size in x.size], "what": x.what,
             "cut": x.cut, "spoiled_or_lost": x.gone, "found_or_made": x.more, "good": x.good, "wanted": x.wanted,
             "to_cut": x.to_cut, "over": x.over}
            for x in found.pieces
        ],
        "goods": [
            {"goods": x.goods, "what": x.what, "price": x.price, "planned": x.planned, "left": x.left, "buy": x.buy}
            for x in found.goods
        ],
        "buy": [{"what": p.what, "count": p.count, "total": p.total} for p in rest.purchases],
        "unknown": found.unknown,
        "was": found.was,
        "paid": found.paid,
        "to_buy": rest.total,
        "to_pay": rest.to_pay,
        "left_over": found.left_over,
        "currency": found.was.currency,
    }  # fmt: skip
    tables: list[Block] = []
    for title, heads, rows in _tables(found, unit):
        if rows:
            columns = (Column(heads[0], weight=7), *(Column(head, Align.RIGHT, 2) for head in heads[1:]))
            tables.append(KeepTogether((Heading(title, 2), Table(columns, rows, small=True))))
    return Section("What changed", (Bullets(tuple(_sums(found))), *_layouts(found), *tables), data)


def changes_at_saw(found: PlanOfRest, unit: str) -> Section:
    """What changes for whoever stands at the saw: layouts, boards and what is to buy, without prices and customers."""
    to_cut = sum(row.to_cut for row in found.pieces)
    sums = (*_kept(found), *_cut_already(found), *_squared(found), f"Pieces still to cut: {to_cut}.")
    boards = next(each for each in _tables(found, unit) if each[0] == _WOOD)
    to_buy = tuple((line.what, line.count) for line in found.rest.purchases)
    tables: list[Block] = []
    for title, heads, rows in (boards, ("To buy now", ("what", "count"), to_buy)):
        if rows:
            tables += [Heading(title, 2), Table(tuple(map(Column, heads)), rows)]
    return Section("What changed", (Bullets(sums), *_layouts(found, is_priced=False), *tables))


def _sums(found: PlanOfRest) -> list[str]:
    """The totals, in sentences."""
    rest = found.rest
    fees = "" if rest.to_pay == rest.total else f"; {rest.to_pay} with delivery and tax"
    if not found.is_bought:
        change = Money(rest.total.minor - found.was.minor, found.was.currency)
        more = "more" if change.minor > 0 else "less"
        by = f"{Money(abs(change.minor), change.currency)} {more}" if change.minor else "no change"
        return [*_kept(found), f"To buy: {found.was} before, {rest.total} now: {by}{fees}."]
    bought = f"{found.paid}" if found.bought == "all" else f"{found.paid} of {found.was} on the earlier buy list"
    lines = [*_kept(found), f"Bought for {bought}. To buy now: {rest.total}{fees}."]
    lines += [*_cut_already(found), *_squared(found)]
    lines.append(f"Left over: whole boards and unopened packs worth {found.left_over}.")
    good, over = sum(row.good for row in found.pieces), sum(row.over for row in found.pieces)
    to_cut = sum(row.to_cut for row in found.pieces)
    lines.append(f"Good pieces on hand: {good}. Still to cut: {to_cut}.")
    if over:
        lines.append(f"{over} of the good pieces are no longer needed: they count as offcuts.")
    if found.unknown:
        lines.append(f"Not counted, because no lumberyard file lists them now: {', '.join(found.unknown)}.")
    return lines


def _cut_already(found: PlanOfRest) -> list[str]:
    """The layouts that were cut, each with the number of boards cut out of those planned."""
    cut = [
        f"{number} ({found.work.cut[place]} of {found.earlier.plans[place[0]].layouts[place[1]].times})"
        for number, place in found.earlier.layouts.items()
        if place in found.work.cut
    ]
    return [f"Cut before, by layout: {', '.join(cut)}."] if cut else []


def _squared(found: PlanOfRest) -> list[str]:
    """What to do with a board that was squared and not cut into, if lumber is left to cut."""
    if not any(plan.job.material.is_lumber for plan in found.rest.plans):
        return []
    return [
        "If one end of a board is squared already, do not square it again: measure from it. The board may be shorter "
        "than its layout says by what was cut off. Only boards set aside with a chalked code are squared again."
    ]


def _kept(found: PlanOfRest) -> list[str]:
    boards, kept = sum(each.boards for each in found.changes), sum(each.kept for each in found.changes)
    stay = sum(row.fate == "stays" for row in found.layouts)
    if not boards:
        return ["No board was left to cut." if not found.rest.plans else "Every layout is new."]
    same = "All" if kept == boards else f"{kept} of"
    numbers = "no number changes" if stay == len(found.layouts) else f"{stay} layouts stay"
    kinds = "boards" if all(each.material.form is Form.BOARD for each in found.changes) else "boards, sheets and rolls"
    return [f"{same} {boards} {kinds} still to cut are cut as planned: {numbers}."]


def _layouts(found: PlanOfRest, *, is_priced: bool = True) -> list[Block]:
    """For each material with a change: the reason, the cost of another plan, and the layouts that changed."""
    blocks: list[Block] = []
    for each in found.changes:
        rows = [row for row in found.layouts if row.material == each.material]
        moved = [row for row in rows if row.fate != "stays"]
        if not (each.why or moved):
            continue
        stay = [str(row.number) for row in rows if row.fate == "stays"]
        why = f"Why: {'; '.join(each.why)}." if each.why else "Why: a cheaper way was found."
        own: list[Block] = [
            Heading(each.material.spoken.capitalize(), 2),
            Paragraph(why),
            *(_money(each) if is_priced else []),
        ]
        if stay:
            own.append(Paragraph(f"{', '.join(stay)}.", lead="Layouts that stay:"))
        if moved:
            columns = (
                Column("layout", weight=2),
                Column("change", weight=7),
                *(Column(head, Align.RIGHT, 2) for head in ("planned", "cut", "to cut now")),
            )
            cells = tuple((row.number, _fate(row), row.planned, row.cut, row.to_cut) for row in moved)
            own.append(Table(columns, cells, small=True))
        blocks.append(KeepTogether(tuple(own)))
    gone = [row for row in found.layouts if all(row.material != each.material for each in found.changes)]
    if gone:
        names = ", ".join(str(row.number) for row in gone)
        blocks.append(Paragraph(f"{names}: every piece of them is on hand, or no longer needed.", lead="Dropped:"))
    return blocks


def _money(change: MaterialChange) -> list[Block]:
    lines = []
    if change.fewer is not None:
        count, more = change.fewer
        now = _boards(change.boards - change.kept, change)
        lines.append(f"This plan changes {now}. A plan that changes {_boards(count, change)} costs {more} more.")
    if change.could_save.minor:
        lines.append(f"A cheaper plan could save at most {change.could_save}.")
    return [Paragraph(" ".join(lines))] if lines else []


def _boards(count: int, change: MaterialChange) -> str:
    form = change.material.form.value
    return f"no {form}" if not count else f"1 {form}" if count == 1 else f"{count} {form}s"


def _fate(row: LayoutRow) -> str:
    if row.like is not None and row.fate != "stays":
        return f"cut like layout {row.like}, from another board"
    return {"fewer": "on fewer boards", "dropped": "dropped", "new": "new", "stays": "stays"}[row.fate]


def _tables(found: PlanOfRest, unit: str) -> tuple[tuple[str, tuple[str, ...], tuple[_Row, ...]], ...]:
    """The title, headings and rows of each table. Tables without rows are omitted."""
    if found.is_bought:
        heads: tuple[str, ...] = ("on hand", "cut", "bad", "still to use", "left over", "to buy")
        stock: list[_Row] = [(x.what, x.planned, x.cut, x.bad, x.used, x.left, x.buy) for x in found.stock]
        packs: tuple[str, ...] = ("bought", "unopened", "to buy")
        goods: list[_Row] = [(x.what, x.planned, x.left, x.buy) for x in found.goods]
    else:
        heads = packs = ("planned", "now", "change")
        stock = [(x.what, *_change(x.planned, x.used + x.buy)) for x in found.stock]
        goods = [(x.what, *_change(x.planned, x.buy)) for x in found.goods]
    pieces = [x for x in found.pieces if x.cut or x.gone or x.more or x.over]
    return (
        (
            "Items",
            ("item", "was", "now", "change"),
            tuple((_line(x.address, x.hives), *_change(x.was, x.wanted)) for x in found.lines),
        ),
        (_WOOD, ("boards, sheets and rolls", *heads), tuple(stock)),
        ("Bags, boxes and bottles", ("pack", *packs), tuple(goods)),
        (
            "Pieces",
            ("size and description", "cut", "spoiled or lost", "found or made", "wanted", "to cut", "too many"),
            tuple((_piece(x, unit), x.cut, x.gone, x.more, x.wanted, x.to_cut, x.over) for x in pieces),
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
