"""Reads from the book what has happened since a plan was made: the plan's progress, stock on hand, and orders.

An earlier plan records the last event that it was made from. Only later events count as progress, because the plan
itself already counts what was on hand at that event. Nothing in the book is therefore counted twice.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from woodshop.design.design_file import Design
from woodshop.design.inventory import BookNote, Inventory, UnitsOnHand, named
from woodshop.design.lumberyard.lumberyard_file import ON_HAND, Lumberyard
from woodshop.design.lumberyard.stocked import bare
from woodshop.design.orders.lines import with_read_orders
from woodshop.design.settle.on_hand import hives_named
from woodshop.design.settle.unit_forms import items_of
from woodshop.errors import InputError, Problem
from woodshop.plan.book.reading import inventory_of, refuse_other_book
from woodshop.plan.rest.progress import (
    BoardFault,
    BoughtCount,
    LayoutCut,
    OffcutOnHand,
    PieceChange,
    PieceCount,
    Progress,
)
from woodshop.records.events import Event, effective
from woodshop.records.state import BatchProgress, BookState, PieceTally, StockTally
from woodshop.records.store import open_book

_CHANGES: tuple[tuple[str, PieceChange], ...] = (
    ("made", "made extra"),
    ("spoiled", "spoiled"),
    ("lost", "lost"),
    ("found", "found"),
)
_FINISHED = "units finished"
_SCRAPPED = "units scrapped, or missing in an inventory count"


@dataclass(frozen=True, slots=True)
class BookSince:
    """A book at the event that a plan was made from, and at its latest event.

    `written` is the plan as read from its plan.json. `takes_orders` says whether its design has orders. `restated`
    corrects the number of units of each item and box that were finished before the plan. It is not zero if events from
    before the plan were later corrected, undone or restored, and it is negative if fewer units were finished than the
    book said at that time.
    """

    written: Mapping[str, Any]
    at_plan: BookState
    latest: BookState
    takes_orders: bool = False
    restated: Mapping[tuple[str, str], int] = field(default_factory=dict)

    @property
    def batch(self) -> str:
        """The name of the batch."""
        return str(self.written["batch"])


def read_since(written: Mapping[str, Any], design: Design, as_of: int | None, where: str) -> BookSince:
    """The book of a design at two events: the one that an earlier plan was made from, and `as_of`.

    If the plan was made without a book, every event in the book counts as later than the plan. Raises InputError if the
    book lacks the events of the plan, or has other events in their place. `where` names the plan in messages.
    """
    if design.book is None:
        raise ValueError("the design has no book")
    first = refuse_other_book(written, design.book, where) if "book" in written else 0
    if as_of is not None and as_of < first:
        given, wanted = f"event {as_of}", f"event {first}, which the plan was made from, or a later one"
        raise InputError(Problem("--as-of", given, wanted, "Leave --as-of away, or give a later event."))
    with open_book(design.book) as book:
        restated = _finished(book.events(1, as_of), first)
        restated.subtract(_finished(book.events(1, first), first))
        return BookSince(written, book.state(first), book.state(as_of), design.ordering is not None, restated)


def _finished(events: Sequence[Event], last: int) -> Counter[tuple[str, str]]:
    """How many units of each item and box were finished up to event `last`, after all corrections in `events`."""
    counts: Counter[tuple[str, str]] = Counter()
    for event, _, fields in effective(events):
        if event.number <= last and event.kind == _FINISHED:
            counts[fields["item"], fields["box"]] += fields["count"]
    return counts


def design_since(since: BookSince, design: Design) -> Design:
    """The design for the rest of the plan, with its orders and the inventory from `inventory_since`.

    If the plan was made without a book, the design has none either.
    """
    if "book" not in since.written:
        return with_read_orders(replace(design, book=None))
    return with_read_orders(replace(design, inventory=inventory_since(since), notes=(*design.notes, *_notes(since))))


def _notes(since: BookSince) -> Iterator[BookNote]:
    """A note about units finished since the plan: their pieces are counted, not the units."""
    counts: Counter[tuple[str, str]] = Counter()
    for sign, state in ((1, since.latest), (-1, since.at_plan)):
        for total in state.units_totals:
            counts[total.item, total.box] += sign * total.finished
    counts.subtract(since.restated)
    finished = [f"{count} {item} for {box}" for (item, box), count in counts.items() if count > 0]
    if finished:
        yield BookNote(
            place=f"{inventory_of(since.latest).source}, units finished since the plan",
            value=named(finished),
            wanted="units made of the pieces of the plan",
            do="They count by their pieces, cut or still to cut. If you made them before the plan, or of other wood, "
            'undo the event, and enter them as "units counted".',
        )


def inventory_since(since: BookSince) -> Inventory:
    """The inventory for settling a design for the rest of the plan.

    It has the units that were on hand when the plan was made, minus later losses. It has the orders that are accepted
    now, with the units sold on them before the plan. It has the stock and offcuts that were on hand when the plan was
    made, and stock bought later that is not on the plan's buy list. (Purchases from that list are in the progress.)
    Density and kerfs stay as they were when the plan was made, because a part that is already cut cannot change its
    size.
    """
    now, before = inventory_of(since.latest), inventory_of(since.at_plan)
    sold = {(each.order, each.item, each.box, each.form): each.sold for each in before.orders}
    listed = {name for _, name in _listed(since)}
    had = {each.stock: each.on_hand for each in since.at_plan.stock}
    more = [
        replace(each, count=each.count - had.get(each.stock, 0), is_new=True)
        for each in now.stock
        if each.stock not in listed and each.count > had.get(each.stock, 0)
    ]
    return replace(
        now,
        units=tuple(_units(since, before)),
        rack=before.rack,
        stock=(*before.stock, *more),
        density=before.density,
        kerfs=before.kerfs,
        orders=tuple(
            replace(each, sold=sold.get((each.order, each.item, each.box, each.form), 0)) for each in now.orders
        ),
    )


def progress_since(since: BookSince, design: Design, lumberyard: Lumberyard) -> Progress:
    """The progress of the batch: everything entered for it after the event that its plan was made from.

    If more units were scrapped or missing in an inventory count than were on hand at that event, the pieces of the
    excess units count as spoiled. `lumberyard` is the design's lumberyard, with the stock that was on hand at that
    event. Raises InputError for a layout that the plan does not have.
    """
    _refuse_unknown_layouts(since)
    return Progress(
        plan=str(since.written["digest"]),
        cut=tuple(_cut(since)),
        pieces=(*_pieces(since), *_scrapped(since, design)),
        boards=(*_boards(since, lumberyard), *_offcuts_gone(since), *_left_over_gone(since, lumberyard)),
        offcuts=tuple(
            OffcutOnHand(material=each.material, length=each.length, width=each.width, label=each.offcut, bad=each.bad)
            for each in since.latest.offcuts
            if each.number > since.at_plan.number
        ),
        bought=None if _is_of_ticks(since) else tuple(_bought(since)),
    )


def _is_of_ticks(since: BookSince) -> bool:
    """Whether the plan was made without a book, and the book says nothing of stock, as one begun for ticks. Then
    everything on the plan's buy list counts as bought."""
    return "book" not in since.written and not since.latest.stock


