"""A fortnight of a run with mishaps, entered in the book: at the end every order is filled and the books balance.

A bad board, spoiled pieces, an offcut that a helper used, two dead colonies, a cancelled order, a clock set back, and
an end by force in the middle of entering. The small run at a landing, the whole production run at night.
"""

import json
from collections import Counter
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.nightly import IS_NIGHT
from tests.once import DESIGNS, bought, planned_text, written
from tests.records.crash import cut_off
from tests.records.shop_days import sent
from woodshop.checks.check_batch import check_batch
from woodshop.cli import main
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.orders.lines import read_run
from woodshop.design.settle.settle import settle
from woodshop.documents.packet.layouts import NumberedLayout, numbered_layouts
from woodshop.plan.parts_needed import parts_needed
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.rest.earlier_plan import read_earlier
from woodshop.plan.rest.plan_rest import PlanOfRest, plan_rest, rest_to_json
from woodshop.plan.rest.progress import BoardFault, LayoutCut, PieceCount, Progress
from woodshop.plan.rest.reading import with_counts
from woodshop.plan.values import PlannedBatch
from woodshop.plan.verify_rest import rest_findings
from woodshop.plan.work.shop_file import Shop, read_shop
from woodshop.records.events import NewEvent
from woodshop.records.state import BookState
from woodshop.records.store import new_book, open_book, read_book
from woodshop.trade.delivery import delivery_of, invoice_of
from woodshop.trade.quotes import tax_on

SMALL = """format = "woodshop-design/2"
batch = "small-run"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
[[order]]
order = "S-1"
customer = "Ida Sorrel"
item = "feeding shim + quilt box"
box = "10-frame 16 1/4"
count = 5
form = "with mesh"
[[order]]
order = "S-2"
customer = "Heath End"
item = "quilt box"
box = "8-frame 13 3/4"
count = 4
form = "with mesh"
due = 2026-11-20
[[order]]
order = "S-3"
customer = "Dora Pell"
item = "feeding shim"
box = "10-frame 16 1/4"
count = 3
form = "with mesh"
"""
SHOP = DESIGNS / "creekside-shop.toml"
PRICE = "12.50"  # of one of anything, invented
FIRST_CUT, SECOND_CUT = "2026-11-04", "2026-11-10"


