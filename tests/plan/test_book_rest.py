"""`plan --rest --book`: what happened comes from the book, once; the rest is planned from what is there."""

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tests.plan.booked import HEAD, BookedShop
from tests.records.shop_days import sent
from woodshop.cli import main
from woodshop.records.events import NewEvent

SHIMS = """[[hives]]
name = "tens"
frames = 10
count = 6
gap = "1/4"
[[make]]
item = "feeding shim"
"""
pytestmark = pytest.mark.usefixtures("only_lists")
BOARD, SHIM = "board 3/4 in", {"item": "feeding shim", "box": "tens"}


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


class Season:
    """A plan made with a book, and the rest of it."""

    def __init__(self, folder: Path) -> None:
        self.shop, self.folder = BookedShop(folder), folder

    def plan(self, *events: NewEvent) -> dict[str, Any]:
        self.shop.enter(*events)
        self.design = self.shop.write(HEAD + SHIMS)
        done = run("plan", self.design, "--quick", "--out", self.folder / "first")
        assert done.exit_code == 0, done.output
        return self.read("first")

    def read(self, name: str) -> dict[str, Any]:
        raw: dict[str, Any] = json.loads((self.folder / name / "plan.json").read_text(encoding="utf-8"))
        return raw

    def rest(self, *events: NewEvent) -> dict[str, Any]:
        self.shop.enter(*events)
        earlier, out = self.folder / "first" / "plan.json", self.folder / "rest"
        done = run("plan", self.design, "--rest", "--earlier", earlier, "--quick", "--out", out)
        assert done.exit_code == 0, done.output
        checked = run("verify", out / "plan.json", "--earlier", earlier, "--book", self.shop.book)
        assert checked.exit_code == 0, checked.output
        return self.read("rest")


@pytest.fixture
def season(tmp_path: Path) -> Season:
    return Season(tmp_path)


def purchases(raw: dict[str, Any]) -> list[NewEvent]:
    """The whole buy list, bought."""
    return [sent("stock bought", stock=row["what"], count=row["count"], batch="winter") for row in raw["purchases"]]


def cut_all(raw: dict[str, Any], *, with_stock: bool = False) -> list[NewEvent]:
    """Every board cut as planned; `with_stock`: with the name of each board, or the number of the offcut."""
    names = {row.get("stock", ""): row["what"] for row in raw["purchases"]} | {"left over 1x3_96": "1x3 pine, 8 ft"}
    found = []
    for n, row in enumerate(raw["plans"][BOARD]["layouts"], 1):
        own = {"offcut": "R7"} if row["stock"] == "offcut_R7" else {"stock": names[row["stock"]]}
        more = own if with_stock else {}
        found.append(sent("layout cut", batch="winter", material=BOARD, layout=n, times=row["times"], **more))
    return found


def pieces(raw: dict[str, Any]) -> int:
    """How many pieces are still to cut."""
    return sum(blank["count"] for plan in raw["plans"].values() for blank in plan["job"]["blanks"])


ON_HAND = [
    sent("units finished", **SHIM, count=1),
    sent("stock bought", stock="1x3 pine, 8 ft", count=1, price="5.44"),
    sent("stock bought", stock="exterior wood glue, 16 fl oz", count=1),
    sent("offcut put away", offcut="R7", material=BOARD, length="45", width="2 1/2"),
]


@pytest.mark.slow("plans, and plans the rest")
def test_an_unchanged_run_with_everything_bought_buys_nothing_and_changes_nothing(season: Season) -> None:
    first = season.plan(*ON_HAND)
    assert "glue" not in {row["group"] for row in first["purchases"]}
    rest = season.rest(*purchases(first))
    assert not rest["purchases"]
    assert rest["book"]["event"] == len(ON_HAND) + len(first["purchases"])
    assert pieces(rest) == pieces(first)
    old, new = (sorted(row["times"] for row in raw["plans"][BOARD]["layouts"]) for raw in (first, rest))
    assert new == old


@pytest.mark.slow("plans, and plans the rest")
def test_nothing_bought_yet_is_bought_as_planned(season: Season) -> None:
    first = season.plan(*ON_HAND)
    rest = season.rest(sent("price seen", "2026-09-01", lumberyard="Creekside", stock="1x2 pine, 6 ft", price="3.00"))
    assert [(row["what"], row["count"]) for row in rest["purchases"]] == [
        (row["what"], row["count"]) for row in first["purchases"]
    ]


@pytest.mark.slow("plans, and plans the rest")
def test_a_board_left_over_that_went_elsewhere_is_bought_again(season: Season) -> None:
    first = season.plan(*ON_HAND)
    assert "left over 1x3_96" in {row["stock"] for row in first["plans"][BOARD]["layouts"]}
    rest = season.rest(*purchases(first), sent("stock used", stock="1x3 pine, 8 ft", count=1, reason="a shelf"))
    assert sum(row["count"] for row in rest["purchases"] if "stock" in row) == 1


@pytest.mark.slow("plans, and plans the rest")
@pytest.mark.parametrize("with_stock", [False, True])
def test_units_made_and_sold_are_not_made_again_and_scrapped_ones_are(season: Season, with_stock: bool) -> None:
    first = season.plan(*ON_HAND)
    rest = season.rest(
        *purchases(first),
        *cut_all(first, with_stock=with_stock),
        sent("units finished", **SHIM, count=5),
        sent("units fitted", **SHIM, count=3, hive="blue"),
        sent("units sold", **SHIM, count=1),
    )
    assert pieces(rest) == 0, "all is cut, whatever became of it"
    again = season.rest(sent("units scrapped", **SHIM, count=2, reason="rot"))
    each = sum(first["lines"][0]["parts"].values())
    assert pieces(again) == 2 * each, "one of before, one of this plan"
    assert [row["count"] for row in again["lines"]] == [6]


@pytest.mark.slow("plans, and plans the rest")
def test_a_spoiled_piece_is_cut_again_from_what_is_there(season: Season) -> None:
    first = season.plan(*ON_HAND)
    (mark,) = {row["mark"] for row in first["marks"] if row["address"].endswith("side")}
    rest = season.rest(
        *purchases(first),
        *cut_all(first),
        sent("pieces spoiled", batch="winter", material=BOARD, part=mark, count=1, reason="cut short"),
        sent("stock bought", stock="1x4 pine, 8 ft", count=1),
    )
    assert pieces(rest) == 1
    assert not rest["purchases"], "a board that was bought besides serves"


@pytest.mark.slow("plans")
def test_another_book_or_an_earlier_event_is_refused(season: Season, tmp_path_factory: pytest.TempPathFactory) -> None:
    season.plan(*ON_HAND)
    words = ("plan", season.design, "--rest", "--earlier", season.folder / "first" / "plan.json", "--quick")
    out = ("--out", season.folder / "rest")
    early = run(*words, *out, "--as-of", 2)
    assert early.exit_code == 3
    assert "event 4, which the plan was made from" in early.stderr
    other = BookedShop(tmp_path_factory.mktemp("other"))
    other.enter(*ON_HAND[:3])
    assert "at least 4 events" in run(*words, *out, "--book", other.book).stderr
    other.enter(sent("units finished", **SHIM, count=1))
    assert "other events up to 4" in run(*words, *out, "--book", other.book).stderr
    assert not (season.folder / "rest" / "plan.json").exists()