def _of_batch(state: BookState, batch: str) -> BatchProgress | None:
    return next((each for each in state.batches if each.batch == batch), None)


def _times(state: BookState, since: BookSince) -> Counter[tuple[str, int]]:
    """Boards cut, by material and layout. Cuts from another plan are left out; cuts that name no plan are included."""
    own, digest = _of_batch(state, since.batch), str(since.written["digest"])
    counts: Counter[tuple[str, int]] = Counter()
    for each in own.layouts if own is not None else ():
        if digest.startswith(each.plan):
            counts[each.material, each.layout] += each.times
    return counts


def _refuse_unknown_layouts(since: BookSince) -> None:
    known, own = _stock_of_layouts(since.written), _of_batch(since.latest, since.batch)
    digest = str(since.written["digest"])
    found = [
        Problem(
            f"shop book, event {number}, layout cut",
            f"layout {each.layout}",
            f"a layout of this plan, 1 to {max(known)}" if known else "a plan with layouts",
            f"Copy the number from the packet: woodshop book correct BOOK {number} layout=...",
        )
        for each in (own.layouts if own is not None else ())
        if digest.startswith(each.plan) and each.layout not in known
        for number in each.events
        if number > since.at_plan.number
    ]
    if found:
        raise InputError(*found)


def _cut(since: BookSince) -> Iterator[LayoutCut]:
    before = _times(since.at_plan, since)
    for (material, layout), times in _times(since.latest, since).items():
        if times > before[material, layout]:
            yield LayoutCut(layout=layout, times=times - before[material, layout], material=material)


