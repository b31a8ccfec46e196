"""Who gets which: against every other way of sharing out; what is short; what is owed over several deliveries."""

from collections import Counter
from dataclasses import replace
from datetime import date, timedelta
from fractions import Fraction
from itertools import chain, combinations, product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from tests.records.shop_days import sent
from woodshop.design.settle.unit_forms import can_become, fills, items_of
from woodshop.design.tables import FORMS
from woodshop.errors import InputError
from woodshop.hardware.catalogue import items
from woodshop.plan.work.shop_file import Pricing, Shop, no_shop
from woodshop.records.events import Event, NewEvent
from woodshop.records.fold import folded
from woodshop.records.ledger import frozen_state
from woodshop.records.state import BookState
from woodshop.trade.delivery import (
    Delivery,
    FinishedKind,
    Pick,
    WantedUnits,
    allocate,
    delivery_of,
    invoice_of,
    orders_named,
    units,
)

DAY = date(2026, 11, 13)
QUILT, RIM, GUARD = (
    FinishedKind(name, "tens", form) for name, form in (("quilt box", ""), ("board", "packed"), ("guard", ""))
)


def wants(
    order: str, kind: FinishedKind, count: int, day: int | None = None, priority: int | None = None
) -> WantedUnits:
    due = None if day is None else DAY + timedelta(day)
    return WantedUnits(order=order, kind=kind, count=count, due=due, priority=priority)


def counts(wanted: list[WantedUnits], stock: dict[FinishedKind, int], **how: bool) -> list[int]:
    picked = allocate(wanted, {(kind, "shed"): n for kind, n in stock.items()}, **how)
    return [units(each) for each in picked]


def test_a_whole_order_goes_before_a_part_of_an_earlier_one() -> None:
    wanted = [wants("A", QUILT, 12, 1), wants("B", QUILT, 8, 2)]
    assert counts(wanted, {QUILT: 10}) == [2, 8]
    assert counts(wanted, {QUILT: 12}) == [12, 0]
    assert counts(wanted, {QUILT: 10}, is_whole_only=True) == [0, 8]


def test_the_day_promised_counts_before_priority_and_priority_before_the_book() -> None:
    stock = {QUILT: 4}
    assert counts([wants("A", QUILT, 4, 2, 1), wants("B", QUILT, 4, 1, 9)], stock) == [0, 4]
    assert counts([wants("A", QUILT, 4, 1), wants("B", QUILT, 4, 1, 4)], stock) == [0, 4]
    assert counts([wants("A", QUILT, 4, 1, 5), wants("B", QUILT, 4, 1)], stock) == [4, 0]
    assert counts([wants("A", QUILT, 4, None, 1), wants("B", QUILT, 4, 1)], stock) == [0, 4]


def test_an_order_is_whole_with_all_its_lines_of_one_day() -> None:
    wanted = [wants("A", QUILT, 2, 1), wants("A", RIM, 2, 1), wants("A", GUARD, 1, 9), wants("B", QUILT, 2, 2)]
    assert counts(wanted, {QUILT: 2, RIM: 1}) == [0, 1, 0, 2]
    assert counts(wanted, {QUILT: 2, RIM: 2}) == [2, 2, 0, 0]


def test_units_come_from_places_by_name() -> None:
    stock = {(QUILT, "shed"): 3, (QUILT, "bench"): 2, (RIM, "attic"): 9}
    assert allocate([wants("A", QUILT, 4)], stock) == ((Pick("bench", 2, QUILT), Pick("shed", 2, QUILT)),)


LINES = st.builds(
    wants,
    st.sampled_from("ABCDE"),
    st.sampled_from((QUILT, RIM, GUARD)),
    st.integers(1, 4),
    st.none() | st.integers(0, 3),
    st.none() | st.integers(3, 6),
)
STOCK = st.dictionaries(st.sampled_from((QUILT, RIM, GUARD)), st.integers(0, 9))
Group = tuple[str, date | None]


def needs(wanted: list[WantedUnits], group: Group) -> Counter[FinishedKind]:
    return sum((Counter({w.kind: w.count}) for w in wanted if (w.order, w.due) == group), Counter[FinishedKind]())


def ranked(wanted: list[WantedUnits]) -> list[Group]:
    """The orders by day in their rank: sorted from the last key to the first, each time stably."""
    groups = list(dict.fromkeys((w.order, w.due) for w in wanted))
    groups.sort(key=lambda g: min(w.priority if w.priority is not None else 5 for w in wanted if (w.order, w.due) == g))
    groups.sort(key=lambda g: (g[1] is None, g[1] or DAY))
    return groups


