"""Random seasons of a small shop, also ended by a crash: the book says what a second bookkeeper says, after each step.

Nothing is lost, nothing is counted twice, and what cannot be is refused by both.
"""

import shutil
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule, run_state_machine_as_test

from tests.nightly import IS_NIGHT
from tests.records.crash import cut_off
from tests.records.second_bookkeeper import Accounts, Entry, Impossible, accounts
from woodshop.errors import InputError
from woodshop.records.events import NewEvent, new_event
from woodshop.records.state import BookState
from woodshop.records.store import Book, new_book, open_book

SEQUENCES, STEPS = (3000, 40) if IS_NIGHT else (25, 30)
MEMORY = Path("/dev/shm")  # what is on the disk at a power cut is for tests of durability
DRAWN: Counter[str] = Counter()
STOCK, PARTS, ITEMS = ("1x6", "1x3"), ("A", "B", "C"), ("quilt box", "board")
COUNT = st.integers(1, 6)
FEW = st.sampled_from
ORDER, FORM, PLACE = FEW(("M-1", "M-2")), FEW(("", "with mesh", "packed")), FEW(("shed", "loft"))
ITEM = FEW(ITEMS)


def canonical_form(kind: str, texts: dict[str, Any]) -> dict[str, Any]:
    """Fields without empty texts, as an event holds them."""
    return {name: value for name, value in texts.items() if value != ""}


