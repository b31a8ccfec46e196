"""The papers of a delivery: what is on them, with hostile names too; what is written, and what is refused."""

import csv
import io
import json
import re
from pathlib import Path
from typing import Any

import pdfplumber
import pytest
from click.testing import CliRunner, Result

from tests.records.shop_days import sent
from tests.trade.test_hostile_names import NAMES
from woodshop.cli import main
from woodshop.records.balance import imbalances
from woodshop.records.store import new_book, open_book, read_book
from woodshop.units.lengths import Money

SHOP = """format = "woodshop-shop/2"
name = "Shed"
labour = "20.00"
tax = "6.25 %"
tax_exempt = ["Fen Road School"]
[quote]
terms = ["Half with the order."]
"""
BOX = {"item": "quilt box", "box": "tens"}


def order(number: str, customer: str, count: int, **more: str) -> Any:
    return sent("order accepted", order=number, customer=customer, **(BOX | more), count=count, price="32.00")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A book with three orders: the second is filled in part, the third has a customer who pays no tax."""
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    new_book(tmp_path / "shop.book")
    with open_book(tmp_path / "shop.book") as book:
        book.add(
            [
                order("M-1", "Ida Sorrel", 4, due="2026-11-20"),
                order("M-2", "Heath End", 9, due="2026-11-13"),
                order("M-3", "Fen Road School", 1),
                sent("deposit paid", order="M-1", amount="50.00"),
                sent("units finished", **BOX, count=5),
                sent("units finished", **BOX, count=2, place="loft"),
            ]
        )
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(*words: object) -> Result:
    return CliRunner().invoke(main, ["deliver", "shop.book", "--day", "2026-11-13", *map(str, words)])


def paper(path: Path) -> str:
    with pdfplumber.open(path) as pdf:
        return "\n".join(page.extract_text() for page in pdf.pages)


def test_the_papers_agree_with_each_other_and_with_the_book(folder: Path) -> None:
    result = run("--shop", "shop.toml", "--out", "out")
    assert result.exit_code == 0, result.output
    data = json.loads((folder / "out/delivery.json").read_text("utf-8"))
    picked = [(place["place"], line["count"]) for place in data["pick_list"] for line in place["lines"]]
    slips = {slip["order"]: slip for slip in data["packing_slips"]}
    assert sum(count for _, count in picked) == sum(slip["now"] for slip in slips.values()) == 7
    assert {name: (slip["now"], slip["to_come"]) for name, slip in slips.items()} == {
        "M-1": (4, 0), "M-2": (2, 7), "M-3": (1, 0)
    }  # fmt: skip
    bills = {bill["order"]: bill for bill in data["invoices"]}
    assert (bills["M-1"]["tax"], bills["M-1"]["amount_due"]) == (800, 8600)  # 128.00 at 6.25 %, less 50.00
    assert (bills["M-3"]["tax"], bills["M-3"]["tax_exempt"]) == (0, True)
    slip, bill = paper(folder / "out/packing-slip-02-m-2.pdf"), paper(folder / "out/invoice-02-m-2.pdf")
    assert "M-2" in slip
    assert re.search(r"Total 9 0 2 7", slip)
    assert "$" not in slip
    assert "32.00" not in slip
    assert "M-2/6" in bill
    assert "$68.00" in bill  # 64.00 and tax
    assert "what an invoice must show" in result.output
    pick = paper(folder / "out/pick-list.pdf")
    assert "tax" not in pick
    assert "loft: take 2" in pick
    assert "$" not in pick


def test_the_sales_are_what_the_slips_say_and_count_once(folder: Path) -> None:
    """Entered once, the next delivery has the rest; a sheet that is made again before has the same ids."""
    assert run("--out", "one").exit_code == 0
    assert run("--out", "two").exit_code == 0
    assert (folder / "one/sales.csv").read_bytes() == (folder / "two/sales.csv").read_bytes()
    rows = list(csv.DictReader(io.StringIO((folder / "one/sales.csv").read_text("utf-8"))))
    for new in (len(rows), 0):
        before = read_book(folder / "shop.book").number
        result = CliRunner().invoke(main, ["book", "import", "shop.book", "one/sales.csv"])
        assert (result.exit_code, read_book(folder / "shop.book").number - before) == (0, new)
    state = read_book(folder / "shop.book")
    assert [each.lines[0].sold for each in state.orders] == [4, 2, 1]
    assert not state.units
    result = run("--out", "three")
    assert "No order waits" in result.output
    assert sorted(path.name for path in (folder / "three").iterdir()) == [
        "delivery.json", "manifest.json", "pick-list.pdf", "sales.csv"
    ]  # fmt: skip
    with open_book(folder / "shop.book") as book:
        book.add([sent("undo", of=rows[0]["id"])])
    run("--out", "four")
    (row,) = csv.DictReader(io.StringIO((folder / "four/sales.csv").read_text("utf-8")))
    assert row["id"] not in {each["id"] for each in rows}  # else it would be ignored as known, though undone


def test_the_sales_of_a_set_take_its_parts_out_of_the_book(folder: Path) -> None:
    """The sheet of sales is entered as it is: the order is filled, and nothing of it stays on hand."""
    names = ("fondant rim", "wire bottom", "spacer strips")
    with open_book(folder / "shop.book") as book:
        book.add([sent("undo", of=each.id) for each in book.events() if each.kind == "units finished"])
        book.add([order("B-1", "Ash", 2, item="board", form="packed"), order("B-2", "Elm", 1, form="empty")])
        book.add([sent("units finished", item=item, box="tens", count=2) for item in names])
        book.add([sent("units packed", item="fondant rim", box="tens", count=2)])
        book.add([sent("units finished", item="Quilt Box", box="Tens", count=1, form="empty")])
    result = run("--shop", "shop.toml", "--out", "out")
    assert result.exit_code == 0, result.output
    assert "wire bottom, for board" in paper(folder / "out/pick-list.pdf").replace("\n", " ")
    imported = CliRunner().invoke(main, ["book", "import", "shop.book", "out/sales.csv"])
    assert imported.exit_code == 0, imported.output
    state = read_book(folder / "shop.book")
    sold = {each.order: each.lines[0].sold for each in state.orders}
    assert (sold["B-1"], sold["B-2"]) == (2, 1)
    assert not state.units
    with open_book(folder / "shop.book") as book:
        assert not imbalances(book.events(), state)
    assert next(each for each in state.orders if each.order == "B-1").lines[0].charged == Money(6400, "USD")
    again = CliRunner().invoke(main, ["book", "import", "shop.book", "out/sales.csv"])
    assert (again.exit_code, read_book(folder / "shop.book").number) == (0, state.number)


def test_the_same_state_gives_the_same_bytes(folder: Path) -> None:
    run("--shop", "shop.toml", "--out", "one")
    with open_book(folder / "shop.book") as book:
        book.add([order("M-4", "Later", 3)])
    run("--shop", "shop.toml", "--out", "two", "--as-of", 6)
    one, two = ({p.name: p.read_bytes() for p in (folder / name).iterdir()} for name in ("one", "two"))
    assert one == two


def test_one_order_is_shown_whole(folder: Path) -> None:
    result = run("--shop", "shop.toml", "--order", "M-1", "--out", "out")
    assert result.exit_code == 0
    assert "Packing slip for Ida Sorrel" in result.output
    assert "Invoice for Ida Sorrel" in result.output
    names = {path.name for path in (folder / "out").iterdir()}
    assert {name for name in names if name.startswith("packing")} == {"packing-slip-01-m-1.pdf"}


def test_hostile_names_are_words_on_every_paper(folder: Path) -> None:
    events = [order(f"{name[:9]} {n}", name, 1, item="feeding shim") for n, name in enumerate(NAMES)]
    events.append(sent("units finished", item="feeding shim", box="tens", count=len(NAMES)))
    with open_book(folder / "shop.book") as book:
        book.add(events)
    result = run("--shop", "shop.toml", "--out", "out")
    assert result.exit_code == 0, result.output
    names = sorted(path.name for path in (folder / "out").iterdir())
    assert [name for name in names if not re.fullmatch(r"[a-z0-9.-]+", name)] == []
    assert len([name for name in names if name.startswith("invoice")]) == 3 + len(NAMES)
    text = (folder / "out/sales.csv").read_text("utf-8")
    cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
    assert [cell for cell in cells if cell[:1] in "=+-@" and cell] == []
    imported = CliRunner().invoke(main, ["book", "import", "shop.book", "out/sales.csv"])
    assert imported.exit_code == 0, imported.output  # as the names were entered, although a spreadsheet may read them
    slips = [paper(path) for path in sorted((folder / "out").glob("packing*.pdf"))]
    assert all(any(name.split()[0] in slip for slip in slips) for name in NAMES)
    for path in (folder / "out").glob("*.pdf"):
        assert not re.search(rb"/(JavaScript|Launch|URI|OpenAction)\b", path.read_bytes())


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (["--order", "M-9"], 3, "M-9"),
        (["--as-of", "99"], 3, "event 99"),
        (["--shop", "none.toml"], 3, "none.toml"),
        (["--paper", "a3"], 2, "a3"),
    ],
)
def test_what_is_wrong_is_named_and_nothing_is_written(folder: Path, words: list[str], code: int, told: str) -> None:
    result = run(*words, "--out", "out")
    assert (result.exit_code, told in result.output, (folder / "out").exists()) == (code, True, False)


def test_an_order_without_a_price_gets_no_invoice_and_nothing_is_written(folder: Path) -> None:
    with open_book(folder / "shop.book") as book:
        book.add([sent("order accepted", order="M-5", customer="X", item="guard", box="tens", count=1)])
        book.add([sent("units finished", item="guard", box="tens", count=1)])
    result = run("--shop", "shop.toml", "--out", "out")
    assert result.exit_code == 3
    assert "without a price" in result.output
    assert not (folder / "out").exists()
    assert run("--out", "out").exit_code == 0
    assert run("--shop", "shop.toml", "--out", "some", "--order", "M-1").exit_code == 0