@pytest.mark.invariant
@settings(max_examples=tries(800), deadline=None)
@given(st.lists(LINES, max_size=7, unique_by=lambda w: (w.order, w.kind)), STOCK)
def test_it_is_the_best_of_all_ways(wanted: list[WantedUnits], stock: dict[FinishedKind, int]) -> None:
    """Of all sets of orders that fit whole the one is filled that has the first in rank, then the second and so on;
    then no unit stays that somebody waits for, and none of a lower rank has what a higher one lacks."""
    given = counts(wanted, stock)
    groups, have = ranked(wanted), Counter(stock)
    fits = [
        chosen
        for chosen in chain.from_iterable(combinations(groups, n) for n in range(len(groups) + 1))
        if all(
            sum((needs(wanted, g) for g in chosen), Counter[FinishedKind]())[kind] <= have[kind]
            for kind in (QUILT, RIM, GUARD)
        )
    ]
    best = max(fits, key=lambda chosen: tuple(g in chosen for g in groups), default=())
    got = dict(zip(((w.order, w.kind) for w in wanted), given, strict=True))
    short = [w for w in wanted if got[w.order, w.kind] < w.count]
    filled = [g for g in groups if all((w.order, w.due) != g for w in short)]
    assert set(filled) == set(best)
    left = have - sum((Counter({w.kind: got[w.order, w.kind]}) for w in wanted), Counter[FinishedKind]())
    assert [w for w in short if left[w.kind]] == []
    partial = [g for g in groups if g not in best]
    for w in short:
        later = partial[partial.index((w.order, w.due)) + 1 :]
        assert [o for o in wanted if (o.order, o.due) in later and o.kind == w.kind and got[o.order, o.kind]] == []
    assert set(alone(wanted, stock)) <= set(filled)


def alone(wanted: list[WantedUnits], stock: dict[FinishedKind, int]) -> list[Group]:
    """The orders that rank alone fills whole: each takes what it can get, whole or not."""
    have, filled = Counter(stock), []
    for group in ranked(wanted):
        need = needs(wanted, group)
        if need <= have:
            filled.append(group)
        have -= need
    return filled


# ---- the book ---------------------------------------------------------------------------------------------------


def line(order: str, item: str, count: int, **more: Any) -> Any:
    more = {"box": "tens", "customer": f"Customer {order}", "price": "10.01"} | more
    return sent("order accepted", order=order, item=item, count=count, **{k: v for k, v in more.items() if v})


def sold(order: str, item: str, count: int, **more: Any) -> Any:
    return sent("units sold", item=item, box="tens", count=count, order=order, **more)


def finished(item: str, count: int, **more: Any) -> Any:
    return sent("units finished", item=item, box="tens", count=count, **more)


def book(*sent_events: NewEvent) -> BookState:
    """The state of a book with these events, folded in memory."""
    events = [Event(n, e.id, e.kind, e.day, e.payload, 1, "") for n, e in enumerate(sent_events, 1)]
    return frozen_state(folded("in", "USD", events))


def taxed(rate: str = "6.25", **more: Any) -> Shop:
    return replace(no_shop("USD"), name="Shed", pricing=Pricing(tax=Fraction(rate) / 100, **more))


def only(delivery: Delivery) -> Any:
    (each,) = delivery.going_out
    return each


def test_what_needs_repair_or_is_on_a_hive_is_not_given_away() -> None:
    state = book(
        line("M-1", "quilt box", 9),
        finished("quilt box", 6),
        finished("quilt box", 2, form="empty"),
        sent("units need repair", item="quilt box", box="tens", count=2),
        sent("units fitted", item="quilt box", box="tens", count=1, hive="blue"),
    )
    found = delivery_of(state, DAY)
    assert only(found).lines[0].picked == (Pick("shed", 3, QUILT),)
    assert found.left == ((FinishedKind("quilt box", "tens", "empty"), 2),)
    (short,) = found.short
    assert (short.count, short.needs_repair, short.other_forms) == (6, 2, (("empty", 2),))


