"""What happened since a plan: sheets of it read, and every conflict with the plan reported."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.plan.rest.small_run import SmallRun
from woodshop.errors import InputError
from woodshop.plan.plan_batch import sealed
from woodshop.plan.rest.earlier_plan import read_earlier
from woodshop.plan.rest.progress import (
    BoardFault,
    BoughtCount,
    LayoutCut,
    OffcutOnHand,
    PieceCount,
    Progress,
    work_of,
)
from woodshop.plan.rest.reading import read_counts, read_progress
from woodshop.units.lengths import ZERO, inch


def refused(read: Callable[[], object]) -> str:
    with pytest.raises(InputError) as caught:
        read()
    return "\n".join(str(problem) for problem in caught.value.problems)


def test_every_event_is_read(tmp_path: Path) -> None:
    sheet = tmp_path / "progress.csv"
    sheet.write_text(
        "What happened\nevent,name,count,layout,length,width,from,to,reason\n"
        "cut,Layout 3,2,,,,,,\nCut,,1,4,,,,,\nspoiled,B,1,,,,,,split\nlost,quilt box / x / end,2,,,,,,\n"
        "found,C,1,,,,,,\nmade extra,C,3,,,,,,\nunusable,,,7,,,,,twisted\n"
        'shorter,"1x6, 8 ft",2,,90 1/2,,,,\nbad stretch,1x6,1,,,,12,14 1/4,knot\n'
        'offcut,board 3/4 in,2,,30,5 1/2,,,R9\nbought,"1x6, 8 ft",4,,,,,,\n'
    )
    assert read_progress(sheet, "in") == Progress(
        cut=(LayoutCut(3, 2), LayoutCut(4, 1)),
        pieces=(
            PieceCount("B", "spoiled", 1, "split"),
            PieceCount("quilt box / x / end", "lost", 2),
            PieceCount("C", "found", 1),
            PieceCount("C", "made extra", 3),
        ),
        boards=(
            BoardFault(layout=7, reason="twisted"),
            BoardFault(stock="1x6, 8 ft", count=2, length=inch("90 1/2")),
            BoardFault(stock="1x6", bad=((inch(12), inch("14 1/4")),), reason="knot"),
        ),
        offcuts=(OffcutOnHand(material="board 3/4 in", length=inch(30), width=inch("5 1/2"), count=2, label="R9"),),
        bought=(BoughtCount("1x6, 8 ft", 4),),
    )


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("sawn,1,1,,,,,,", "A2: given 'sawn'; wanted what happened"),
        (",1,1,,,,,,", "given nothing; wanted what happened"),
        ("cut,two,1,,,,,,", "B2: given 'two'; wanted the number of a layout"),
        ("cut,2,,,,,,,", "given nothing; wanted a whole number, 0 to"),
        ("cut,2,1.5,,,,,,", "C2: given '1.5'; wanted a whole number"),
        ("spoiled,,1,,,,,,", "given nothing; wanted a part's mark or full name"),
        ("bought,,1,,,,,,", "given nothing; wanted a line of the buy list"),
        ("shorter,1x6,1,,,,,,", "given shorter without 'length'"),
        ("shorter,1x6,1,,long,,,,", "E2: given 'long'; wanted a length such as"),
        ("bad stretch,1x6,1,,,,3,,", "given bad stretch without 'to'"),
        ("unusable,1x6,1,,90,,,,", "given unusable with 'length'"),
        ("unusable,1x6,0,,,,,,", "given '0'; wanted a whole number, 1 to"),
        ("offcut,cloth,1,,20,,,,", "given an offcut without its size"),
    ],
)
def test_a_row_that_says_too_little_or_too_much_is_refused(tmp_path: Path, row: str, said: str) -> None:
    sheet = tmp_path / "progress.csv"
    sheet.write_text(f"event,name,count,layout,length,width,from,to,reason\n{row}\n")
    assert said in refused(lambda: read_progress(sheet, "in"))


def test_counts_are_read_and_their_faults_told_by_cell(small_run: SmallRun, tmp_path: Path) -> None:
    sheet = tmp_path / "counts.csv"
    sheet.write_text("Hives;Was;Now\ntens;8;5\neights;;0\n")
    assert read_counts(small_run.design, sheet) == {"tens": 5, "eights": 0}
    sheet.write_text("hives,was,count\ntens,9,5\neigths,,2\ntens,,x\neights,,1\neights,,1\n")
    said = refused(lambda: read_counts(small_run.design, sheet))
    assert "counts.csv, cell B2: given 9; wanted 8, as in the design" in said
    assert "counts.csv, cell A3: given 'eigths'; wanted the name of hives of the design. Did you mean 'eights'?" in said
    assert "counts.csv, cell C4: given 'x'; wanted a whole number, 0 to" in said
    assert "counts.csv, cell A6: given 'eights' again" in said


def test_parts_are_known_by_mark_and_by_address(small_run: SmallRun) -> None:
    mark, address = next(iter(small_run.earlier.marks.items()))
    every = tuple(
        LayoutCut(number, small_run.earlier.plans[m].layouts[n].times)
        for number, (m, n) in small_run.earlier.layouts.items()
    )
    pieces = (PieceCount(mark.lower(), "spoiled", 1), PieceCount(address, "spoiled", 2))
    work = work_of(Progress(cut=every, pieces=pieces), small_run.earlier)
    assert list(work.changes.values()) == [3]


@pytest.mark.parametrize(
    ("progress", "said"),
    [
        (Progress(plan="0" * 64), "given progress of another plan (000000000000)"),
        (Progress(cut=(LayoutCut(999, 1),)), "given 999; wanted the number of a layout, 1 to"),
        (Progress(cut=(LayoutCut(1, 999),)), "given cut 999 times; wanted 0 to"),
        (Progress(cut=(LayoutCut(1, -1),)), "given cut -1 times; wanted 0 to"),
        (Progress(cut=(LayoutCut(1, 0), LayoutCut(1, 1))), "given the layout again; wanted each layout once"),
        (Progress(cut=(LayoutCut(1, 1, "cloth"),)), "given cloth; wanted board 3/4 in"),
        (Progress(pieces=(PieceCount("ZZ", "lost", 1),)), "given an unknown part; wanted a part's mark or full name"),
        (Progress(pieces=(PieceCount("A", "lost", 1),)), "given 1 of fondant rim"),
        (Progress(pieces=(PieceCount("A", "lost", -1),)), "given -1 lost; wanted a whole number"),
        (Progress(boards=(BoardFault(stock="1x7"),)), "given an unknown board; wanted a board of the buy list"),
        (Progress(boards=(BoardFault(),)), "given neither a name nor a layout"),
        (Progress(boards=(BoardFault(layout=99),)), "given 99; wanted the number of a layout"),
        (Progress(boards=(BoardFault(layout=1, count=99),)), "given 99 boards set out for layout 1; wanted at most"),
        (Progress(boards=(BoardFault(layout=1, count=0),)), "given 0 boards; wanted a whole number, 1 or more"),
        (Progress(boards=(BoardFault(layout=1, length=ZERO),)), "given a true length of 0 in; wanted more than 0"),
        (Progress(boards=(BoardFault(layout=1, length=inch(999)),)), "given a true length of 999 in"),
        (Progress(boards=(BoardFault(layout=1, bad=((inch(5), inch(2)),)),)), "given a bad stretch from 5 in to 2 in"),
        (Progress(bought=(BoughtCount("bricks", 1),)), "given an unknown line; wanted a line of the earlier buy list"),
        (Progress(bought=(), cut=(LayoutCut(1, 1),)), "cut and 0 not as bought; wanted at most 0 in all"),
        (
            Progress(offcuts=(OffcutOnHand(material="oak", length=inch(9), width=inch(1)),)),
            "given 'oak'; wanted a material of the earlier plan",
        ),
        (
            Progress(offcuts=(OffcutOnHand(material="board 3/4 in", length=inch(9), width=ZERO),)),
            "wanted a width and a length above 0",
        ),
    ],
)
def test_a_progress_that_contradicts_the_plan_is_refused(small_run: SmallRun, progress: Progress, said: str) -> None:
    assert said in refused(lambda: work_of(progress, small_run.earlier))


def test_every_problem_is_reported_at_once(small_run: SmallRun) -> None:
    progress = Progress(
        cut=(LayoutCut(999, 1),), pieces=(PieceCount("ZZ", "lost", 1),), boards=(BoardFault(stock="1x7"),)
    )
    assert len(refused(lambda: work_of(progress, small_run.earlier)).splitlines()) == 3


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda raw: raw | {"format": "x"}, "woodshop-batch/2"),
        (lambda raw: raw | {"format": "woodshop-batch/1"}, "the format before"),
        (lambda raw: {key: value for key, value in raw.items() if key != "marks"}, "an incomplete plan"),
        (lambda raw: raw | {"batch": "other"}, "a plan of 'other'"),
        (lambda raw: raw | {"currency": "EUR"}, "a plan in EUR"),
        (lambda raw: raw | {"layout_numbers": {name: [1, 1] for name in raw["plans"]}}, "an incomplete plan"),
        (
            lambda raw: raw | {"purchases": [raw["purchases"][0] | {"group": "ready-made mouse guard"}]},
            "bought ready-made",
        ),
    ],
)
def test_another_plan_is_refused(small_run: SmallRun, change: Any, said: str) -> None:
    raw = change(json.loads(small_run.text))
    raw.pop("digest")
    text = json.dumps(sealed(raw))
    assert said in refused(lambda: small_run.rest(Progress(), read_earlier(text, "plan.json")))


def test_a_plan_that_fails_its_check_or_was_changed_is_refused(small_run: SmallRun) -> None:
    raw = json.loads(small_run.text)
    raw["total"] += 1
    assert "does not agree with its digest" in refused(lambda: read_earlier(json.dumps(raw), "plan.json"))
    plan = next(iter(raw["plans"].values()))
    plan["layouts"][0]["pieces"][0]["x"] += 10_000
    assert "does not pass its check" in refused(lambda: read_earlier(json.dumps(raw), "plan.json"))
