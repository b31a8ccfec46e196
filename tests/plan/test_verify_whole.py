"""verify takes a plan file as a whole: nothing in it can be dropped or changed without being found."""

import copy
import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.fuzz.corrupt_plans import plan_file, refused, run, sealed
from tests.nightly import tries
from tests.once import planned_text
from woodshop.errors import InputError
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.verify import batch_findings, digest_of, verify_file

BOARD = "board 3/4 in"
Change = Callable[[dict[str, Any]], Any]


def without(*path: Any) -> Change:
    def change(raw: dict[str, Any]) -> None:
        above: Any = raw
        for key in path[:-1]:
            above = above[key]
        del above[path[-1]]

    return change


def to(value: Any, *path: Any) -> Change:
    def change(raw: dict[str, Any]) -> None:
        above: Any = raw
        for key in path[:-1]:
            above = above[key]
        above[path[-1]] = value(above[path[-1]]) if callable(value) else value

    return change


def more(by: int, *path: Any) -> Change:
    return to(lambda old: old + by, *path)


def where(raw: dict[str, Any], table: str, **wanted: Any) -> Any:
    return next(row for row in raw[table] if all(row.get(key) == value for key, value in wanted.items()))


def no_boards_bought(raw: dict[str, Any]) -> None:
    gone = [row for row in raw["purchases"] if row["group"] == BOARD]
    raw["purchases"] = [row for row in raw["purchases"] if row["group"] != BOARD]
    cents = sum(row["total"] for row in gone)
    raw["total"] -= cents
    raw["to_pay"] -= cents
    raw["bills"][0]["goods"] -= cents
    raw["bills"][0]["total"] -= cents


def no_material(raw: dict[str, Any]) -> None:
    ids = {blank["id"] for blank in raw["plans"][BOARD]["job"]["blanks"]}
    for key in ("plans", "sequences", "at_hand"):
        del raw[key][BOARD]
    raw["marks"] = [row for row in raw["marks"] if row["address"] not in ids]


def no_material_at_all(raw: dict[str, Any]) -> None:
    no_material(raw)
    no_boards_bought(raw)


def cheaper(group: str) -> Change:
    """One fewer of it, with every sum brought into line."""

    def change(raw: dict[str, Any]) -> None:
        row = where(raw, "purchases", group=group)
        row["count"] -= 1
        row["total"] -= row["price"]
        for place, key in ((raw, "total"), (raw, "to_pay"), (raw["bills"][0], "goods"), (raw["bills"][0], "total")):
            place[key] -= row["price"]

    return change


def lower_price(raw: dict[str, Any]) -> None:
    row = where(raw, "purchases", group=BOARD)
    row["price"] -= 1
    row["total"] -= row["count"]
    for place, key in ((raw, "total"), (raw, "to_pay"), (raw["bills"][0], "goods"), (raw["bills"][0], "total")):
        place[key] -= row["count"]


def an_error(raw: dict[str, Any]) -> None:
    raw["findings"].append(raw["findings"][0] | {"severity": "error"})


def one_piece_spare(raw: dict[str, Any]) -> None:
    raw["plans"][BOARD]["layouts"][0]["pieces"][0]["spare"] = True


def two_marks_changed(raw: dict[str, Any]) -> None:
    one, other = raw["marks"][0], raw["marks"][1]
    one["address"], other["address"] = other["address"], one["address"]


def at_hand(raw: dict[str, Any]) -> None:
    """Boards said to be at home, so that they need not be bought."""
    stock = where(raw, "purchases", group=BOARD)["stock"]
    raw["at_hand"][BOARD].append(stock)
    no_boards_bought(raw)


def sugar_for_fewer(raw: dict[str, Any]) -> None:
    goods = where(raw, "goods", goods="sugar")
    goods["for"] = goods["for"][:1]