@dataclass
class Fortnight:
    """The shop, its book, and what was done by day."""

    folder: Path

    def __post_init__(self) -> None:
        self.design = DESIGNS / "production-run.toml" if IS_NIGHT else written(SMALL, self.folder)
        self.planned = bought("production-run") if IS_NIGHT else planned_text(SMALL, self.folder)
        self.book = self.folder / "shop.book"
        new_book(self.book)
        self.batch = self.planned.batch.name
        self.done = [(self.planned, FIRST_CUT)]

    @property
    def state(self) -> BookState:
        return read_book(self.book)

    def enter(self, *events: NewEvent) -> None:
        with open_book(self.book) as opened:
            opened.add(events)

    def run(self, *words: str) -> str:
        result = CliRunner().invoke(main, list(words))
        assert result.exit_code == 0, result.output
        return result.output

    # ---- the days ------------------------------------------------------------------------------------------------

    def orders(self) -> list[NewEvent]:
        """A line for each item of each group of hives that somebody ordered, and a deposit for each order."""
        lines = [
            (each.hives.order, each.hives.customer, each)
            for each in self.planned.batch.lines
            if each.item.is_per_hive and each.hives.order
        ]
        events = [
            sent("order accepted", "2026-11-02", order=order, customer=customer, item=each.item.name,
                 box=each.hives.name, form=each.hives.form, count=each.hives.count, price=PRICE,
                 **({"due": each.hives.due} if each.hives.due else {}))
            for order, customer, each in lines
        ]  # fmt: skip
        return events + [
            sent("deposit paid", "2026-11-02", order=name, amount="20.00")
            for name in dict.fromkeys(o for o, _, _ in lines)
        ]

    def shed(self) -> list[NewEvent]:
        """What hangs in the shed from last year, as the plan counts it."""
        return [
            sent(
                "units finished",
                "2026-11-01",
                item=each.item.name,
                box=each.hives.name,
                form=each.hives.form,
                count=each.kept,
            )
            for each in self.planned.batch.lines
            if each.item.is_per_hive and each.kept
        ]

    def purchases(self, planned: PlannedBatch, day: str) -> list[NewEvent]:
        return [
            sent(
                "stock bought",
                day,
                event_id=f"{day} {n}",
                stock=each.what,
                count=each.count,
                price=str(each.price).lstrip("$").replace(",", ""),
                batch=self.batch,
            )
            for n, each in enumerate(planned.purchases)
        ]

    def cuts(self, planned: PlannedBatch, times: dict[str, int], day: str) -> list[NewEvent]:
        """Boards cut by layout number; offcuts of the rack are not in the stock of the book."""
        return [
            sent("layout cut", day, event_id=f"{day} {lay.number}", batch=self.batch, material=lay.material.name,
                 layout=lay.number, times=times[lay.number], plan=day,
                 **({} if lay.is_offcut else {"stock": stock_of(lay)}))
            for lay in numbered_layouts(planned)
            if times.get(lay.number)
        ]  # fmt: skip

    def progress(self, counts: dict[str, int]) -> Progress:
        """What the book says of the first plan."""
        (done,) = self.state.batches
        return Progress(
            cut=tuple(LayoutCut(row.layout, row.times, row.material) for row in done.layouts),
            pieces=tuple(PieceCount(row.part, "spoiled", row.spoiled) for row in done.pieces),
            boards=tuple(BoardFault(stock=row.stock, count=row.count) for row in done.unusable),
            counts=counts,
        )

    def counts(self) -> dict[str, int]:
        """The hives that orders still stand for, by their names."""
        wanted = {each.name: 0 if each.order else each.count for each in self.planned.batch.hives}
        for order in self.state.orders:
            for line in order.lines:
                if not line.is_cancelled:
                    wanted[line.box] = max(wanted[line.box], line.count)
        return wanted

    def rest(self) -> PlanOfRest:
        """The rest of the plan, its conservation counted again from the two files."""
        design = read_run(self.design)
        lumberyard = read_lumberyards(design.lumberyards)
        earlier = json.loads(json.dumps(batch_to_json(self.planned)))
        progress = self.progress(self.counts())
        batch = settle(with_counts(design, progress.counts), lumberyard)
        units, report = check_batch(batch)
        found = plan_rest(
            read_earlier(json.dumps(earlier), "plan.json"), batch, units, report, progress, effort="quick"
        )
        raw = json.loads(json.dumps(rest_to_json(found)))
        assert rest_findings(raw, earlier, earlier["digest"]) == ()
        return found