class SmallShop(RuleBasedStateMachine):
    """Events in random order, sent to the book and to the second bookkeeper."""

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(dir=MEMORY if MEMORY.is_dir() else None))
        self.path = self.folder / "shop.book"
        new_book(self.path)
        self.book: Book = open_book(self.path)
        self.entries: dict[str, Entry] = {}  # by id: every event that is no change of another
        self.gone: set[str] = set()  # ids of undone entries
        self.undos: dict[str, str] = {}  # id of an undo that counts -> entry
        self.sent: list[NewEvent] = []
        self.n = 0

    def teardown(self) -> None:
        self.book.connection.close()
        shutil.rmtree(self.folder)

    # ---- both bookkeepers --------------------------------------------------------------------------------------------

    def tally(self, entries: dict[str, Entry] | None = None, gone: set[str] | None = None) -> Accounts:
        entries, gone = self.entries if entries is None else entries, self.gone if gone is None else gone
        return accounts([entry for name, entry in entries.items() if name not in gone])

    def can_be(self, entries: dict[str, Entry] | None = None, gone: set[str] | None = None) -> bool:
        try:
            self.tally(entries, gone)
        except Impossible:
            return False
        return True

    def made(self, kind: str, fields: dict[str, Any]) -> NewEvent:
        self.n += 1
        return new_event(kind, canonical_form(kind, fields), event_id=f"e{self.n}")

    def send(self, event: NewEvent, is_possible: bool) -> bool:
        """Sends an event; the book must take it if it can be, and refuse it otherwise."""
        before = self.book.head()
        DRAWN[event.kind] += 1
        if not is_possible:
            DRAWN["refused"] += 1
            with pytest.raises(InputError):
                self.book.add([event])
            assert self.book.head() == before
            return False
        assert len(self.book.add([event]).new) == 1
        self.sent.append(event)
        return True

    def happen(self, kind: str, **fields: Any) -> None:
        event = self.made(kind, fields)
        entry = kind, canonical_form(kind, fields)
        if self.send(event, self.can_be(self.entries | {event.id: entry})):
            self.entries[event.id] = entry

    # ---- what happens in the shop ------------------------------------------------------------------------------------

    @initialize()
    def a_first_order(self) -> None:
        self.happen(
            "order accepted", order="M-1", customer="Ida Sorrel", item="quilt box", box="tens", count=4, price=900
        )
        self.happen("stock bought", stock="1x6", count=5, price=1112)
        self.happen("units finished", item="quilt box", box="tens", count=6)

    @rule(stock=FEW(STOCK), count=COUNT)
    def buy(self, stock: str, count: int) -> None:
        self.happen("stock bought", stock=stock, count=count, price=1112)

    @rule(stock=FEW((*STOCK, "")), layout=st.integers(1, 3), times=FEW((1, 1, 2, 5)))
    def cut(self, stock: str, layout: int, times: int) -> None:
        self.happen("layout cut", batch="b", material="board", layout=layout, times=times, stock=stock)

    @rule(layout=st.integers(1, 3), number=st.integers(1, 2), what=FEW(("offcut", "board")))
    def cut_an_offcut_or_a_marked_board(self, layout: int, number: int, what: str) -> None:
        self.happen("layout cut", batch="b", material="board", layout=layout, times=1, **{what: f"R{number}"})

    @rule(part=FEW(PARTS), count=COUNT, what=FEW(("spoiled", "lost", "found", "made")))
    def pieces(self, part: str, count: int, what: str) -> None:
        self.happen(f"pieces {what}", batch="b", material="board", part=part, count=count)

    @rule(stock=FEW(STOCK), count=st.integers(1, 2))
    def unusable(self, stock: str, count: int) -> None:
        self.happen("board unusable", batch="b", material="board", stock=stock, count=count)

    @rule(number=st.integers(1, 2))
    def shorter(self, number: int) -> None:
        self.happen("board shorter", batch="b", material="board", board=f"R{number}", length="90 in", stock="1x6")

    @rule(number=st.integers(1, 2), is_odd=FEW((False, False, False, True)))
    def offcut(self, number: int, is_odd: bool) -> None:
        """One that is there is used, another is put away; now and then the other way round."""
        if bool(self.tally().counts["offcut", f"R{number}"]) != is_odd:
            self.happen("offcut used", offcut=f"R{number}")
        else:
            self.happen("offcut put away", offcut=f"R{number}", material="board", length="30 in", width="5 in")

    @rule(stock=FEW(STOCK), count=FEW((1, 1, 3)))
    def use(self, stock: str, count: int) -> None:
        self.happen("stock used", stock=stock, count=count)

    @rule(item=ITEM, form=FORM, place=PLACE, count=COUNT)
    def finish(self, item: str, form: str, place: str, count: int) -> None:
        self.happen("units finished", item=item, box="tens", form=form, place=place, count=count)

    def some_units(self, data: st.DataObject, is_on_hive: bool = False) -> dict[str, Any]:
        """Good units that are there, and now and then one more than there are, or others."""
        there = [
            (account, n)
            for account, n in self.tally().counts.items()
            if n and account[0] == "units" and account[4] == "good" and bool(account[6]) == is_on_hive
        ]
        other = ("units", data.draw(ITEM), "tens", data.draw(FORM), "good", data.draw(PLACE), "")
        (_, item, box, form, _, place, hive), n = data.draw(FEW([*there, *there, *there, (other, 2)]))
        more = {"hive": hive or "blue"} if is_on_hive else {"place": place}
        return {"item": item, "box": box, "form": form, "count": data.draw(st.integers(1, n + 1)), **more}

    @rule(data=st.data())
    def pack(self, data: st.DataObject) -> None:
        fields = self.some_units(data)
        if fields["form"] != "packed":
            self.happen("units packed", **fields)

    @rule(data=st.data(), order=FEW(("M-1", "M-2", "", "")))
    def sell(self, data: st.DataObject, order: str) -> None:
        self.happen("units sold", **self.some_units(data), order=order)

    @rule(data=st.data())
    def sell_what_there_is(self, data: st.DataObject) -> None:
        """For an order that waits for it, so that most draws can be."""
        tally = self.tally()
        offers = [
            (key, account)
            for key, line in tally.lines.items()
            if not line["cancelled"] and line["sold"] < line["count"]
            for account, n in tally.counts.items()
            if n and account[:4] == ("units", *key[1:]) and account[4] == "good" and account[5]
        ]
        if not offers:
            return
        (order, item, box, form), account = data.draw(FEW(offers))
        line = tally.lines[order, item, box, form]
        most = min(tally.counts[account], line["count"] - line["sold"])
        count = data.draw(st.integers(1, most))
        self.happen("units sold", item=item, box=box, form=form, place=account[5], count=count, order=order)

    @rule(data=st.data(), hive=FEW(("blue", "red")))
    def fit(self, data: st.DataObject, hive: str) -> None:
        self.happen("units fitted", **self.some_units(data), hive=hive)

    @rule(data=st.data())
    def take_off(self, data: st.DataObject) -> None:
        self.happen("units taken off", **self.some_units(data, is_on_hive=True))

    @rule(data=st.data(), what=FEW(("need repair", "scrapped")))
    def repair_or_scrap(self, data: st.DataObject, what: str) -> None:
        self.happen(f"units {what}", **self.some_units(data), reason="skirt split")

    @rule(order=ORDER, item=ITEM, form=FORM, count=COUNT)
    def accept(self, order: str, item: str, form: str, count: int) -> None:
        customer = {"M-1": "Ida Sorrel", "M-2": "Heath End"}[order]
        line = {"item": item, "box": "tens", "form": form}
        self.happen("order accepted", order=order, customer=customer, **line, count=count, price=900)

    @rule(data=st.data(), count=COUNT, what=FEW(("changed", "changed", "changed", "cancelled", "cancelled", "whole")))
    def change_an_order(self, data: st.DataObject, count: int, what: str) -> None:
        order, item, box, form = data.draw(FEW([*self.tally().lines, ("M-2", "board", "tens", "")]))
        line = {"item": item, "box": box, "form": form}
        if what == "changed":
            self.happen("order changed", order=order, **line, count=count)
        else:
            self.happen("order canceled", order=order, **(line if what == "cancelled" else {}))

    @rule(order=ORDER, amount=st.integers(1, 5000), what=FEW(("deposit", "balance", "refund")))
    def pay(self, order: str, amount: int, what: str) -> None:
        self.happen(f"{what} paid", order=order, amount=amount)

    @rule(stock=FEW(STOCK), counted=st.integers(0, 9), off=FEW((0, 0, 0, 1)))
    def count_stock(self, stock: str, counted: int, off: int) -> None:
        """An inventory count against another state of the book, off by one, is refused."""
        expected = self.tally().counts["stock", stock] + off
        self.take_stock("stock counted", off, stock=stock, counted=counted, expected=expected)

    @rule(item=ITEM, form=FORM, counted=st.integers(0, 9), off=FEW((0, 0, 0, 1)))
    def count_units(self, item: str, form: str, counted: int, off: int) -> None:
        expected = self.tally().counts["units", item, "tens", form, "good", "shed", ""] + off
        line = {"item": item, "box": "tens", "form": form}
        self.take_stock("units counted", off, **line, counted=counted, expected=expected)

    def take_stock(self, kind: str, off: int, **fields: Any) -> None:
        event = self.made(kind, fields)
        if self.send(event, not off):
            self.entries[event.id] = kind, canonical_form(kind, fields)

    # ---- changes of what was entered ---------------------------------------------------------------------------------

    @rule(data=st.data())
    def undo(self, data: st.DataObject) -> None:
        name = data.draw(FEW(list(self.entries)))
        event = self.made("undo", {"of": name})
        gone = self.gone | {name}
        if self.send(event, name not in self.gone and self.can_be(gone=gone)):
            self.gone = gone
            self.undos[event.id] = name

    @rule(data=st.data())
    def undo_an_undo(self, data: st.DataObject) -> None:
        if not self.undos:
            return
        undo = data.draw(FEW(list(self.undos)))
        gone = self.gone - {self.undos[undo]}
        if self.send(self.made("undo", {"of": undo}), self.can_be(gone=gone)):
            self.gone = gone
            del self.undos[undo]

    @rule(data=st.data(), count=COUNT)
    def correct(self, data: st.DataObject, count: int) -> None:
        counted = [name for name, (_, fields) in self.entries.items() if "count" in fields]
        if not counted:
            return
        name = data.draw(FEW(counted))
        kind, fields = self.entries[name]
        fields = fields | {"count": count}
        event = self.made("correction", fields | {"of": name})
        entries = self.entries | {name: (kind, fields)}
        if self.send(event, name not in self.gone and self.can_be(entries)):
            self.entries = entries

    @rule(data=st.data())
    def send_again(self, data: st.DataObject) -> None:
        event = data.draw(FEW(self.sent))
        assert len(self.book.add([event]).repeated) == 1
        other = new_event("stock bought", {"stock": "another", "count": 1}, event_id=event.id)
        with pytest.raises(InputError, match="with other content"):
            self.book.add([other])

    # ---- the computer ------------------------------------------------------------------------------------------------

    @rule()
    def close_and_open(self) -> None:
        self.book.connection.close()
        self.book = open_book(self.path)

    @rule(stock=FEW(STOCK), count=COUNT, statement=st.integers(1, 9))
    def crash(self, stock: str, count: int, statement: int) -> None:
        """Another process ends in the middle of entering; the same event sent again is there once."""
        fields = {"stock": stock, "count": count}
        event = self.made("stock bought", fields)
        self.book.connection.close()
        is_cut_off = cut_off(self.path, [event], statement)
        self.book = open_book(self.path)
        there = event.id in {each.id for each in self.book.events()}
        assert there or is_cut_off
        added = self.book.add([event])
        assert (len(added.new), len(added.repeated)) == ((0, 1) if there else (1, 0))
        DRAWN["cut off"] += is_cut_off
        self.sent.append(event)
        self.entries[event.id] = "stock bought", fields

    # ---- what holds after each step ----------------------------------------------------------------------------------

    @invariant()
    def both_say_the_same(self) -> None:
        if not self.entries:
            return
        ours, state = self.tally(), self.book.state()
        assert sum(self.book.head()[:1]) == len(self.sent) == state.number
        agree(ours, state)
        balanced(state)