AIMED: dict[str, Change] = {
    "the plan of the boards removed": without("plans", BOARD),
    "the plan of the boards removed with its marks and cuts": no_material,
    "the plan of the boards removed with all that goes with it": no_material_at_all,
    "every plan removed": to({}, "plans"),
    "no boards on the buy list": lambda raw: to([p for p in raw["purchases"] if p["group"] != BOARD], "purchases")(raw),
    "no boards on the buy list, every sum in line": no_boards_bought,
    "one board fewer, every sum in line": cheaper(BOARD),
    "one roll of mesh fewer, every sum in line": cheaper("mesh 1/2 in"),
    "one bag of sugar fewer, every sum in line": cheaper("sugar"),
    "one box of screws fewer, every sum in line": cheaper("screws"),
    "a lower price, every sum in line": lower_price,
    "boards said to be at hand": at_hand,
    "no buy list": without("purchases"),
    "an empty buy list": to([], "purchases"),
    "a purchase twice": lambda raw: raw["purchases"].append(raw["purchases"][0]),
    "a purchase said to be spare": to(True, "purchases", 0, "spare"),
    "a purchase of other stock": lambda raw: to("1x2_72", "purchases", 0, "stock")(raw),
    "a purchase of no kind": without("purchases", 0, "stock"),
    "no total": without("total"),
    "a total a cent off": more(1, "total"),
    "no sum to pay": without("to_pay"),
    "another sum to pay": more(-1, "to_pay"),
    "no bills": without("bills"),
    "no terms": without("terms"),
    "no marks": without("marks"),
    "a mark fewer": without("marks", 0),
    "a mark twice": lambda raw: to(raw["marks"][1]["mark"], "marks", 0, "mark")(raw),
    "two marks exchanged": two_marks_changed,
    "a mark's count ten times as many": to(lambda n: n * 10, "marks", 0, "count"),
    "no lines": without("lines"),
    "a line fewer": without("lines", 0),
    "a line twice": lambda raw: raw["lines"].append(raw["lines"][0]),
    "a line's count ten times as many": to(lambda n: n * 10, "lines", 0, "count"),
    "a line's count and its words": lambda raw: raw["lines"][0].update(count=1, arithmetic="1 = 1"),
    "a line without parts": to({}, "lines", 0, "parts"),
    "a line with another item's parts": lambda raw: to(raw["lines"][-1]["parts"], "lines", 0, "parts")(raw),
    "a part twice as often in one": lambda raw: raw["lines"][0]["parts"].update(
        {next(iter(raw["lines"][0]["parts"])): 9}
    ),
    "a line bought ready-made that is not": more(1, "lines", 0, "bought"),
    "pieces said to be cut already": lambda raw: raw["cut_already"].update({raw["marks"][0]["address"]: 1}),
    "a part of a job ten times as many": to(lambda n: n * 10, "plans", BOARD, "job", "blanks", 0, "count"),
    "a part's count from 4 to 40 everywhere but in the lines": lambda raw: [
        to(lambda n: n * 10, "marks", 0, "count")(raw),
        to(lambda n: n * 10, "plans", BOARD, "job", "blanks", 0, "count")(raw),
    ],
    "a blank of another size": more(1, "plans", BOARD, "job", "blanks", 0, "length"),
    "a layout removed": without("plans", BOARD, "layouts", 0),
    "a layout once more": more(1, "plans", BOARD, "layouts", 0, "times"),
    "a piece removed": without("plans", BOARD, "layouts", 0, "pieces", 0),
    "a piece said to be spare": one_piece_spare,
    "a piece over another": to(0, "plans", BOARD, "layouts", 0, "pieces", -1, "x"),
    "a plan's cost a cent lower": more(-1, "plans", BOARD, "cost"),
    "a bound a cent higher": more(1, "plans", BOARD, "bound"),
    "a certificate of more": more(100_000, "plans", BOARD, "certificate", "bound"),
    "a bound without its certificate": without("plans", BOARD, "certificate"),
    "no cuts": without("sequences"),
    "no cuts of the boards": without("sequences", BOARD),
    "cuts of a plan that is not there": lambda raw: raw["sequences"].update({"oak": raw["sequences"][BOARD]}),
    "a cut forgotten": without("sequences", BOARD, "stations", -1),
    "a fence set an eighth off": lambda raw: next(
        s for s in raw["sequences"][BOARD]["stations"] if s["set"] != "trim"
    ).update(distance=5),
    "fewer settings than are made": more(-1, "sequences", BOARD, "moves"),
    "an error finding added": an_error,
    "an exit code of 1 without an error": to(1, "exit_code"),
    "an exit code that is true": to(False, "exit_code"),
    "no findings": without("findings"),
    "a finding without a place": without("findings", 0, "place"),
    "a finding of a severity that is none": to("fatal", "findings", 0, "severity"),
    "a default without a source": to("", "defaults", 0, "source"),
    "no defaults": without("defaults"),
    "no goods": without("goods"),
    "goods needed twice": lambda raw: raw["goods"].append(raw["goods"][0]),
    "sugar for fewer hives": sugar_for_fewer,
    "less sugar needed": lambda raw: where(raw, "goods", goods="sugar").update(needed="1"),
    "sugar said to be there": lambda raw: where(raw, "goods", goods="sugar").update(there="-1"),
    "fewer hives": more(-1, "hives", 0, "count"),
    "fewer boards to pack": more(-1, "hives", 0, "boards"),
    "a group of hives removed": without("hives", 0),
    "bags that hold less": lambda raw: where(raw, "purchases", group="sugar").update(holds="1"),
    "goods that are bought said to have no price": lambda raw: raw["unpriced"].append({"what": "glue", "amount": "x"}),
    "no versions of the solvers": to({}, "made_with", "solvers"),
    "an unknown table": lambda raw: raw.update(cargo=[]),
    "a sum of [worth] that is not this plan's": lambda raw: raw["sums"].update(
        {BOARD: {"money": 1, "layouts": 1, "settings": 1, "offcuts": 0, "sum": 1, "planner_says_no_sum_below": 1}}
    ),
    "a day that is none": to("2026-02-30", "on_by"),
}


