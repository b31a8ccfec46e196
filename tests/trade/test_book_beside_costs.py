"""Measured minutes beside the time standards, and the bill of an earlier batch beside this one, line by line."""

import json
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.once import DESIGNS, bought
from tests.plan.booked import HEAD, BookedShop
from tests.records.shop_days import sent
from woodshop.cli import main
from woodshop.design.inventory import Inventory, MeasuredValue, StockPaid
from woodshop.design.settings.times import Standard
from woodshop.errors import InputError
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.shop_file import Shop, no_shop, read_shop
from woodshop.trade.costing import run_cost
from woodshop.trade.earlier_bill import earlier_bill
from woodshop.trade.measured_minutes import measured_times, operation_named
from woodshop.trade.quotes import products_of
from woodshop.units.lengths import Money

DAY = date(2025, 10, 1)


@pytest.fixture(scope="module")
def planned() -> PlannedBatch:
    return bought("ridge-club")


@pytest.fixture(scope="module")
def shop() -> Shop:
    return read_shop(DESIGNS / "creekside-shop.toml")


def with_book(planned: PlannedBatch, **known: object) -> PlannedBatch:
    inventory = Inventory(number=7, digest="0" * 64, currency="USD", **known)  # type: ignore[arg-type]
    return replace(planned, batch=replace(planned.batch, inventory=inventory))


def measured(**minutes: tuple[str, int]) -> tuple[tuple[str, MeasuredValue], ...]:
    return tuple(
        (name.replace("_", " "), MeasuredValue(mean=Fraction(mean), count=count))
        for name, (mean, count) in minutes.items()
    )


def test_the_effect_of_measured_minutes_is_that_of_a_shop_file_with_them(planned: PlannedBatch, shop: Shop) -> None:
    """Against a second run of the whole costing with the minutes written as standards."""
    minutes = measured(rip=("3/4", 40), assemble_corners=("5/2", 12), set_fence_or_stop=("4", 3), sharpen=("9", 1))
    run = run_cost(planned, shop)
    found = measured_times(with_book(planned, minutes=minutes), run, shop)
    assert found is not None
    assert found.unknown == ("sharpen",)
    assert [(row.operation, row.measured.count) for row in found.rows] == [
        ("rip", 40), ("assemble corners", 12), ("set fence or stop", 3),
    ]  # fmt: skip
    keys = [("time", "rip"), ("time", "corner"), ("setup", "saw")]
    news = [{key: Standard(value.mean, "measured")} for key, (_, value) in zip(keys, minutes, strict=False)]
    everything: dict[tuple[str, str], Standard] = {}
    for row, new in zip(found.rows, news, strict=True):
        other = replace(shop, standards=shop.standards | new)
        again = run_cost(planned, other)
        assert row.cost == again.total.minor - run.total.minor
        assert row.price == _sold(again, other) - _sold(run, shop)
        assert row.minutes == again.minutes - run.minutes
        everything |= new
    again = run_cost(planned, replace(shop, standards=shop.standards | everything))
    assert (found.cost, found.minutes) == (again.total.minor - run.total.minor, again.minutes - run.minutes)


def _sold(run: object, shop: Shop) -> int:
    return sum(product.total for product in products_of(run, shop))  # type: ignore[arg-type]


def test_without_measurements_or_without_a_shop_there_is_nothing_to_show(planned: PlannedBatch, shop: Shop) -> None:
    run = run_cost(planned, shop)
    assert measured_times(planned, run, shop) is None
    assert measured_times(with_book(planned), run, shop) is None
    bare = no_shop("USD")
    assert measured_times(with_book(planned, minutes=measured(rip=("1", 1))), run_cost(planned, bare), bare) is None


@pytest.mark.parametrize(
    ("words", "key"),
    [
        ("rip", ("time", "rip")),
        ("Pack boards", ("time", "pack")),
        ("glue up", ("time", "glue_up")),
        ("drill", ("time", "drill")),
        ("set up holes", ("setup", "drill")),
        ("whittle", None),
    ],
)
def test_operations_are_known_by_name_or_key(words: str, key: tuple[str, str] | None) -> None:
    assert operation_named(words) == key