def _pieces(since: BookSince) -> Iterator[PieceCount]:
    own, before = _of_batch(since.latest, since.batch), _of_batch(since.at_plan, since.batch)
    old = {(each.material, each.part): each for each in (before.pieces if before is not None else ())}
    for each in own.pieces if own is not None else ():
        was = old.get((each.material, each.part), PieceTally(material=each.material, part=each.part))
        reason = "; ".join(dict.fromkeys(each.reasons[len(was.reasons) :]))
        for name, change in _CHANGES:
            count = getattr(each, name) - getattr(was, name)
            if count:
                yield PieceCount(part=each.part, change=change, count=count, reason=reason)


def _boards(since: BookSince, lumberyard: Lumberyard) -> Iterator[BoardFault]:
    """Boards found unusable or unlike what was bought, each assigned to a stock of the plan.

    A board with a layout gets the stock of the layout. The others count as boards on the buy list while the list has
    uncut boards, and after that as boards left over when the plan was made.
    """
    lines = {str(row["what"]): str(row.get("stock", "")) for row in since.written["purchases"]}
    bought = {each.what: each.count for each in _bought(since)}
    layouts = _stock_of_layouts(since.written)
    cut: Counter[str] = Counter()
    for row in _cut(since):
        cut[layouts.get(row.layout, "")] += row.times
    free = Counter({what: count - cut[lines[what]] for what, count in bought.items()})
    ids = _left_over_ids(since, lumberyard)
    sellers = [str(row["lumberyard"]) for row in since.written["terms"]]
    for fault in _faults(since):
        line, left_over = _line_name(since, fault.stock), ids.get(bare(fault.stock, sellers), "")
        on_list = fault.count if not left_over else max(0, min(fault.count, free[line])) if line in lines else 0
        if fault.layout is not None and left_over:
            on_list = 0 if layouts.get(fault.layout) == left_over else fault.count
        free[line] -= on_list
        for stock, count in ((line, on_list), (left_over or line, fault.count - on_list)):
            if count:
                yield replace(fault, stock=stock, count=count)


def _faults(since: BookSince) -> Iterator[BoardFault]:
    """The boards that were found unusable or unlike what was bought, with their names in the book."""
    own, before = _of_batch(since.latest, since.batch), _of_batch(since.at_plan, since.batch)
    known = 0 if before is None else len(before.unusable)
    for each in own.unusable[known:] if own is not None else ():
        yield BoardFault(stock=each.stock, count=each.count, layout=each.layout, reason=each.reason)
    marked = {each.board for each in since.at_plan.boards}
    for board in since.latest.boards:
        if board.batch == since.batch and board.board not in marked:
            yield BoardFault(
                stock=board.stock,
                layout=board.layout,
                length=board.length,
                bad=board.bad,
                reason=board.reason or f"marked board {board.board}",
                board=board.board,
            )


def _offcuts_gone(since: BookSince) -> Iterator[BoardFault]:
    """The plan's offcuts and marked boards that are gone, although no layout was cut from them."""
    there = {stock for own in since.written["at_hand"].values() for stock in own}
    left = {each.offcut for each in since.latest.offcuts}
    marks = {each.board for each in since.latest.boards}
    gone = {
        f"offcut_{each.offcut}": f"offcut {each.offcut}" for each in since.at_plan.offcuts if each.offcut not in left
    }
    gone |= {f"offcut_board_{e.board}": f"marked board {e.board}" for e in since.at_plan.boards if e.board not in marks}
    layouts = _stock_of_layouts(since.written)
    cut = {layouts.get(each.layout, "") for each in _cut(since)}
    for stock, words in gone.items():
        if stock in there and stock not in cut:
            yield BoardFault(stock=stock, reason=f"{words} was used elsewhere")