@pytest.mark.invariant
@pytest.mark.parametrize("name", AIMED)
def test_an_aimed_corruption_is_refused(name: str) -> None:
    """By what follows from the rest of the file, with the digest written anew; and by the digest where it is not."""
    made = copy.deepcopy(plan_file())
    AIMED[name](made)
    assert json.dumps(made) != json.dumps(plan_file())
    assert refused(sealed(made)), name
    assert refused(made), name


@pytest.mark.invariant
def test_the_file_as_written_is_sound_in_any_spelling() -> None:
    """Spaces, the order of keys and escapes are no change; a key that is written twice is refused."""
    raw = plan_file()
    assert not refused(raw)
    text = json.dumps(dict(reversed(list(raw.items()))), indent=4, ensure_ascii=True)
    assert all(not each["findings"] for each in verify_file(text))
    with pytest.raises(InputError, match="the same key twice"):
        verify_file(json.dumps(raw)[:-1] + f', "total": {raw["total"]}}}')
    assert raw["digest"] == digest_of(raw)
    assert set(raw["made_with"]["solvers"]) == {"highspy", "pyscipopt"}


def test_a_sound_file_of_a_design_with_errors_warns() -> None:
    made = copy.deepcopy(plan_file())
    an_error(made)
    made["exit_code"] = 1
    (told,) = (each for each in verify_file(json.dumps(sealed(made))) if "says" in each)
    assert told["findings"] == []
    assert told["says"].endswith("do not cut")


@pytest.mark.invariant
def test_a_digest_alone_that_is_wrong_or_missing_is_found() -> None:
    for digest in (None, "", "0" * 64):
        (told,) = (each for each in verify_file(json.dumps(plan_file() | {"digest": digest})) if "says" in each)
        assert "plan-file-changed" in {finding["code"] for finding in told["findings"]}


@pytest.mark.invariant
def test_random_corruptions_are_refused_but_for_harmless_ones() -> None:
    """As many as CORRUPTIONS says; `python -m tests.fuzz.corrupt_plans COUNT` prints the harmless ones."""
    wrong, _ = run(int(os.environ.get("CORRUPTIONS", tries(500))))
    assert wrong == []


def test_an_item_that_is_only_filled_has_no_parts(tmp_path: Path) -> None:
    text = """format = "woodshop-design/2"
batch = "filled"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
[[hives]]
name = "tens"
frames = 10
width = "16 1/4"
count = 2
gap = "1/4"
[[make]]
item = ["feeding shim", "feeder quilt"]
"""
    raw = json.loads(json.dumps(batch_to_json(planned_text(text, tmp_path))))
    assert [row["parts"] for row in raw["lines"] if row["address"].startswith("feeder quilt")] == [{}]
    assert batch_findings(raw) == ()