def agree(ours: Accounts, state: BookState) -> None:
    """Every count of the book is the second bookkeeper's."""
    theirs: Counter[tuple[str, ...]] = Counter()
    for tally in state.stock:
        name = tally.stock
        theirs |= Counter({("stock", name): tally.on_hand, ("bought", name): tally.bought, ("used", name): tally.used})
        theirs |= Counter({("unusable", name): tally.unusable, ("marked", name): tally.marked})
    theirs |= Counter({("units", *key): count for key, count in state.units.items()})
    theirs |= Counter({("offcut", each.offcut): 1 for each in state.offcuts})
    theirs |= Counter({("board", each.board): 1 for each in state.boards})
    for total in state.units_totals:
        for what in ("finished", "sold", "scrapped"):
            theirs[what, total.item, total.box] = getattr(total, what)
    for batch in state.batches:
        for layout in batch.layouts:
            theirs["cut", str(layout.layout)] += layout.times
        for piece in batch.pieces:
            for what in ("made", "spoiled", "lost", "found"):
                theirs[what, piece.part] = getattr(piece, what)
    assert +theirs == +Counter({key: n for key, n in ours.counts.items() if not key[0].endswith(" found")})
    for tally in state.stock:
        assert tally.difference == ours.counts["stock found", tally.stock]
    for total in state.units_totals:
        assert total.difference == ours.counts["units found", total.item, total.box]
    lines = {
        (order.order, line.item, line.box, line.form): {
            "count": line.count,
            "price": line.price.minor if line.price else None,
            "cancelled": line.is_cancelled,
            "sold": line.sold,
            "charged": line.charged.minor if line.charged else 0,
        }
        for order in state.orders
        for line in order.lines
    }
    assert lines == ours.lines
    paid = {
        (order.order, what): sum_of.minor
        for order in state.orders
        for what, sum_of in (("deposit", order.deposits), ("balance", order.balances), ("refund", order.refunds))
    }
    assert {key: n for key, n in paid.items() if n} == {key: n for key, n in ours.paid.items() if n}