def test_the_parts_of_a_board_fill_an_order_for_boards() -> None:
    """Units named as a packet names them: rim, wire bottom and strips apart, then the rim packed with sugar."""
    named = [finished(item, 3) for item in ("fondant rim", "wire bottom", "spacer strips")]
    unpacked = delivery_of(book(line("M-1", "board", 3, form="packed"), *named), DAY)
    assert not unpacked.going_out, "nobody said that the sugar is in"
    (short,) = unpacked.short
    assert (FinishedKind("fondant rim", "tens", ""), 3) in short.parts
    packed = sent("units packed", item="fondant rim", box="tens", count=2)
    found = delivery_of(book(line("M-1", "board", 3, form="packed"), *named, packed), DAY)
    mine = only(found).lines[0]
    assert (mine.count, mine.to_come) == (2, 1)
    assert [(each.kind.item, each.kind.form, each.count, each.is_part) for each in mine.picked] == [
        ("fondant rim", "packed", 2, False),
        ("wire bottom", "", 2, True),
        ("spacer strips", "", 2, True),
    ]
    whole = delivery_of(book(line("M-1", "board", 3, form="packed"), finished("board", 3, form="packed"), *named), DAY)
    assert [each.kind.item for each in only(whole).lines[0].picked] == ["board"], "the same words first"
    rims = delivery_of(book(line("M-1", "board", 3, form="empty"), *named), DAY)
    assert [each.kind.item for each in only(rims).lines[0].picked] == ["fondant rim"], "an empty board is its rim"


def test_a_form_that_was_not_stated_fills_an_order_except_for_a_packed_rim() -> None:
    for form, there, count in (("empty", "", 2), ("", "packed", 2), ("", "empty", 0), ("unassembled kit", "", 0)):
        state = book(
            line("M-1", "quilt box", 2, form=form), finished("quilt box", 2, **({"form": there} if there else {}))
        )
        assert sum(each.count for each in delivery_of(state, DAY).going_out) == count, (form, there)
    state = book(line("M-1", "wire bottom", 2, form="packed"), finished("wire bottom", 2))
    assert only(delivery_of(state, DAY)).count == 2, "a wire bottom alone is never packed"


def test_what_can_be_handed_over_need_not_be_made_again() -> None:
    """What fills an order for a delivery is never planned to be made once more."""
    for item in items():
        for form, wanted in product(("", *FORMS), FORMS):
            names = items_of(item.name, form)
            if names and fills(item.name, form, item.name, wanted):
                assert can_become(names, form, wanted), (item.name, form, wanted)


@pytest.mark.invariant
@settings(max_examples=tries(200), deadline=None)
@given(st.lists(st.tuples(st.integers(1, 9), st.integers(1, 9999)), min_size=1, max_size=4), st.data())
def test_several_deliveries_add_up_to_the_order(lines: list[tuple[int, int]], data: st.DataObject) -> None:
    """Counts of every slip, prices and tax of all invoices: together those of the order, whatever the steps."""
    rate = Fraction(data.draw(st.integers(0, 2000)), 10_000)
    events = [line("M-1", f"item {n}", count, price=f"{cents / 100:.2f}") for n, (count, cents) in enumerate(lines)]
    state, totals, taxes = book(*events), 0, 0
    while any(each.sold < each.count for each in state.orders[0].lines):
        n = data.draw(st.sampled_from([n for n, each in enumerate(state.orders[0].lines) if each.sold < each.count]))
        made = data.draw(st.integers(1, lines[n][0]))
        events.append(finished(f"item {n}", made))
        found = delivery_of(book(*events), DAY)
        each = only(found)
        for row in each.lines:
            assert row.ordered == row.line.sold + row.count + row.to_come
            assert min(row.count, row.to_come) >= 0
        bill = invoice_of(found, each, replace(taxed(), pricing=Pricing(tax=rate)))
        totals, taxes = totals + bill.subtotal, taxes + bill.tax
        assert bill.balance == totals + taxes - state.orders[0].paid.minor
        assert bill.amount_due - bill.credit == bill.balance
        events += [sold("M-1", row.line.item, row.count) for row in each.lines if row.count]
        if bill.amount_due:
            events.append(sent("balance paid", order="M-1", amount=f"{bill.amount_due / 100:.2f}"))
        state = book(*events)
    price = sum(count * cents for count, cents in lines)
    assert totals == price
    assert abs(taxes - price * rate) <= Fraction(1, 2)
    assert state.orders[0].paid.minor == price + taxes
    assert delivery_of(state, DAY).short == ()


