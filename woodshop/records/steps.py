"""What each kind of event does to the ledger, and which events are refused as impossible."""

from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any, TypeVar

from woodshop.records.ledger import Ledger, OpenBatch, OpenOrder, OpenStock
from woodshop.records.state import (
    AcceptedLine,
    BookBox,
    KeptOffcut,
    MarkedBoard,
    MeasuredMean,
    SeenPrice,
    StockPurchase,
    UnitsKey,
    UnusableBoards,
)
from woodshop.units.lengths import Length, read_length

LINE_FIELDS = ("line_item", "line_box", "line_form")
SHED, GOOD, NEEDS_REPAIR, PACKED = "shed", "good", "needs repair", "packed"
Fields = Mapping[str, Any]
_Key = TypeVar("_Key")


def apply_step(ledger: Ledger, kind: str, number: int, day: str, fields: Fields, where: str) -> None:
    """Applies one event of this `kind`, `number` and `day` ("" for none) to the ledger.

    Raises InputError at `where` if the event is impossible; the ledger must then be discarded.
    """
    ledger.number, ledger.where = number, where
    ledger.day = date.fromisoformat(day) if day else None
    STEPS[kind](ledger, fields)


# ---- orders and payments ---------------------------------------------------------------------


def _order_accepted(ledger: Ledger, e: Fields) -> None:
    order = ledger.orders.setdefault(e["order"], OpenOrder(e["customer"]))
    if order.customer != e["customer"]:
        wanted = f"{order.customer!r}, as in its other lines"
        ledger.refuse(f"order {e['order']} for {e['customer']!r}", wanted, "Spell the customer the same way.")
    if order.is_cancelled:
        ledger.refuse(f"order {e['order']}, which was canceled", "an open order", "Give it a new order number.")
    key = order_line(e)
    if key in order.lines and not order.lines[key].is_cancelled:
        given = f"{_line_words(e)} of order {e['order']} a second time"
        ledger.refuse(given, "each line once", 'Use "order changed" for another count.')
    before = order.lines.get(key)
    sold = before.sold if before else 0
    if e["count"] < sold:
        ledger.refuse(f"a count of {e['count']}", f"at least {sold}, which the customer has", "Correct the count.")
    order.lines[key] = AcceptedLine(
        item=e["item"],
        box=e["box"],
        form=e.get("form", ""),
        count=e["count"],
        price=ledger.money(e["price"]) if "price" in e else None,
        due=_date(e.get("due")),
        priority=e.get("priority"),
        note=e.get("note", ""),
        sold=sold,
        charged=before.charged if before else ledger.money(0),
        is_cancelled=False,
        events=(ledger.number,),
    )


def _order_changed(ledger: Ledger, e: Fields) -> None:
    order, key = _open_line(ledger, e)
    line = order.lines[key]
    if e.get("count", line.count) < line.sold:
        given, wanted = f"a count of {e['count']}", f"at least {line.sold}, which the customer has"
        ledger.refuse(given, wanted, "Correct the count, or undo the sale.")
    order.lines[key] = replace(
        line,
        count=e.get("count", line.count),
        price=ledger.money(e["price"]) if "price" in e else line.price,
        due=_date(e["due"]) if "due" in e else line.due,
        priority=e.get("priority", line.priority),
        note=e.get("note", line.note),
        events=(*line.events, ledger.number),
    )


def _order_canceled(ledger: Ledger, e: Fields) -> None:
    if ("item" in e) != ("box" in e) or ("form" in e and "item" not in e):
        ledger.refuse("a part of a line", "item and box for one line, or neither for the whole order", "Complete it.")
    if "item" in e:
        order, key = _open_line(ledger, e)
        order.lines[key] = replace(order.lines[key], is_cancelled=True)
        return
    order = _open_order(ledger, e)
    order.is_cancelled = True
    order.lines = {key: replace(line, is_cancelled=True) for key, line in order.lines.items()}


def _deposit_paid(ledger: Ledger, e: Fields) -> None:
    _open_order(ledger, e).deposits += e["amount"]


def _balance_paid(ledger: Ledger, e: Fields) -> None:
    _open_order(ledger, e).balances += e["amount"]


def _refund_paid(ledger: Ledger, e: Fields) -> None:
    order = _known_order(ledger, e)
    paid = order.deposits + order.balances - order.refunds
    if e["amount"] > paid:
        given = f"a refund of {ledger.money(e['amount'])} of order {e['order']}"
        ledger.refuse(given, f"at most {ledger.money(paid)}, which was paid", "Enter the payments first.")
    order.refunds += e["amount"]


