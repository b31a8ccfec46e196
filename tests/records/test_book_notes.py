"""What `woodshop book` says beside what it enters: slips that the book cannot refuse, and what is owed."""

from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tests.records.shop_days import PINE, sent
from woodshop.cli import main
from woodshop.records.store import new_book, open_book, read_book

BOX = ("item=quilt box", "box=house tens", "count=2")


def run(*words: object) -> Result:
    return CliRunner().invoke(main, ["book", *map(str, words)])


@pytest.fixture
def path(tmp_path: Path) -> Path:
    new_book(tmp_path / "shop.book", "in", "USD", [sent("units finished", item="quilt box", box="house tens", count=9)])
    return tmp_path / "shop.book"


def enter(path: Path, *events: Any) -> None:
    with open_book(path) as book:
        book.add(events)


def order(count: int, item: str = "quilt box", **more: Any) -> Any:
    fields = {"order": "M-1", "customer": "Ida Sorrel", "item": item, "box": "house tens", "count": count} | more
    return sent("order accepted", **fields)


def test_a_layout_without_stock_says_that_stock_is_not_reduced(path: Path) -> None:
    enter(path, sent("stock bought", stock=PINE, count=9))
    cut = ("add", path, "layout cut", "batch=b", "material=board 3/4 in", "layout=5", "times=8")
    assert "what is on hand is not reduced" in run(*cut).stdout
    assert "not reduced" not in run(*cut, f"stock={PINE}").stdout


def test_names_that_look_like_slips_are_asked_about_but_entered(path: Path) -> None:
    said = run("add", path, "units finished", "item=quilt boxes", "box=house ten", "count=1").stdout
    assert "knows no item 'quilt boxes'. Did you mean 'quilt box'?" in said
    assert "Did you mean 'house tens'?" in said
    assert "Entered in shop.book: event 2." in said
    assert "Note:" not in run("add", path, "units finished", "item=fondant board", "box=house tens", "count=1").stdout
    assert "Did you mean" not in run("add", path, "units finished", "item=quilt box", "box=elms", "count=1").stdout


def test_a_price_that_was_paid_is_listed(path: Path) -> None:
    enter(path, sent("stock bought", "2026-09-23", stock=PINE, count=1, price="11.12", lumberyard="Creekside"))
    assert "$11.12" in run("list", path, "prices").stdout


def test_what_is_owed_stands_once_for_an_order(path: Path) -> None:
    enter(path, order(2, price="32.00"), order(1, "mouse guard", price="10.00"))
    enter(path, sent("deposit paid", order="M-1", amount="24.00"))
    said = run("list", path, "orders").stdout
    assert [said.count(each) for each in ("$74.00", "$24.00", "$50.00")] == [1, 1, 1]  # 2 x 32.00 + 10.00, paid, owed
    enter(path, sent("units sold", item="quilt box", box="house tens", count=2, order="M-1", price="30.00"))
    assert "$46.00" in run("list", path, "orders").stdout, "sold for less than was agreed"
    assert "more than its price" not in run("add", path, "balance paid", "order=M-1", "amount=46.00").stdout
    said = run("add", path, "balance paid", "order=M-1", "amount=4600").stdout
    assert "$4,670.00 was paid for order M-1, $4,600.00 more than its price before tax" in " ".join(said.split())


def test_tax_that_was_paid_is_not_owed_to_the_customer(path: Path) -> None:
    enter(path, order(1, price="32.00"), sent("balance paid", order="M-1", amount="34.00"))
    assert "-$" not in run("list", path, "orders").stdout


def test_a_line_that_is_there_already_is_changed_and_not_entered_twice(path: Path) -> None:
    words = ("add", path, "order accepted", "order=M-1", "customer=Ida", *BOX)
    run(*words)
    said = run(*words).stdout
    assert '"order changed"' in said
    assert "--nth" not in said


def test_every_fault_of_an_event_is_told_at_once(path: Path) -> None:
    words = ("order=M-1", "customer=Ida", *BOX, "due=soon", "--day", "today")
    said = run("add", path, "order accepted", *words).stderr
    assert said.count("a day such as 2026-11-26") == 2


def test_a_near_kind_comes_instead_of_all_kinds(path: Path) -> None:
    said = run("add", path, "unit sold", *BOX).stderr
    assert "Did you mean 'units sold'?" in said
    assert "price seen" not in said
    assert "price seen" in run("add", path, "xyz", *BOX).stderr


def test_the_day_of_an_event_is_corrected_by_an_option_and_no_day_is_no_default(path: Path) -> None:
    said = run("correct", path, 1, "--day", "2026-11-20")
    assert said.exit_code == 0
    assert "no day" not in said.stdout
    assert run("correct", path, 1).exit_code == 2
    assert "no day" not in run("undo", path, 2).stdout


def test_a_correction_of_an_event_before_what_it_needs_says_so(path: Path) -> None:
    cut = {"batch": "b", "material": "board 3/4 in", "layout": 1, "times": 2}
    enter(path, sent("layout cut", **cut), sent("stock bought", stock=PINE, count=9))
    said = " ".join(run("correct", path, 2, f"stock={PINE}").stderr.split())
    assert "event 2, layout cut, corrected to 2 of '1x6 pine, 8 ft'" in said
    assert "undo event 2 and enter it again" in said
    assert "needs" not in said


def test_a_line_of_an_order_knows_its_events(path: Path) -> None:
    enter(path, order(2), sent("order changed", order="M-1", item="quilt box", box="house tens", count=3))
    assert read_book(path).orders[0].lines[0].events == (2, 3)


def test_all_of_a_kind_are_counted_as_that(path: Path) -> None:
    enter(path, order(2), sent("deposit paid", order="M-1", amount="5.00"))
    said = run("list", path, "--kind", "deposit-paid").stdout
    assert "1 event of this kind, of 3 in the book." in said
    assert "--all" not in said


def test_a_folder_that_is_missing_is_named(path: Path) -> None:
    said = run("backup", path, path.parent / "stick" / "shop.book").stderr
    assert f"a folder that does not exist: {path.parent / 'stick'}" in said
