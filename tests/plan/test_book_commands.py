"""`--book` and `--as-of` on the commands: recorded in the plan, the same bytes for the same events, checked again."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.plan.booked import HEAD, BookedShop
from tests.records.shop_days import sent
from woodshop.cli import main

SHIMS = """[[hives]]
name = "tens"
frames = 10
count = 4
gap = "1/4"
[[make]]
item = "feeding shim"
"""


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


@pytest.mark.slow("writes three packets")
def test_the_same_events_give_the_same_packet_and_verify_knows_the_book(tmp_path: Path) -> None:
    shop = BookedShop(tmp_path)
    shop.enter(
        sent("units finished", item="feeding shim", box="tens", count=1),
        sent("stock bought", stock="1x3 pine, 8 ft", count=1, price="5.00"),
    )
    design = shop.write(HEAD + SHIMS)
    packets = []
    for name, words in (("whole", ()), ("later", ("--as-of", 2)), ("given", ("--book", shop.book, "--as-of", 2))):
        if name == "later":
            shop.enter(sent("units finished", item="feeding shim", box="tens", count=2))
        done = run("plan", design, "--quick", "--out", tmp_path / name, *words)
        assert done.exit_code == 0, done.output
        packets.append({each.name: each.read_bytes() for each in (tmp_path / name).rglob("*") if each.is_file()})
    assert packets[0] == packets[1] == packets[2]
    raw = json.loads(packets[0]["plan.json"])
    manifest = json.loads(packets[0]["manifest.json"])
    assert raw["book"] == manifest["book"]
    assert raw["book"]["event"] == 2
    assert [row["count"] for row in raw["lines"]] == [3]
    assert raw["at_hand"]["board 3/4 in"] == ["left over 1x3_96"]
    plan = tmp_path / "whole" / "plan.json"
    assert run("verify", plan, "--book", shop.book).exit_code == 0

    other = BookedShop(tmp_path / "other")
    other.folder.mkdir()
    other.enter(sent("units finished", item="feeding shim", box="tens", count=1))
    short = run("verify", plan, "--book", other.book)
    assert short.exit_code == 3
    assert "at least 2 events" in short.stderr
    other.enter(sent("stock bought", stock="1x3 pine, 8 ft", count=2, price="5.00"))
    changed = run("verify", plan, "--book", other.book)
    assert changed.exit_code == 3
    assert "other events up to 2" in changed.stderr

    raw["book"]["event"] = "two"
    bad = tmp_path / "bad.json"
    bad.write_text(json.dumps(raw), encoding="utf-8")
    assert run("verify", bad).exit_code == 1
    del raw["book"]
    bad.write_text(json.dumps(raw), encoding="utf-8")
    assert "made without a book" in run("verify", bad, "--book", shop.book).stderr


@pytest.mark.parametrize("command", [("check",), ("orders",), ("plan", "--quick"), ("quote",), ("season",)])
def test_an_event_that_the_book_lacks_is_refused(tmp_path: Path, command: tuple[str, ...]) -> None:
    shop = BookedShop(tmp_path)
    design = shop.write(HEAD + SHIMS)
    done = run(command[0], design, "--as-of", 9, *command[1:])
    assert done.exit_code == 3
    assert "event 9" in done.stderr
    missing = run(command[0], design, "--book", tmp_path / "none.book", *command[1:])
    assert missing.exit_code == 3
    assert "Traceback" not in missing.output


def test_compare_varies_a_design_with_its_book(tmp_path: Path) -> None:
    shop = BookedShop(tmp_path)
    shop.enter(
        sent("units finished", item="feeding shim", box="tens", count=3),
        sent("price seen", "2026-12-01", lumberyard="Creekside", stock="1x3 pine, 8 ft", price="99.00"),
    )
    design = shop.write(HEAD + SHIMS)
    done = run("compare", design, "--vary", "price.1x3=1.00", "--quick", "--json")
    assert done.exit_code == 0, done.output
    first, second = (case["to_pay"] for case in json.loads(done.stdout)["cases"])
    assert second < first, "a price that is varied is not taken from the book"


def test_sizes_and_openings_read_the_book_that_the_design_names(tmp_path: Path) -> None:
    shop = BookedShop(tmp_path)
    design = shop.write(HEAD + SHIMS)
    assert run("sizes", design).exit_code == 0
    assert run("openings", design).exit_code == 0