def _known_order(ledger: Ledger, e: Fields) -> OpenOrder:
    order = ledger.orders.get(e["order"])
    if order is None:
        ledger.refuse(f"order {e['order']!r}", "an order of this book", 'Enter "order accepted" first.')
    return order


def _open_order(ledger: Ledger, e: Fields) -> OpenOrder:
    order = _known_order(ledger, e)
    if order.is_cancelled:
        ledger.refuse(f"order {e['order']}, which was canceled", "an open order", "Check the order number.")
    return order


def _open_line(ledger: Ledger, e: Fields) -> tuple[OpenOrder, tuple[str, str, str]]:
    order, key = _open_order(ledger, e), order_line(e)
    if key not in order.lines or order.lines[key].is_cancelled:
        lines = [_line_words(_words_of(line)) for line in order.lines.values() if not line.is_cancelled]
        wanted = f"a line of order {e['order']}: {'; '.join(lines) or 'it has none left'}"
        given = _line_words(dict(zip(("item", "box", "form"), key, strict=True)))
        ledger.refuse(given, wanted, "Write item, box and form as in the order.")
    return order, key


def _words_of(line: AcceptedLine) -> dict[str, str]:
    return {"item": line.item, "box": line.box, "form": line.form}


def order_line(e: Fields) -> tuple[str, str, str]:
    """The item, box and form of an event's order line. The units sold can differ from those on the line."""
    is_named = any(name in e for name in LINE_FIELDS)
    form = e.get("line_form" if is_named else "form", "")
    return e.get("line_item", e["item"]), e.get("line_box", e["box"]), form


def _line_words(e: Fields) -> str:
    return f"{e['item']} for {e['box']}" + (f", {e['form']}" if e.get("form") else "")