def _left_over_gone(since: BookSince, lumberyard: Lumberyard) -> Iterator[BoardFault]:
    """Boards that were left over when the plan was made and are gone, although no layout was cut from them.

    Boards that are also on the buy list are left out, because they are counted there.
    """
    sellers = [terms.lumberyard for terms in lumberyard.terms]
    ids = _left_over_ids(since, lumberyard)
    layouts = _stock_of_layouts(since.written)
    cut: Counter[str] = Counter()  # or known to be bad
    for row in _cut(since):
        cut[layouts.get(row.layout, "")] += row.times
    for fault in _boards(since, lumberyard):
        cut[fault.stock] += fault.count
    listed = {name for _, name in _listed(since)}
    now = {each.stock: each.on_hand for each in since.latest.stock}
    for each in since.at_plan.stock:
        stock = ids.get(bare(each.stock, sellers), "")
        lost = each.on_hand - now.get(each.stock, 0) - cut[stock]
        if stock and each.stock not in listed and lost > 0:
            yield BoardFault(stock=stock, count=lost, reason="used elsewhere")


def _left_over_ids(since: BookSince, lumberyard: Lumberyard) -> dict[str, str]:
    """The ids of the boards left over when the plan was made, keyed by their names in the book."""
    sellers = [terms.lumberyard for terms in lumberyard.terms]
    there = {stock for own in since.written["at_hand"].values() for stock in own}
    return {
        bare(offer.what.removesuffix(f", {ON_HAND}"), sellers): offer.id
        for offer in lumberyard.offers
        if offer.label == ON_HAND and offer.id in there
    }


def _listed(since: BookSince) -> Iterator[tuple[str, str]]:
    """Each name on the plan's buy list, paired with every name that the book uses for the same thing."""
    sellers = [str(row["lumberyard"]) for row in since.written["terms"]]
    lines = {bare(str(row["what"]), sellers): str(row["what"]) for row in since.written["purchases"]}
    for tally in since.latest.stock:
        plain = bare(tally.stock, sellers)
        meant = plain if plain in lines else max((k for k in lines if plain.startswith(f"{k},")), key=len, default="")
        if meant:
            yield lines[meant], tally.stock


def _line_name(since: BookSince, stock: str) -> str:
    """The name of a board on the buy list, or its name in the book if it is not on the list."""
    return next((what for what, own in _listed(since) if own == stock), stock)


def _bought(since: BookSince) -> Iterator[BoughtCount]:
    """For each line of the buy list, how many were bought and are either on hand or cut with the plan's layouts."""
    stocks = {str(row["what"]): str(row.get("stock", "")) for row in since.written["purchases"]}
    cut: Counter[str] = Counter()
    layouts = _stock_of_layouts(since.written)
    for each in _cut(since):
        cut[layouts.get(each.layout, "")] += each.times
    old = {each.stock: each for each in since.at_plan.stock}
    now = {each.stock: each for each in since.latest.stock}
    counts: Counter[str] = Counter()
    gone: Counter[str] = Counter()
    for what, name in _listed(since):
        was = old.get(name, StockTally(stock=name, material=""))
        others = sum(
            each.count
            for each in since.latest.purchases
            if each.stock == name and each.number > since.at_plan.number and each.batch not in ("", since.batch)
        )
        counts[what] += now[name].bought - was.bought - others + now[name].difference - was.difference
        gone[what] += now[name].used - was.used
    for what, count in counts.items():
        own = cut[stocks[what]] + cut[f"left over {stocks[what]}"]  # also from those left over when the plan was made
        outside = max(0, gone[what] - own) if stocks[what] else 0
        if count > outside:
            yield BoughtCount(what=what, count=count - outside)


