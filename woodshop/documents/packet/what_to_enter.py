"""The page of a packet that lists what to enter in the shop's book, in the order in which it happens."""

from woodshop.design.batch import packed_boards
from woodshop.design.lumberyard.lumberyard_file import ON_HAND
from woodshop.documents.packet.layouts import NumberedLayout, kept_offcuts, numbered_layouts
from woodshop.drawing.values.model import Align, Block, Cell, Column, Columns, Heading, Paragraph, Section, Table
from woodshop.hardware.catalogue import board_names
from woodshop.hardware.registry import BoardPart
from woodshop.plan.lumber_at_home import boards_used_up, is_whole
from woodshop.plan.values import PlannedBatch

_TICK = "[ ]"
_BAD_BOARDS, _SPOILED, _HANDED_OVER = 3, 3, 4  # lines to write on
_Row = tuple[Cell, ...]
_MATERIAL = Column("material", weight=10)
_PLANNED, _COUNT, _PRICE, _PLACE = (
    Column(head, Align.RIGHT, weight=4) for head in ("planned", "count", "price", "place")
)


def what_to_enter_chapter(planned: PlannedBatch) -> Section:
    """What to enter in the book, with spaces to write in. The result is empty if the design has no book."""
    if planned.batch.inventory is None:
        return Section("", ())
    batch = planned.batch
    layouts = numbered_layouts(planned)
    hives = [line for line in batch.lines if line.count and line.item.is_per_hive]
    packed = packed_boards(batch, planned.units)
    (rim,) = board_names(BoardPart.RIM)
    bought = [_line(each.what, each.count) for each in planned.purchases if not each.is_cut]
    used = [
        _line(offer.what.removesuffix(f", {ON_HAND}"), count)
        for each in planned.lumber
        for offer, count in boards_used_up(each)
    ]
    finished = [_line(f"{line.item.name}; {line.hives.name or line.hives.format}", line.count) for line in hives]
    blocks = (
        *_step("At the lumberyard", "stock bought", "stock", (_PLANNED, _COUNT, _PRICE), bought),
        *_step("Boards that are in parts now", "stock used", "stock", (_PLANNED, _COUNT), used),
        *_empty("Bad boards", "board unusable, board shorter, board with bad stretch",
                ("stock", "mark", "layout", "size, from and to", "reason"), _BAD_BOARDS if layouts else 0),
        *_step("At the saw", "layout cut", "layout, stock", (_MATERIAL, _PLANNED, _COUNT), _cut(layouts)),
        *_empty("At the bench", "pieces spoiled, pieces lost, pieces found",
                ("material", "part", "count", "what happened, and why"), _SPOILED if layouts else 0),
        *_step("Offcuts", "offcut put away", "offcut, planned size", (_MATERIAL, Column("true size", weight=5), _PLACE),
               _offcuts(planned, layouts)),
        *_step("At the end of a day", "units finished", "item; box", (_PLANNED, _COUNT, _PLACE), finished),
        *_step("When the sugar is in", "units packed", "item; box", (_PLANNED, _COUNT, _PLACE),
               [_line(f"{rim}; {name}", count) for name, count, _ in packed]),
        *_empty("Handed over, or put on a hive", "units sold, units fitted",
                ("item; box", "form", "count", "order, or hive"), _HANDED_OVER if hives else 0),
    )  # fmt: skip
    intro = Paragraph(
        f"Write as you work, with the day. Then enter each line with woodshop book add, or all of them in a sheet with "
        f"woodshop book import. The kind of event is in parentheses. Batch: {batch.name}. "
        "Name boxes as your orders do. A fondant board is entered as its rim, wire bottom and strips, or as board."
    )
    return Section("What to enter in the book", (intro, Columns(blocks)) if blocks else ())


def _line(what: str, count: int) -> _Row:
    return _TICK, what, count


def _stock(layout: NumberedLayout) -> str:
    """The name of a layout's stock in the book. A leftover board keeps the name under which it was bought."""
    return layout.what.partition(":")[0].removesuffix(f", {ON_HAND}")


def _cut(layouts: tuple[NumberedLayout, ...]) -> list[_Row]:
    """Each layout with its material and its stock, unless that is a part of a board, which the book does not have."""
    return [
        (_TICK, f"{each.number}: {_stock(each)}" if is_whole(each.layout.stock) else each.number, each.material.name,
         each.times)
        for each in layouts
    ]  # fmt: skip


def _offcuts(planned: PlannedBatch, layouts: tuple[NumberedLayout, ...]) -> list[_Row]:
    unit, kept = planned.batch.unit, kept_offcuts(planned)
    return [
        (_TICK, f"{each.number}, {each.length.number(unit)} x {each.width.text(unit)}", layout.material.name)
        for layout in layouts
        for each in kept.get(layout.name, ())
    ]


def _step(title: str, kind: str, what: str, columns: tuple[Column, ...], rows: list[_Row]) -> tuple[Block, ...]:
    """A table for one kind of event: what was planned, and empty cells for what was done."""
    if not rows:
        return ()
    heads = (Column("", weight=1), Column(what, weight=18), *columns)
    filled = tuple((*row, *[""] * (len(heads) - len(row))) for row in rows)
    return Heading(f"{title} ({kind})", 3), Table(heads, filled, small=True)


def _empty(title: str, kinds: str, heads: tuple[str, ...], lines: int) -> tuple[Block, ...]:
    """Empty lines for kinds of events that cannot be planned."""
    if not lines:
        return ()
    columns = tuple(Column(head, weight=2) for head in heads)
    return Heading(f"{title} ({kinds})", 3), Table(columns, (("",) * len(heads),) * lines, small=True)
