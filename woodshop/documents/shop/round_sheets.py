"""A sheet for each apiary's winter rounds: guards first, then what to look for in January, with boxes to tick."""

from datetime import date

from woodshop.documents.days import in_words
from woodshop.documents.packet.packing import weight
from woodshop.documents.workbook import plain
from woodshop.drawing.values.model import (
    Block,
    Bullets,
    Column,
    Data,
    Heading,
    KeepTogether,
    PageBreak,
    Paragraph,
    Table,
)
from woodshop.reference.cautions import defer
from woodshop.reference.facts import fact
from woodshop.trade.season.rounds import Apiary, Round
from woodshop.units.lengths import decimals

_MOST_ROWS = 200  # hives with a line of their own; of more, the sheet is copied
_TICK = "[ ]"
_BLANK = "______________"
MITES = "Mite treatment: follow the product label and local rules."
_LOOK = (
    "Untouched: the bees are still below, on their own stores. Close up; nothing is to be done.",
    "Started: they are at the sugar. Close up, and come again on the next mild day.",
    "Nearly gone: lay cakes now, over the bees, as told below, on a day without wind; be quick.",
    "No sound at a knock, and no warmth under the cover: note it. Close the entrance against robbing, and let the "
    "colony be looked at for disease before anything of it is used again.",
)


def rounds_json(sheets: tuple[Apiary, ...], guard_day: date | None) -> Data:
    """The sheets for machines."""
    return {
        "guard_day": guard_day,
        "apiaries": [
            {
                "name": sheet.name,
                "hives": sheet.hives,
                "groups": [
                    {
                        "name": each.name,
                        "count": each.hives.count,
                        "guard_made": each.has_guard,
                        "top_up": None
                        if each.topup is None
                        else {
                            "lies_on": each.topup.lies_on,
                            "left_over_sugar_in": None
                            if each.topup.left is None
                            else decimals(each.topup.left.inches, 4),
                            "left_when_gone_in": decimals(each.topup.bare.inches, 4),
                            "cakes": each.topup.cakes,
                            "thick_in": decimals(each.topup.thick.inches, 4),
                            "each_lb": decimals(each.topup.each.pounds, 2),
                        },
                    }
                    for each in sheet.rounds
                ],
            }
            for sheet in sheets
        ],
        "mites": MITES,
    }


def round_blocks(sheets: tuple[Apiary, ...], guard_day: date | None, unit: str) -> list[Block]:
    """All sheets, each on a page of its own."""
    blocks: list[Block] = []
    for n, sheet in enumerate(sheets):
        blocks += [PageBreak()] if n else []
        blocks += _sheet(sheet, guard_day, unit)
    return blocks


def _sheet(sheet: Apiary, guard_day: date | None, unit: str) -> list[Block]:
    day = _BLANK if guard_day is None else in_words(guard_day)
    slot, contrary = fact("opening.mouse_slot"), fact("opening.mouse_slot.contrary")
    return [
        Heading(f"Winter rounds: {plain(sheet.name)}", 1),
        *([Paragraph(_orders(sheet), small=True)] if _orders(sheet) else []),
        Paragraph("Date ______________     Outside ________     By ______________________"),
        Heading("Guard day", 2),
        Paragraph(
            f"Before mice move in, as nights turn cold: {day}. Look inside first, down to the floor: a mouse shut in "
            f"is worse than none shut out. A slot of {slot.value} keeps out most mice [{slot.cite}]; others say that "
            f"they pass {contrary.value} [{contrary.cite}]."
        ),
        *([] if not _made(sheet) else [Paragraph(f"Guards of this batch: {_made(sheet)}.", small=True)]),
        Heading("In January", 2),
        Bullets(_LOOK),
        KeepTogether((Heading("Cakes to top up with", 2), *_cakes(sheet, unit))),
        Paragraph(
            "Clear snow and dead bees off every entrance, the upper one too, and leave a board leaning before it where "
            f"snow drifts. {MITES}"
        ),
        _hives(sheet),
        *_more(sheet),
        Paragraph(
            f"What to look for is common practice, no source. Head room {fact('rim.head_room').value} over a cake "
            f"[{fact('rim.head_room').cite}]; a cake as published [{fact('sugar.block').cite}]. {defer('wintering')}",
            small=True,
        ),
    ]


def _orders(sheet: Apiary) -> str:
    """The numbers of the orders that these hives' hardware came from."""
    numbers = dict.fromkeys(plain(each.hives.order) for each in sheet.rounds if each.hives.order)
    return f"Order{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}" if numbers else ""


def _made(sheet: Apiary) -> str:
    return ", ".join(plain(each.name) for each in sheet.rounds if each.has_guard)


def _cakes(sheet: Apiary, unit: str) -> list[Block]:
    columns = (
        Column("hives", weight=4),
        Column("over the sugar as packed", weight=4),
        Column("once it is gone", weight=3),
        Column("cakes that fit, side by side", weight=7),
    )
    return [Table(columns, tuple(_cake_row(each, unit) for each in sheet.rounds))]


def _cake_row(each: Round, unit: str) -> tuple[str, ...]:
    name, top = plain(each.name), each.topup
    if top is None:
        return name, "", "", "no rim of this batch makes room; use a cake rim"
    left = "not packed here" if top.left is None else f"{top.left.text(unit)} free"
    own = " of your own" if each.hives.form == "empty" and top.lies_on == "the mesh" else ""
    if not top.cakes:
        return name, left, f"{top.bare.text(unit)} free", "none: too low, or too small; use a cake rim"
    long, wide = (fact(f"sugar.block_{side}").length for side in ("length", "width"))
    size = f"{long.text(unit)} x {wide.text(unit)} x {top.thick.text(unit)}"
    cakes = "1 cake" if top.cakes == 1 else f"{top.cakes} cakes"
    words = f"{cakes} {size}, {weight(top.each, unit)} each, on {top.lies_on}{own}; keep channel and vents open"
    return name, left, f"{top.bare.text(unit)} free", words


def _hives(sheet: Apiary) -> Table:
    ticks = ("looked in", "guard on", "untouched", "started", "nearly gone", "cakes laid", "snow off")
    columns = (
        Column("hive", weight=8),
        *(Column(word, weight=4) for word in ticks),
        Column("remarks", weight=8),
    )
    rows: list[tuple[str, ...]] = []
    for each in sheet.rounds:
        for n in range(1, each.hives.count + 1):
            if len(rows) < _MOST_ROWS:
                rows.append((f"{plain(each.name)}, hive {n}", *(_TICK for _ in ticks), ""))
    return Table(columns, tuple(rows))


def _more(sheet: Apiary) -> list[Block]:
    rest = sheet.hives - _MOST_ROWS
    return [] if rest <= 0 else [Paragraph(f"And {rest} more hives: copy this page for them.")]