def _stock_of_layouts(written: Mapping[str, Any]) -> dict[int, str]:
    """The id of every layout's stock, keyed by the layout's printed number."""
    found: dict[int, str] = {}
    numbers = written.get("layout_numbers")
    for material, plan in written["plans"].items():
        for n, layout in enumerate(plan["layouts"]):
            found[len(found) + 1 if numbers is None else int(numbers[material][n])] = str(layout["stock"])
    return found


# ---- units -----------------------------------------------------------------------------------


def _gone(since: BookSince) -> Counter[tuple[str, str]]:
    """How many units of each item and box the plan has lost since it was made.

    A unit is lost if it was scrapped, is missing in an inventory count, needs repair, or (if the plan is for orders)
    was sold without an order. Units are subtracted if they were found, repaired, taken off hives, or (according to a
    later correction) finished before the plan.
    """
    gone: Counter[tuple[str, str]] = Counter()
    gone.subtract(since.restated)
    for sign, state in ((1, since.latest), (-1, since.at_plan)):
        for total in state.units_totals:
            key = total.item, total.box
            gone[key] += sign * (total.scrapped - total.difference)
            if since.takes_orders:
                gone[key] += sign * total.sold
        for order in state.orders if since.takes_orders else ():
            for line in order.lines:
                gone[line.item, line.box] -= sign * line.sold
        for units, count in state.units.items():
            if units.state != "good" and not units.hive:
                gone[units.item, units.box] += sign * count
    on_hives: Counter[tuple[str, str]] = Counter()
    for sign, state in ((1, since.latest), (-1, since.at_plan)):
        for units, count in state.units.items():
            if units.hive:
                on_hives[units.item, units.box] += sign * count
    for key, count in on_hives.items():
        gone[key] += min(0, count)
    return gone


def _units(since: BookSince, before: Inventory) -> Iterator[UnitsOnHand]:
    """Units for the rest of the plan.

    They are the good units that were on hand when the plan was made, minus those lost since; the units that needed
    repair at that time and still do; and the units found since.
    """
    gone, bad = _gone(since), Counter[tuple[str, str]]()
    for key, count in since.latest.units.items():
        if key.state != "good" and not key.hive:
            bad[key.item, key.box] += count
    for units in before.units:
        less = min(units.good, max(0, gone[units.item, units.box]))
        gone[units.item, units.box] -= less
        yield replace(units, good=units.good - less, repair=min(units.repair, bad[units.item, units.box]))
        bad[units.item, units.box] -= min(units.repair, bad[units.item, units.box])
    for (item, box), count in gone.items():
        if count < 0:
            forms = [each.form for each in since.latest.units if (each.item, each.box) == (item, box) and not each.hive]
            yield UnitsOnHand(item=item, box=box, form=next(iter(forms), ""), good=-count, repair=0)


def _scrapped(since: BookSince, design: Design) -> Iterator[PieceCount]:
    """The pieces to cut again, because more units were lost than were on hand when the plan was made."""
    had: Counter[tuple[str, str]] = Counter()
    for each in inventory_of(since.at_plan).units:
        had[each.item, each.box] += each.good
    formats = {str(row["hives"]): str(row["format"]) for row in since.written["hives"]}
    known = {**dict.fromkeys((each.name for each in design.hives), ""), **formats}
    spoiled: Counter[str] = Counter()
    for (item, box), count in _gone(since).items():
        lost = count - had[item, box]
        if lost <= 0:
            continue
        names = {each.name for each in hives_named(design, box, known)}
        for name in items_of(item, ""):
            row = _row(since.written["lines"], name, names)
            for part, each in row["parts"].items() if row is not None else ():
                spoiled[part] += lost * int(each)
    for part, count in spoiled.items():
        yield PieceCount(part=part, change="spoiled", count=count, reason=_SCRAPPED)


def _row(lines: Sequence[Mapping[str, Any]], item: str, hives: set[str]) -> Mapping[str, Any] | None:
    own = [row for row in lines if row["address"].partition(" / ")[0] == item and row["hives"] in hives]
    return next((row for row in own if row["parts"]), None)