def balanced(state: BookState) -> None:
    """What came in is what is there and what went out, of every kind."""
    for stock in state.stock:
        gone = stock.used + stock.unusable + stock.marked
        assert stock.bought + stock.difference == stock.on_hand + gone
        assert stock.on_hand >= 0
    there: Counter[tuple[str, str]] = Counter()
    for key, count in state.units.items():
        assert count > 0
        there[key.item, key.box] += count
    for total in state.units_totals:
        own = there.pop((total.item, total.box), 0)
        assert total.finished + total.difference == own + total.sold + total.scrapped
    assert not there


@pytest.mark.invariant
@pytest.mark.slow("random seasons, each step by two bookkeepers")
def test_the_book_and_a_second_bookkeeper_agree(record_property: Any) -> None:
    DRAWN.clear()
    run_state_machine_as_test(  # type: ignore[no-untyped-call]
        SmallShop,
        settings=settings(
            max_examples=SEQUENCES,
            stateful_step_count=STEPS,
            deadline=None,
            derandomize=not IS_NIGHT,
            suppress_health_check=list(HealthCheck),
        ),
    )
    refused, killed = (DRAWN.pop(name) for name in ("refused", "cut off"))
    total = sum(DRAWN.values())
    summary = f"random seasons: {total} events, {100 * refused / total:.0f} % refused as impossible, {killed} cut off"
    record_property("summary", summary)
    assert len(DRAWN) > 25  # kinds
    assert refused < total / 2
    assert killed > 1  # which rules are drawn changes with the modules that are loaded