@pytest.mark.invariant
@pytest.mark.slow("plans a run, and its rest")
def test_a_fortnight_with_mishaps_ends_with_every_order_filled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    shop = Fortnight(tmp_path)
    # 1st day: last year's things counted, orders accepted; the lumberyard
    shop.enter(*shop.shed(), *shop.orders())
    shop.enter(*shop.purchases(shop.planned, "2026-11-03"))
    layouts = numbered_layouts(shop.planned)
    # 2nd and 3rd day: half of every layout is cut; one board is twisted
    half = {lay.number: lay.times // 2 for lay in layouts}
    twisted = next(lay for lay in layouts if lay.is_sawn and not lay.is_offcut and lay.times - half[lay.number] > 0)
    morning = shop.cuts(shop.planned, half, FIRST_CUT)
    assert cut_off(shop.book, morning, len(morning) // 2 + 3)  # the battery is empty in the middle of entering
    assert not shop.state.batches  # all of it or none: none
    shop.enter(*morning)
    shop.enter(*morning)  # entered again to be sure
    shop.enter(
        sent(
            "board unusable",
            "2026-11-05",
            batch=shop.batch,
            material=twisted.material.name,
            stock=twisted.what,
            count=1,
            layout=twisted.number,
            reason="twisted",
        )
    )
    # 4th day: two pieces spoiled; an offcut put away, which a helper used; the clock of the computer set back
    cut = Counter({piece.address: half[lay.number] for lay in layouts for piece in lay.pieces if half[lay.number]})
    spoiled = next(
        lay.pieces[0].address for lay in layouts if half[lay.number] and cut[lay.pieces[0].address] and lay.is_sawn
    )
    shop.enter(
        sent(
            "pieces spoiled",
            "2026-10-01",
            batch=shop.batch,
            material=twisted.material.name,
            part=spoiled,
            count=1,
            reason="split at a knot",
        ),
        sent(
            "offcut put away",
            "2026-10-01",
            offcut="R9",
            material=twisted.material.name,
            length="31",
            width="5 1/2",
            batch=shop.batch,
        ),
        sent("offcut used", "2026-10-02", offcut="R9", reason="a helper made a bird box of it"),
    )
    # 6th day: two colonies of one customer died; another cancels the order
    (first, *_, last) = {order.order: order for order in shop.state.orders}.values()
    dead = first.lines[0].box
    fewer = first.lines[0].count - 2
    shop.enter(
        *(sent("order changed", "2026-11-06", order=first.order, item=line.item, box=line.box, form=line.form,
               count=fewer)
          for line in first.lines if line.box == dead),
        sent("order canceled", "2026-11-06", order=last.order, reason="the apiary was sold"),
        sent("refund paid", "2026-11-06", order=last.order, amount="20.00"),
    )  # fmt: skip
    # 7th day: the rest is planned, bought and cut
    found = shop.rest()
    shop.enter(*shop.purchases(found.rest, "2026-11-09"))
    again = numbered_layouts(found.rest)
    shop.enter(*shop.cuts(found.rest, {lay.number: lay.times for lay in again}, SECOND_CUT))
    shop.done.append((found.rest, SECOND_CUT))
    pieces_balance(shop, found)
    # 9th day: a part is finished and delivered; then the rest
    shop_file = read_shop(SHOP)
    for day, part in ((date(2026, 11, 12), 2), (date(2026, 11, 16), 1)):
        for n, (key, count) in enumerate(to_finish(shop.state).items()):
            if count // part:
                item, box, form = key
                shop.enter(
                    sent(
                        "units finished",
                        day.isoformat(),
                        event_id=f"{day} {n}",
                        item=item,
                        box=box,
                        form=form,
                        count=count // part,
                    )
                )
        delivery = delivery_of(shop.state, day)
        due = {each.order.order: invoice_of(delivery, each, shop_file).amount_due for each in delivery.going_out}
        out = f"out/{day}"
        shop.run("deliver", "shop.book", "--day", day.isoformat(), "--shop", str(SHOP), "--out", out)
        shop.run("book", "import", "shop.book", f"{out}/sales.csv")
        shop.run("book", "import", "shop.book", f"{out}/sales.csv")
        shop.enter(
            *(
                sent("balance paid", day.isoformat(), order=name, amount=f"{cents / 100:.2f}")
                for name, cents in due.items()
                if cents
            )
        )
    everything_balances(shop, shop_file)
    shop.run("book", "check", "shop.book")


def stock_of(lay: NumberedLayout) -> str:
    """The stock of a layout by its name on the buy list: the rest of a plan says which was bought for the first."""
    return lay.what.removesuffix(", bought")


def to_finish(state: BookState) -> Counter[tuple[str, str, str]]:
    """Units that orders wait for and that are not on hand."""
    open_lines = Counter[tuple[str, str, str]]()
    for order in state.orders:
        for line in order.lines:
            if not line.is_cancelled:
                open_lines[line.item, line.box, line.form] += line.count - line.sold
    for key, count in state.units.items():
        open_lines[key.item, key.box, key.form] -= count
    return +open_lines


def pieces_balance(shop: Fortnight, found: PlanOfRest) -> None:
    """Pieces of both plans, by material and size: those cut, less the spoiled, are those of the units that are wanted,
    the spare ones, and those left over."""
    cut, spare = Counter[tuple[str, Any]](), Counter[tuple[str, Any]]()
    names: dict[str, tuple[str, Any]] = {}
    (done,) = shop.state.batches
    for planned, day in ((shop.planned, FIRST_CUT), (found.rest, SECOND_CUT)):
        times = {row.layout: row.times for row in done.layouts if row.plan == day}
        for lay in numbered_layouts(planned):
            for piece in lay.pieces:
                size = lay.material.name, tuple(sorted((piece.length, piece.width)))
                names[piece.address] = size
                cut[size] += times.get(int(lay.number), 0)
                spare[size] += times.get(int(lay.number), 0) * piece.spare * (planned is found.rest)
    wanted = Counter[tuple[str, Any]]()
    for job in parts_needed(found.rest.batch, found.rest.units):
        for need, blank in (
            (need, blank) for need in job.needs for blank in job.job.blanks if blank.id == need.address
        ):
            sides = (job.grid * blank.length, job.grid * (blank.width or 0))
            wanted[job.material.name, tuple(sorted(sides))] += need.count
    grids = {job.job.material: job.job.grid for job in (*shop.planned.plans, *found.rest.plans)}
    left = Counter[tuple[str, Any]]()
    for material, size, count in found.rack:
        left[material.name, tuple(sorted(grids[material] * side for side in size))] += count
    for row in done.pieces:
        cut[names[row.part]] -= row.spoiled
    sizes = cut.keys() | wanted.keys() | left.keys()
    wrong = {size: (cut[size], wanted[size], spare[size], left[size]) for size in sizes}
    assert {size: n for size, n in wrong.items() if n[0] != sum(n[1:])} == {}


def everything_balances(shop: Fortnight, shop_file: Shop) -> None:
    """Every order is filled; stock, units and money that came in are there, or went out."""
    state = shop.state
    assert delivery_of(state, date(2026, 11, 16)).short == ()
    kept = [order for order in state.orders if not order.is_cancelled]
    assert len(kept) == len(state.orders) - 1 > 1
    assert all(line.sold == line.count for order in kept for line in order.lines)
    cut = Counter[str]()
    for planned, day in shop.done:
        times = {row.layout: row.times for row in state.batches[0].layouts if row.plan == day}
        for lay in numbered_layouts(planned):
            cut[stock_of(lay)] += 0 if lay.is_offcut else times.get(int(lay.number), 0)
    bought = Counter[str]()
    for planned, _ in shop.done:
        bought.update({each.what: each.count for each in planned.purchases})
    bad = {row.stock: row.count for row in state.batches[0].unusable}
    there = {row.stock: row.on_hand for row in state.stock}
    assert there == {name: bought[name] - cut[name] - bad.get(name, 0) for name in bought}
    assert min(there.values()) >= 0
    sold = Counter({(line.item, line.box): line.sold for order in state.orders for line in order.lines})
    there_now = Counter[tuple[str, str]]()
    for key, count in state.units.items():
        there_now[key.item, key.box] += count
    for total in state.units_totals:
        key = total.item, total.box
        assert (total.finished, total.sold) == (sold[key] + there_now[key], sold[key])
    for order in state.orders:
        goods = sum(line.sold * 1250 for line in order.lines)
        assert order.paid.minor == goods + tax_on(goods, shop_file, order.customer)
    assert all(order.paid.minor == 0 for order in state.orders if order.is_cancelled)