def test_a_deposit_a_balance_and_a_refund() -> None:
    events = [
        line("M-1", "quilt box", 4, price="25.00"),
        sent("deposit paid", order="M-1", amount="60.00"),
        finished("quilt box", 2),
    ]
    found = delivery_of(book(*events), DAY)
    bill = invoice_of(found, only(found), taxed("6"))
    assert (bill.number, bill.subtotal, bill.tax, bill.earlier) == ("M-1/3", 5000, 300, 0)
    assert (bill.amount_due, bill.credit) == (0, 700)
    events += [
        sold("M-1", "quilt box", 2),
        sent("refund paid", order="M-1", amount="7.00"),
        finished("quilt box", 2),
    ]
    found = delivery_of(book(*events), DAY)
    bill = invoice_of(found, only(found), taxed("6"))
    assert (bill.earlier, bill.amount_due) == (5300, 5300)  # 106.00 in total, of which 60.00 - 7.00 was paid
    exempt = invoice_of(found, only(found), taxed("6", tax_exempt=("Customer M-1",)))
    assert (exempt.tax, exempt.earlier) == (0, 5000)


def test_what_was_sold_at_another_price_is_charged_at_that_price() -> None:
    state = book(
        line("M-1", "quilt box", 5, price="10.00"),
        finished("quilt box", 5),
        sold("M-1", "quilt box", 1),
        sold("M-1", "quilt box", 1, price="8.00"),
        sent("order changed", order="M-1", item="quilt box", box="tens", price="20.00"),
    )
    found = delivery_of(state, DAY)
    bill = invoice_of(found, only(found), taxed("0"))
    assert (bill.earlier, bill.subtotal) == (1800, 6000)


def test_a_cancelled_line_keeps_what_the_customer_has() -> None:
    state = book(
        line("M-1", "quilt box", 5),
        line("M-1", "guard", 2),
        finished("quilt box", 5),
        finished("guard", 1),
        sold("M-1", "quilt box", 2),
        sent("order canceled", order="M-1", item="quilt box", box="tens"),
    )
    found = delivery_of(state, DAY)
    quilt, guard = only(found).lines
    assert (quilt.ordered, quilt.line.sold, quilt.count, quilt.to_come) == (2, 2, 0, 0)
    assert (guard.count, guard.to_come) == (1, 1)
    assert invoice_of(found, only(found), taxed("0")).earlier == 2002
    assert [each.kind.item for each in found.short] == ["guard"]


def test_hives_are_named_in_the_order_measured() -> None:
    sizes = {
        "customer": "Customer M-1",
        "box": "tens",
        "frames": 10,
        "length": "19 7/8",
        "width": "16 1/4",
        "gap": "1/4",
    }
    state = book(
        line("M-1", "quilt box", 3),
        *(sent("box measured", hive=name, **sizes) for name in ("blue", "red", "ash")),
        finished("quilt box", 2),
        sold("M-1", "quilt box", 1),
    )
    assert only(delivery_of(state, DAY)).lines[0].hives == ("red",)


def test_no_price_or_another_currency_is_refused() -> None:
    events = [line("M-1", "quilt box", 2, price=""), finished("quilt box", 2)]
    found = delivery_of(book(*events), DAY)
    with pytest.raises(InputError, match=r"order M-1: given quilt box for tens without a price.*order changed"):
        invoice_of(found, only(found), taxed())
    with pytest.raises(InputError, match="--shop: given prices in EUR"):
        invoice_of(found, only(found), replace(taxed(), currency="EUR"))
    events.append(sold("M-1", "quilt box", 1))
    events.append(sent("order changed", order="M-1", item="quilt box", box="tens", price="9.00"))
    found = delivery_of(book(*events), DAY)
    with pytest.raises(InputError, match="sold before without a price"):
        invoice_of(found, only(found), taxed())


def test_an_order_asked_for_gets_something_or_is_refused() -> None:
    state = book(line("M-1", "quilt box", 2), line("M-2", "guard", 1), finished("quilt box", 2))
    found = delivery_of(state, DAY)
    assert [each.order.order for each in orders_named(found, ["M-1"])] == ["M-1"]
    with pytest.raises(InputError, match="order 'M-2', which gets nothing"):
        orders_named(found, ["M-2"])
    with pytest.raises(InputError, match="Did you mean"):
        orders_named(found, ["M-11"])
    with pytest.raises(InputError, match="See: woodshop book list"):
        orders_named(found, ["M-5"])