def paid(stock: str, count: int, cents: int | None, batch: str = "last", lumberyard: str = "") -> StockPaid:
    price = None if cents is None else Money(cents)
    return StockPaid(batch=batch, stock=stock, count=count, price=price, lumberyard=lumberyard, day=DAY)


def test_each_line_of_both_bills_is_there_once_and_the_totals_add_up(planned: PlannedBatch) -> None:
    first = planned.purchases[0]
    bill = earlier_bill(
        with_book(
            planned,
            purchases=(
                paid(first.what, 2, 500),
                paid(f"{first.what.upper()} (Elsewhere)", 1, 560, lumberyard="ELSEWHERE"),
                paid(f"{first.what} (Elsewhere)", 1, 640, lumberyard="Elsewhere"),
                paid("cedar shingles", 3, 100),
                paid("bolts", 2, None),
                paid("bolts", 1, 70),
                paid("of another year", 9, 900, batch="older"),
            ),
        ),
        "last",
    )
    lines = {line.what: line for line in bill.lines}
    assert len(lines) == len(bill.lines)
    assert lines[first.what].bought in (3, 4), "the name in brackets is left out where its lumberyard is known"
    assert (lines["cedar shingles"].bought, lines["cedar shingles"].count) == (3, 0)
    assert lines["cedar shingles"].new_each is None
    assert (lines["bolts"].then, lines["bolts"].unpriced, lines["bolts"].then_each) == (Money(70), 2, Fraction(70))
    assert "of another year" not in lines
    assert sum(line.new.minor for line in bill.lines) == bill.new.minor == planned.total.minor
    assert bill.then.minor == 2 * 500 + 560 + 640 + 300 + 70
    assert bill.days == (DAY, DAY)


def test_an_unknown_batch_or_no_book_is_refused(planned: PlannedBatch) -> None:
    with pytest.raises(InputError, match="no book"):
        earlier_bill(planned, "last")
    with pytest.raises(InputError, match="Did you mean 'last'"):
        earlier_bill(with_book(planned, purchases=(paid("x", 1, 1),)), "lost")


GUARDS = """[[hives]]
name = "tens"
customer = "Ida Sorrel"
frames = 10
count = 4
gap = "1/4"
[[make]]
item = "feeding shim"
"""


@pytest.mark.slow("plans and quotes")
def test_quote_shows_both_and_writes_them(tmp_path: Path) -> None:
    folder = BookedShop(tmp_path)
    folder.enter(
        sent("stock bought", "2025-10-01", stock="1x3 pine, 8 ft", count=2, price="4.00", batch="last"),
        sent("stock used", stock="1x3 pine, 8 ft", count=2),
        sent("minutes taken", operation="assemble corners", count=10, minutes="30"),
    )
    design, out = folder.write(HEAD + GUARDS), tmp_path / "out"
    shop = str(DESIGNS / "creekside-shop.toml")
    command = ["quote", str(design), "--shop", shop, "--beside", "last", "--quick", "--out", str(out)]
    done = CliRunner().invoke(main, command)
    assert done.exit_code == 0, done.output
    assert "The bill of last beside this one" in done.stdout
    assert "assemble corners" in done.stdout
    costs = json.loads((out / "costs.json").read_text(encoding="utf-8"))
    assert costs["measured_minutes"]["operations"][0]["measured"] == "3"
    pine = next(line for line in costs["beside"]["lines"] if line["what"] == "1x3 pine, 8 ft")
    assert pine["then"] == {"count": 2, "total": 800, "unpriced": 0}
    assert costs["beside"]["then"] == 800
    manifest = json.loads((out / "manifest.json").read_text(encoding="utf-8"))
    assert manifest["book"]["event"] == 3
    refused = CliRunner().invoke(main, [*command[:5], "lost", *command[6:]])
    assert refused.exit_code == 3
