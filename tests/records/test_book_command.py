"""woodshop book: what it prints and enters, and how it refuses."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tests.records.shop_days import PINE, autumn, sent
from woodshop.cli import main
from woodshop.records.balance import imbalances
from woodshop.records.events import new_event
from woodshop.records.inventory_count import counted_things, difference_events
from woodshop.records.rows import COLUMN_NAMES, events_from_rows, rows_from_events
from woodshop.records.store import new_book, open_book, read_book


def run(*words: object) -> Result:
    return CliRunner().invoke(main, ["book", *map(str, words)])


def data(*words: object) -> dict[str, Any]:
    result = run(*words, "--json")
    found: dict[str, Any] = json.loads(result.stdout)
    return found


@pytest.fixture
def path(tmp_path: Path) -> Path:
    new_book(tmp_path / "shop.book", "in", "USD", autumn())
    return tmp_path / "shop.book"


def test_a_book_is_started_and_an_event_is_entered_once(tmp_path: Path) -> None:
    book = tmp_path / "shop.book"
    words = ("add", book, "stock-bought", f"stock={PINE}", "count=10", "price=11.12", "--day", "2026-09-23")
    missing = run(*words)
    assert (missing.exit_code, missing.stdout) == (3, "")
    assert "no such file" in missing.stderr
    first = run(*words, "--new")
    assert first.exit_code == 0
    assert "Entered in shop.book: event 1." in first.stdout
    again = run(*words)
    assert "not entered again: 1 event (1)" in again.stdout
    assert run(*words, "--new").exit_code == 3
    assert data(*words, "--nth", 2) == {"entered": [2], "already_there": []}
    assert data(*words, "--nth", 2) == {"entered": [], "already_there": [2]}
    gap = run(*words, "--nth", 4)
    assert gap.exit_code == 3
    assert "at most one more" in gap.stderr
    assert read_book(book).stock[0].on_hand == 20
    assert data(*words[:-2], "--id", "slip 1")["entered"] == [3]
    other = data("add", book, "stock bought", f"stock={PINE}", "count=11", "--id", "slip 1")
    assert other["errors"][0]["given"].startswith("the id 'slip 1' again")


def test_defaults_that_were_not_given_are_listed(path: Path) -> None:
    said = run(
        "add", path, "units scrapped", "item=quilt box", "box=tens", "count=1", "reason=rot", "state=needs repair"
    )
    assert "Left out, so: no day; place shed." in said.stdout


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("add", "BOOK", "units sold", "item=quilt box", "box=tens", "count=9"), 3, "at most 0"),
        (("add", "BOOK", "unit sold", "count=9"), 3, "Did you mean 'units sold'?"),
        (("add", "BOOK", "stock used", "stock"), 3, "FIELD=VALUE"),
        (("add", "BOOK", "stock used", "stock=a", "stock=b"), 3, "each field once"),
        (("add", "BOOK", "stock used", "stok=a", "count=1"), 3, "Did you mean 'stock'?"),
        (("add", "BOOK", "stock used", "stock=a", "count=1", "--day", "soon"), 3, "a day such as 2026-11-26"),
        (("add", "BOOK", "stock used", "stock=a", "count=1", "--unit", "mm"), 2, "for a new book"),
        (("add", "new.book", "stock used", "stock=a", "count=1", "--new", "--currency", "$"), 3, "ISO 4217"),
        (("list", "BOOK", "unts"), 3, "Did you mean 'units'?"),
        (("list", "BOOK", "--as-of", "99"), 3, "a number from 0 to 29"),
        (("list", "BOOK", "stock", "--kind", "undo"), 2, "are for events"),
        (("correct", "BOOK", "99", "count=1"), 3, "a number from 1 to 29"),
        (("correct", "BOOK", "5", "count=10"), 3, "what the event says already"),
        (("correct", "BOOK", "5", "count=3"), 3, "correction of an event that event 10, layout cut needs: then"),
        (("correct", "BOOK", "5", "count="), 3, "stock bought without count"),
        (("undo", "BOOK", "5"), 3, "Undo the later event first"),
        (("undo", "BOOK", "0"), 2, "0 is not in the range"),
        (("count", "BOOK"), 2, "Give a SHEET"),
        (("count", "BOOK", "--counted", "R9"), 3, "a whole number"),
        (("export", "BOOK", "BOOK"), 3, "a name already in use"),
        (("backup", "BOOK", "BOOK"), 3, "the file that is read"),
        (("import", "BOOK", "missing.csv"), 3, "no such file"),
    ],
)  # fmt: skip
def test_each_wrong_command_gets_one_answer_and_changes_nothing(
    path: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], code: int, said: str
) -> None:
    monkeypatch.chdir(path.parent)
    before = path.read_bytes()
    result = run(*(path.name if word == "BOOK" else word for word in words))
    assert result.exit_code == code
    assert said in result.stderr
    assert result.stdout == ""
    assert path.read_bytes() == before
    assert [each.name for each in path.parent.iterdir()] == ["shop.book"]


def test_events_are_listed_with_what_became_of_them(path: Path) -> None:
    assert run("correct", path, 5, "price=10.98").exit_code == 0
    assert run("undo", path, 13, "--reason", "not spoiled").exit_code == 0
    assert run("undo", path, 31).exit_code == 0
    rows = {row["number"]: row for row in data("list", path, "--all")["events"]}
    assert len(rows) == 32
    assert rows[5]["since"] == "corrected by 30"
    assert rows[13]["since"] == "undone by 31 (itself undone)"
    assert rows[32]["fields"] == "of event 31"
    assert [row["number"] for row in data("list", path, "--kind", "undo")["events"]] == [31, 32]
    assert len(data("list", path, "--as-of", 7)["events"]) == 7
    assert "10.98" in rows[30]["fields"]


@pytest.mark.parametrize("what", ["stock", "offcuts", "units", "orders", "prices", "measured", "boxes", "batches"])
def test_every_list_of_the_state(path: Path, what: str) -> None:
    assert data("list", path, what)[what]
    assert "As of event 29." in run("list", path, what).stdout
    empty = data("list", path, what, "--as-of", 0)
    assert (empty[what], empty["as_of"]) == ([], 0)


def test_the_same_correction_and_undo_can_be_wanted_again(path: Path) -> None:
    for price in ("10.98", "11.12", "10.98"):
        assert run("correct", path, 5, f"price={price}").exit_code == 0
    assert read_book(path).purchases[0].price is not None
    assert read_book(path).purchases[0].price.minor == 1098  # type: ignore[union-attr]
    for number in (13, 33, 13):
        assert run("undo", path, number).exit_code == 0
    assert run("correct", path, 13, "count=2").exit_code == 3
    moved = run("correct", path, 5, "day=2026-09-20", "batch=")
    assert moved.exit_code == 0
    (purchase, _) = read_book(path).purchases
    assert (str(purchase.day), purchase.batch) == ("2026-09-20", "")


@pytest.mark.invariant
def test_export_and_import_give_the_same_book(path: Path) -> None:
    with open_book(path) as book:
        of = book.events()[4].id
        book.add(
            [
                new_event("correction", {"of": of, "stock": PINE, "count": 11, "note": "=1+1"}),
                sent("stock bought", event_id="-7", stock="+ nails", count=1, note='\'twas @ "9, or so" – ½'),
                sent("undo", of="-7"),
            ]
        )
        head = book.head()
    folder = path.parent
    assert run("export", path, folder / "events.csv").exit_code == 0
    assert run("export", path, folder / "events.csv").exit_code == 3
    assert run("import", folder / "other.book", folder / "events.csv", "--new").exit_code == 0
    with open_book(folder / "other.book") as other:
        assert other.head() == head
    assert read_book(folder / "other.book") == read_book(path)
    again = data("import", path, folder / "events.csv")
    assert (again["entered"], len(again["already_there"])) == ([], 32)
    assert run("export", path, folder / "early.csv", "--as-of", 3).exit_code == 0
    assert len((folder / "early.csv").read_text().splitlines()) == 4


def test_a_change_with_an_id_can_be_sent_again(path: Path) -> None:
    for words in (("correct", path, 5, "price=10.98", "day=2026-09-20"), ("undo", path, 13)):
        assert data(*words, "--id", f"mine {words[0]}")["entered"]
        assert data(*words, "--id", f"mine {words[0]}")["entered"] == []
        assert run(*words).exit_code == 3
    assert run("correct", path, 5, "price=10.99", "--id", "mine correct").exit_code == 3
    assert run("correct", path, 5, "day=").exit_code == 3
    assert read_book(path).number == 31


def test_an_import_is_all_or_nothing_and_lists_every_problem(path: Path) -> None:
    sheet = path.with_name("events.csv")
    head = "kind,day,stock,count,item,box\n"
    sheet.write_text(
        f"{head}stock bought,,nails,2,,\nstock bought,soon,nails,0,,\nstok bought,,nails,1,,\nunits sold,,,1,,\n"
    )
    before = read_book(path)
    result = run("import", path, sheet)
    assert result.exit_code == 3
    assert [line.split(":")[1].strip() for line in result.stderr.splitlines()] == [
        "events.csv, row 3, day", "events.csv, row 4, kind", "events.csv, row 5", "events.csv, row 5",
    ]  # fmt: skip
    sheet.write_text(f"{head}stock bought,,nails,2,,\nstock used,,nails,3,,\n")
    assert "events.csv, row 3" in run("import", path, sheet).stderr
    assert run("import", path.with_name("new.book"), sheet, "--new").exit_code == 3
    assert not path.with_name("new.book").exists()
    assert read_book(path) == before
    sheet.write_text(f"{head}stock bought,,nails,2,,\nstock bought,,nails,2,,\nstock used,,nails,3,,\n")
    assert data("import", path, sheet) == {"entered": [30, 31, 32], "already_there": []}
    assert data("import", path, sheet) == {"entered": [], "already_there": [30, 31, 32]}
    sheet.write_text("kind,stock,count,currency\nstock bought,nails,2,EUR\n")
    assert "prices in EUR" in run("import", path, sheet).stderr


def test_a_new_book_takes_unit_and_currency_from_the_sheet(tmp_path: Path) -> None:
    sheet = tmp_path / "events.csv"
    sheet.write_text("kind,offcut,material,length,width,unit,currency\noffcut put away,R1,board 18 mm,700,90,mm,EUR\n")
    assert run("import", tmp_path / "shop.book", sheet, "--new").exit_code == 0
    state = read_book(tmp_path / "shop.book")
    assert (state.unit, state.currency, str(state.offcuts[0].length.text("mm"))) == ("mm", "EUR", "700 mm")


@pytest.mark.invariant
def test_rows_of_all_kinds_are_read_as_the_same_events(path: Path) -> None:
    with open_book(path) as book:
        events = book.events()
    rows = rows_from_events(events, "in", "USD")
    assert set(rows[0]) <= set(COLUMN_NAMES)
    read = events_from_rows([("row", dict(zip(rows[0], row, strict=True))) for row in rows[1:]], "mm", "USD")
    assert [(e.id, e.kind, e.day, e.payload) for e in read] == [(e.id, e.kind, e.day, e.payload) for e in events]


def test_equal_rows_without_an_id_are_the_first_and_the_second() -> None:
    row = {"kind": "units finished", "item": "quilt box", "box": "tens", "count": "2"}
    made = [event.id for event in events_from_rows([("a", row), ("b", row), ("c", row | {"id": "mine"})], "in", "USD")]
    assert made[0].removesuffix("1") == made[1].removesuffix("2")
    assert made[2] == "mine"
    twice = events_from_rows([("a", row | {"id": made[0]}), ("b", row), ("c", row | {"id": made[0]})], "in", "USD")
    assert [event.id for event in twice] == [made[0], made[1], made[0]]


def test_an_inventory_count_shows_the_differences_before_it_enters_them(path: Path) -> None:
    sheet = path.with_name("count.csv")
    assert run("count", path, "--blank", sheet).exit_code == 0
    lines = sheet.read_text(encoding="utf-8").splitlines()
    assert len(lines) == 1 + 2 + 1 + 1
    filled = [lines[0], lines[1] + "1", lines[2], lines[3] + "0", *(f"{line}0" for line in lines[4:])]
    sheet.write_text("\n".join(filled))
    shown = run("count", path, sheet)
    assert "Nothing was entered." in shown.stdout
    assert read_book(path).number == 29
    entered = data("count", path, sheet, "--yes", "--day", "2027-04-01")
    differences = {each["what"]: each["difference"] for each in entered["differences"]}
    assert differences == {PINE: "-1", "offcut R7": "-1", "quilt box for tens, needs repair in shed": "-1"}
    state = read_book(path)
    assert state.offcuts == ()
    assert [each.on_hand for each in state.stock] == [1, 2]
    assert data("count", path, sheet, "--yes")["entered"] == []
    with open_book(path) as book:
        assert imbalances(book.events(), state) == []


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([{"stock": PINE, "offcut": "R7", "counted": "1"}], "stock and offcut"),
        ([{"counted": "1"}], "nothing"),
        ([{"stock": PINE, "counted": "1"}, {"stock": f" {PINE} ", "counted": "2"}], "each thing once"),
        ([{"item": "quilt box", "box": "tens", "counted": "1"},
          {"item": "quilt box", "box": "tens", "place": "shed", "state": "good", "counted": "2"}], "each thing once"),
        ([{"offcut": "R9", "counted": "1"}], "offcut put away"),
        ([{"item": "quilt box", "counted": "1"}], "without box"),
        ([{"stock": PINE, "counted": "-1"}], "a whole number"),
    ],
)  # fmt: skip
def test_a_wrong_inventory_count_is_refused(path: Path, rows: list[dict[str, str]], said: str) -> None:
    with pytest.raises(ValueError, match=said):
        counted_things(read_book(path), [(f"row {n}", row) for n, row in enumerate(rows, 2)])


def test_an_inventory_count_of_an_older_state_is_refused(path: Path) -> None:
    state = read_book(path)
    events = difference_events(state, counted_things(state, [("row 2", {"stock": PINE, "counted": "0"})]))
    with open_book(path) as book:
        book.add([sent("stock used", stock=PINE, count=1)])
        with pytest.raises(ValueError, match="The book has changed since"):
            book.add(events)


def test_check_finds_what_does_not_add_up(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    sound = data("check", path)
    assert (sound["sound"], sound["events"], sound["faults"]) == (True, 29, [])
    from dataclasses import replace

    from woodshop.records import store

    with open_book(path) as book:
        events, state = book.events(), book.state()
    for spoiled in (
        replace(state, stock=(replace(state.stock[0], used=5), *state.stock[1:])),
        replace(state, units={}),
        replace(state, offcuts=()),
        replace(state, seen=()),
        replace(state, orders=(replace(state.orders[0], lines=()),)),
        replace(state, batches=()),
        replace(state, units_totals=(replace(state.units_totals[0], finished=6), state.units_totals[1])),
    ):
        assert imbalances(events, spoiled)
    monkeypatch.setattr(store, "imbalances", lambda events, state: ["stock: 5 are gone"])
    result = run("check", path)
    assert result.exit_code == 1
    assert "Fault: stock: 5 are gone" in result.stdout


def test_a_backup_is_a_book(path: Path) -> None:
    copy = path.with_name("copy.book")
    found = data("backup", path, copy)
    assert (found["events"], found["digest"]) == (29, read_book(path).digest)
    assert data("check", copy)["sound"]
    note = path.with_name("note.txt")
    note.write_text("mine")
    assert run("backup", path, note).exit_code == 3
    assert note.read_text() == "mine"


def test_a_network_folder_is_warned_of_on_standard_error(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from woodshop.records import store

    monkeypatch.setattr(store, "network_kind", lambda path: "nfs4")
    result = run("list", path, "--json")
    assert "warning: shop.book is in a network folder (nfs4)" in result.stderr
    assert json.loads(result.stdout)["total"] == 29