def _date(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


# ---- stock, boards and offcuts ---------------------------------------------------------------


def _stock_bought(ledger: Ledger, e: Fields) -> None:
    tally = ledger.stock.setdefault(e["stock"], OpenStock(e.get("material", "")))
    if "material" in e and tally.material not in ("", e["material"]):
        given, wanted = f"{e['stock']!r} of {e['material']}", f"{tally.material}, as bought before"
        ledger.refuse(given, wanted, "Correct the material, or give other stock another name.")
    tally.material = e.get("material", tally.material)
    tally.bought += e["count"]
    ledger.purchases.append(
        StockPurchase(
            number=ledger.number,
            day=ledger.day,
            stock=e["stock"],
            count=e["count"],
            price=ledger.money(e["price"]) if "price" in e else None,
            lumberyard=e.get("lumberyard", ""),
            material=tally.material,
            length=_length(e.get("length")),
            width=_length(e.get("width")),
            batch=e.get("batch", ""),
        )
    )


def _stock_used(ledger: Ledger, e: Fields) -> None:
    _enough_stock(ledger, e["stock"], e["count"]).used += e["count"]


def _enough_stock(ledger: Ledger, stock: str, count: int) -> OpenStock:
    tally = ledger.stock.get(stock)
    have = tally.on_hand if tally else 0
    if tally is None or count > have:
        do = 'Enter "stock bought" first, or take inventory: woodshop book count.'
        known = max((name for name in ledger.stock if stock.startswith(f"{name},")), key=len, default="")
        if tally is None and known:  # as a packet writes it: "1x6 pine, 8 ft, bought"
            do = f"Did you mean {known!r}?"
        ledger.refuse(f"{count} of {stock!r}", f"at most {have}, which are on hand", do)
    return tally


def _offcut_put_away(ledger: Ledger, e: Fields) -> None:
    if e["offcut"] in ledger.offcuts:
        given, do = f"offcut {e['offcut']} a second time", "Write another number on the wood."
        ledger.refuse(given, "a number that no offcut on hand has", do)
    bad = tuple((read_length(start), read_length(end)) for start, end in e.get("bad", ()))
    ledger.offcuts[e["offcut"]] = KeptOffcut(
        number=ledger.number,
        offcut=e["offcut"],
        material=e["material"],
        length=read_length(e["length"]),
        width=read_length(e["width"]),
        place=e.get("place", SHED),
        straight_edges=e.get("straight_edges", False),
        square_ends=e.get("square_ends", False),
        bad=bad,
        batch=e.get("batch", ""),
    )


def _offcut_used(ledger: Ledger, e: Fields) -> None:
    if e["offcut"] not in ledger.offcuts:
        have = ", ".join(ledger.offcuts) or "none"
        ledger.refuse(f"offcut {e['offcut']!r}", f"an offcut on hand: {have}"[:200], "Check the number on the wood.")
    del ledger.offcuts[e["offcut"]]


def _layout_cut(ledger: Ledger, e: Fields) -> None:
    if sum(name in e for name in ("stock", "offcut", "board")) > 1:
        ledger.refuse("several of stock, offcut and board", "one of them", "Enter each in an event of its own.")
    if e["times"] > 1 and ("offcut" in e or "board" in e):
        ledger.refuse(f"{e['times']} times from one board", "times 1", "Enter each board in an event of its own.")
    if "stock" in e:
        _enough_stock(ledger, e["stock"], e["times"]).used += e["times"]
    elif "offcut" in e:
        _offcut_used(ledger, e)
    elif "board" in e:
        if e["board"] not in ledger.boards:
            ledger.refuse(f"a board marked {e['board']!r}", "a marked board on hand", "Check the mark on the board.")
        del ledger.boards[e["board"]]
    batch, key = _batch(ledger, e), (e.get("plan", ""), e["material"], e["layout"])
    batch.layouts[key] = batch.layouts.get(key, 0) + e["times"]
    batch.cuts.setdefault(key, []).append(ledger.number)


def _cuts_made(ledger: Ledger, e: Fields) -> None:
    batch, key = _batch(ledger, e), (e["plan"], e["step"], e["layout"])
    batch.ticks[key] = batch.ticks.get(key, 0) + e["times"]


def _plan_started(ledger: Ledger, e: Fields) -> None:
    _batch(ledger, e).started.setdefault(e["plan"], ledger.number)


def _board_unusable(ledger: Ledger, e: Fields) -> None:
    if "stock" in e:
        _enough_stock(ledger, e["stock"], e["count"]).unusable += e["count"]
    _batch(ledger, e).unusable.append(
        UnusableBoards(
            material=e["material"],
            stock=e.get("stock", ""),
            layout=e.get("layout"),
            count=e["count"],
            reason=e.get("reason", ""),
        )
    )


def _board_shorter(ledger: Ledger, e: Fields) -> None:
    _mark_board(ledger, e, read_length(e["length"]), None)


def _board_with_bad_stretch(ledger: Ledger, e: Fields) -> None:
    start, end = read_length(e["from"]), read_length(e["to"])
    if end <= start:
        ledger.refuse(f"from {e['from']} to {e['to']}", "a stretch that ends after it begins", "Correct it.")
    _mark_board(ledger, e, None, (start, end))


def _mark_board(ledger: Ledger, e: Fields, length: Length | None, bad: tuple[Length, Length] | None) -> None:
    """Moves a board from its stock to the marked boards. If it is already marked, adds the new fault."""
    board = ledger.boards.get(e["board"])
    if board is None:
        if "stock" in e:
            _enough_stock(ledger, e["stock"], 1).marked += 1
        board = MarkedBoard(
            board=e["board"],
            material=e["material"],
            stock=e.get("stock", ""),
            length=None,
            bad=(),
            batch=e["batch"],
            layout=e.get("layout"),
            reason=e.get("reason", ""),
        )
    elif (board.material, board.stock) != (e["material"], e.get("stock", board.stock)):
        given, wanted = f"{e['board']}, the mark of a board of other stock", "a mark that no board on hand has"
        ledger.refuse(given, wanted, "Chalk another mark on the board.")
    ledger.boards[e["board"]] = replace(
        board, length=length or board.length, bad=board.bad if bad is None else (*board.bad, bad)
    )


def _batch(ledger: Ledger, e: Fields) -> OpenBatch:
    return ledger.batches.setdefault(e["batch"], OpenBatch())


def _pieces(name: str) -> Callable[[Ledger, Fields], None]:
    """A step that adds to the count `name` (made, spoiled, lost or found) of a part's pieces."""

    def add(ledger: Ledger, e: Fields) -> None:
        batch, key = _batch(ledger, e), (e["material"], e["part"])
        batch.pieces.setdefault(key, Counter())[name] += e["count"]
        if "reason" in e:
            batch.reasons.setdefault(key, []).append(e["reason"])

    return add


def _length(text: str | None) -> Length | None:
    return None if text is None else read_length(text)


# ---- units -----------------------------------------------------------------------------------


def _key(e: Fields, *, form: str | None = None, state: str = GOOD, hive: str = "") -> UnitsKey:
    place = "" if hive else e.get("place", SHED)
    form = e.get("form", "") if form is None else form
    return UnitsKey(item=e["item"], box=e["box"], form=form, state=state, place=place, hive=hive)


def _take(ledger: Ledger, key: UnitsKey, count: int) -> None:
    have = ledger.units[key]
    if count > have:
        others = [
            f"{n} {_where(other)}"
            for other, n in ledger.units.items()
            if n and (other.item, other.box) == (key.item, key.box) and other != key
        ]
        wanted = f"at most {have}" + (f"; there are {'; '.join(others)}" if others else ", which the book has")
        do = 'Name where they are, enter "units finished" first, or take inventory: woodshop book count.'
        ledger.refuse(f"{count} {key.item} for {key.box} {_where(key)}", wanted, do)
    ledger.units[key] = have - count


def _where(key: UnitsKey) -> str:
    words = [word for word in (key.form, key.state if key.state != GOOD else "") if word]
    place = f"on hive {key.hive}" if key.hive else f"in {key.place}"
    return f"{', '.join(words)} {place}".strip()


def _put(ledger: Ledger, key: UnitsKey, count: int) -> None:
    ledger.units[key] += count


def _count_units(ledger: Ledger, e: Fields, name: str, count: int) -> None:
    ledger.totals.setdefault((e["item"], e["box"]), Counter())[name] += count


def _units_finished(ledger: Ledger, e: Fields) -> None:
    _put(ledger, _key(e), e["count"])
    _count_units(ledger, e, "finished", e["count"])


def _units_packed(ledger: Ledger, e: Fields) -> None:
    if e.get("form") == PACKED:
        ledger.refuse("units that are packed already", "their form before, such as with mesh", "Correct the form.")
    _take(ledger, _key(e), e["count"])
    _put(ledger, _key(e, form=PACKED), e["count"])


def _units_sold(ledger: Ledger, e: Fields) -> None:
    _take(ledger, _key(e), e["count"])
    _count_units(ledger, e, "sold", e["count"])
    if "order" not in e and any(name in e for name in LINE_FIELDS):
        ledger.refuse("a line without its order", "the order too", f"Add order, or leave {', '.join(LINE_FIELDS)} out.")
    if "order" in e:
        order, key = _open_line(ledger, e)
        line = order.lines[key]
        if line.sold + e["count"] > line.count:
            given = f"{e['count']} more of {_line_words(e)}"
            wanted = f"at most {line.count - line.sold}, which order {e['order']} has left"
            ledger.refuse(given, wanted, 'Enter "order changed" first, or sell the rest without an order.')
        price = ledger.money(e["price"]) if "price" in e else line.price
        charged = None if price is None or line.charged is None else line.charged + price * e["count"]
        order.lines[key] = replace(line, sold=line.sold + e["count"], charged=charged)


def _units_fitted(ledger: Ledger, e: Fields) -> None:
    _take(ledger, _key(e), e["count"])
    _put(ledger, _key(e, hive=e["hive"]), e["count"])


def _units_taken_off(ledger: Ledger, e: Fields) -> None:
    _take(ledger, _key(e, hive=e["hive"]), e["count"])
    _put(ledger, _key(e, form=e.get("becomes")), e["count"])


def _units_need_repair(ledger: Ledger, e: Fields) -> None:
    _take(ledger, _key(e), e["count"])
    _put(ledger, _key(e, state=NEEDS_REPAIR), e["count"])


def _units_repaired(ledger: Ledger, e: Fields) -> None:
    _take(ledger, _key(e, state=NEEDS_REPAIR), e["count"])
    _put(ledger, _key(e), e["count"])


def _units_scrapped(ledger: Ledger, e: Fields) -> None:
    if "hive" in e and "place" in e:
        ledger.refuse("a place and a hive", "one of them", "Leave the other out.")
    _take(ledger, _key(e, state=e.get("state", GOOD), hive=e.get("hive", "")), e["count"])
    _count_units(ledger, e, "scrapped", e["count"])


# ---- measurements ----------------------------------------------------------------------------


def _box_measured(ledger: Ledger, e: Fields) -> None:
    ledger.boxes.append(
        BookBox(
            number=ledger.number,
            day=ledger.day,
            customer=e["customer"],
            box=e["box"],
            frames=e["frames"],
            length=read_length(e["length"]),
            width=read_length(e["width"]),
            gaps=tuple(map(read_length, e["gap"])),
            wall=_length(e.get("wall")),
            height=_length(e.get("height")),
            hive=e.get("hive", ""),
        )
    )


def _price_seen(ledger: Ledger, e: Fields) -> None:
    if ledger.day is None:
        ledger.refuse("a price without a day", "the day on which it was seen", "Add the day.")
    price = ledger.money(e["price"])
    ledger.seen.append(
        SeenPrice(number=ledger.number, lumberyard=e["lumberyard"], stock=e["stock"], price=price, day=ledger.day)
    )


def _density_measured(ledger: Ledger, e: Fields) -> None:
    ledger.densities.append(Fraction(e["density"]))


def _kerf_measured(ledger: Ledger, e: Fields) -> None:
    _measure(ledger.kerfs, (e["cut"], e.get("tool", "")), 1, read_length(e["kerf"]).mm)


def _minutes_taken(ledger: Ledger, e: Fields) -> None:
    _measure(ledger.minutes, e["operation"], e["count"], Fraction(e["minutes"]))


def _measure(means: dict[_Key, MeasuredMean], key: _Key, count: int, total: Fraction) -> None:
    old = means.get(key) or MeasuredMean(count=0, total=Fraction(0), entries=0)
    means[key] = MeasuredMean(count=old.count + count, total=old.total + total, entries=old.entries + 1)


# ---- inventory counts -----------------------------------------------------------------------------
# An inventory count sets how many there are: a later correction of what was before it does not change that.


def _stock_counted(ledger: Ledger, e: Fields) -> None:
    tally = ledger.stock.setdefault(e["stock"], OpenStock())
    _expect(ledger, e, tally.on_hand)
    tally.difference += e["counted"] - tally.on_hand


def _units_counted(ledger: Ledger, e: Fields) -> None:
    key = _key(e, state=e.get("state", GOOD))
    have = ledger.units.get(key, 0)
    _expect(ledger, e, have)
    ledger.units[key] = e["counted"]
    _count_units(ledger, e, "difference", e["counted"] - have)


def _offcut_counted(ledger: Ledger, e: Fields) -> None:
    _expect(ledger, e, int(e["offcut"] in ledger.offcuts))
    if e["counted"] != 0:
        ledger.refuse(f"offcut {e['offcut']} counted", "counted 0", 'Enter a new one with "offcut put away".')
    ledger.offcuts.pop(e["offcut"], None)


def _expect(ledger: Ledger, e: Fields, have: int) -> None:
    """Refuses a new inventory count if the book has changed since the count was made."""
    if ledger.is_new and e["expected"] != have:
        given, wanted = f"{e['expected']} expected", f"{have}, which the book has"
        ledger.refuse(given, wanted, "The book has changed since. Count again: woodshop book count.")


STEPS: dict[str, Callable[[Ledger, Fields], None]] = {
    "order accepted": _order_accepted,
    "order changed": _order_changed,
    "order canceled": _order_canceled,
    "deposit paid": _deposit_paid,
    "balance paid": _balance_paid,
    "refund paid": _refund_paid,
    "stock bought": _stock_bought,
    "stock used": _stock_used,
    "offcut put away": _offcut_put_away,
    "offcut used": _offcut_used,
    "layout cut": _layout_cut,
    "cuts made": _cuts_made,
    "plan started": _plan_started,
    "pieces made": _pieces("made"),
    "pieces spoiled": _pieces("spoiled"),
    "pieces lost": _pieces("lost"),
    "pieces found": _pieces("found"),
    "board unusable": _board_unusable,
    "board shorter": _board_shorter,
    "board with bad stretch": _board_with_bad_stretch,
    "units finished": _units_finished,
    "units packed": _units_packed,
    "units sold": _units_sold,
    "units fitted": _units_fitted,
    "units taken off": _units_taken_off,
    "units need repair": _units_need_repair,
    "units repaired": _units_repaired,
    "units scrapped": _units_scrapped,
    "box measured": _box_measured,
    "price seen": _price_seen,
    "density measured": _density_measured,
    "kerf measured": _kerf_measured,
    "minutes taken": _minutes_taken,
    "stock counted": _stock_counted,
    "units counted": _units_counted,
    "offcut counted": _offcut_counted,
}
"""The step for each kind of event, except corrections and undos."""
