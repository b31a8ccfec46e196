"""The cuts by setting: every piece once, with the number of settings, and replayed by verify."""

import json
import random
from collections import Counter
from copy import deepcopy
from itertools import pairwise
from typing import Any

import pytest

from tests.once import planned
from woodshop.cutting.order.job_sequence import STOP, JobSequence, job_sequence
from woodshop.documents.packet.cutting import (
    cutting_chapter,
    first_boards_chapter,
    sequence_of,
    settings_of,
)
from woodshop.documents.packet.layouts import NumberedLayout, groups_of, numbered_layouts, of_times
from woodshop.documents.packet.measure_first import at_mark
from woodshop.drawing.values.model import KeepTogether, Paragraph, Table
from woodshop.plan.first_boards import first_boards
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.values import PlannedBatch
from woodshop.plan.verify import verify_file
from woodshop.units.lengths import inch, millimetre


@pytest.fixture(scope="module")
def hobby() -> PlannedBatch:
    """The hobby batch as planned, quickly."""
    return planned("hobby-batch")


def by_material(planned: PlannedBatch) -> dict[str, tuple[list[NumberedLayout], JobSequence]]:
    found: dict[str, tuple[list[NumberedLayout], JobSequence]] = {}
    for layout in numbered_layouts(planned):
        if layout.material.name not in found:
            own = layout.plan
            found[layout.material.name] = ([], job_sequence(own.job.job, own.plan, thin_rip=STOP))
        found[layout.material.name][0].append(layout)
    return found


@pytest.mark.invariant
def test_every_piece_comes_off_in_one_row(hobby: PlannedBatch) -> None:
    """The counts of all rows together are those of the part table, whatever cuts the material."""
    for layouts, _ in by_material(hobby).values():
        made: Counter[str] = Counter()
        for row in settings_of(layouts, hobby):
            made += row.pieces
        assert made == {need.mark: need.count for need in layouts[0].plan.job.needs}


def test_each_setting_is_a_row_and_no_two_neighbours_are_the_same(hobby: PlannedBatch) -> None:
    layouts, sequence = by_material(hobby)["board 3/4 in"]
    rows = settings_of(layouts, hobby)
    set_rows = [row for row in rows if row.set_to]
    assert len(set_rows) >= len(sequence.stations), "one for each tool that has the setting"
    assert all((a.deed, a.set_to) != (b.deed, b.set_to) for a, b in pairwise(set_rows))
    assert all(row.boards for row in rows)
    assert sum(board.boards for row in rows[:2] for board in row.boards if "Square one end" in row.deed) == 30


@pytest.mark.invariant
def test_first_boards_and_the_rest_are_all_pieces_and_all_boards(hobby: PlannedBatch) -> None:
    """What the first boards give and what the settings of the rest give are the plan's pieces, material by material."""
    for group, of in zip(groups_of(hobby), first_boards(hobby), strict=True):
        first = of.times if of.is_cut_first else (0,) * len(group)
        rest = [lay.times - count for lay, count in zip(group, first, strict=True)]
        made: Counter[str] = Counter()
        for layouts in (of_times(group, first), of_times(group, rest)):
            for row in settings_of(layouts, hobby) if layouts else ():
                made += row.pieces
        assert made == {need.mark: need.count for need in group[0].plan.job.needs}
    assert any(of.is_cut_first for of in first_boards(hobby))


def test_the_page_says_how_often_the_saw_is_set_and_the_least_possible(hobby: PlannedBatch) -> None:
    blocks = cutting_chapter(hobby).blocks
    (words,) = [b.text for b in blocks if isinstance(b, Paragraph) and "fence moves (" in b.text]
    layouts = groups_of(hobby)[0]
    rest = [lay.times - count for lay, count in zip(layouts, first_boards(hobby)[0].times, strict=True)]
    sequence = sequence_of(of_times(layouts, rest), hobby.batch)
    assert sequence.fence_moves > 0
    assert words.startswith(f"Set each size once for all boards. This takes {sequence.moves} settings and fence moves")
    apart = sum(sequence_of([lay], hobby.batch).moves for lay in of_times(layouts, rest))
    assert apart > sequence.moves
    assert f"Going board by board takes {apart}." in words
    assert "the fewest if you square all boards" in words


def test_the_first_boards_are_cut_board_by_board_and_the_page_says_of_how_many(hobby: PlannedBatch) -> None:
    chapter = first_boards_chapter(hobby)
    first, *_ = found = first_boards(hobby)
    boards = sum(of.of for of, each in zip(found, hobby.plans, strict=True) if each.job.material.is_lumber)
    assert isinstance(chapter.blocks[0], Paragraph)
    assert f"Cut these {first.boards} of the {boards} boards first" in chapter.blocks[0].text
    flat = [
        each for block in chapter.blocks for each in (block.blocks if isinstance(block, KeepTogether) else (block,))
    ]
    tables = [block for block in flat if isinstance(block, Table)]
    assert len(tables) == sum(count > 0 for count in first.times)
    materials = {each.job.material.spoken for each in hobby.plans if each.job.material.name != "board 3/4 in"}
    assert all(name in chapter.blocks[0].text for name in materials), "what is cut whole is named"


def test_the_sequence_stands_in_the_plan_file_and_is_replayed(hobby: PlannedBatch) -> None:
    told = json.loads(json.dumps(batch_to_json(hobby)))
    assert set(told["sequences"]) == set(told["plans"])
    assert all(each["findings"] == [] for each in verify_file(json.dumps(told)))


def codes(told: dict[str, Any]) -> set[str]:
    verdicts = verify_file(json.dumps(told))
    return {finding["code"] for each in verdicts if each["name"] != "whole file" for finding in each["findings"]}


def test_a_corrupted_sequence_is_not_sound(hobby: PlannedBatch) -> None:
    """One fault of each kind, each found by the replay or by the look at its shape."""
    good = json.loads(json.dumps(batch_to_json(hobby)))

    def spoilt(change: Any) -> set[str]:
        told = deepcopy(good)
        change(told["sequences"]["board 3/4 in"])
        return codes(told)

    def first(sequence: Any, phase: str) -> Any:
        return next(station for station in sequence["stations"] if station["phase"] == phase)

    assert spoilt(lambda s: s["stations"].pop()) == {"sequence-moves", "sequence-pieces"}
    assert "sequence-boards" in spoilt(lambda s: first(s, "rip")["strokes"][0].update(boards=99))
    assert "sequence-layout" in spoilt(lambda s: first(s, "rip")["strokes"][0].update(layout=99))
    assert "sequence-part" in spoilt(lambda s: first(s, "crosscut")["strokes"][0].update(of="strip 99"))
    assert "sequence-passes" in spoilt(lambda s: first(s, "crosscut")["strokes"][0].update(passes=99))
    assert "sequence-setting" in spoilt(lambda s: first(s, "rip").update(set="stop"))
    assert spoilt(lambda s: first(s, "crosscut").update(distance=first(s, "crosscut")["distance"] - 1))
    assert "sequence-trim" in spoilt(lambda s: first(s, "trim").update(distance=5))
    assert "sequence-order" in spoilt(lambda s: s["stations"].reverse())
    assert "sequence-moves" in spoilt(lambda s: s.update(moves=1))
    assert "sequence-passes" in spoilt(lambda s: first(s, "trim")["strokes"][0].update(passes=2))
    assert spoilt(lambda s: s.update(least=s["least"] - 1)) == {"sequence-moves"}
    assert spoilt(lambda s: s.update(least=s["least"] + 1)) == {"sequence-moves"}
    assert spoilt(lambda s: s.update(planner_least=s["least"] - 1)) == {"sequence-moves"}
    assert spoilt(lambda s: s.update(planner_least=s["moves"] + 1)) == {"sequence-moves"}
    assert spoilt(lambda s: s.update(thin_rip="free side")) == {"sequence-setting"}
    assert spoilt(lambda s: s.update(fence_moves=s["fence_moves"] - 1)) == {"sequence-moves"}
    assert spoilt(lambda s: s.update(thin_rip="sled")) == {"sequence-format"}
    for change in (
        lambda s: s.pop("stations"),
        lambda s: s.update(format="x"),
        lambda s: s.update(stations={}),
        lambda s: s["stations"].append(7),
        lambda s: first(s, "rip").update(distance="8"),
        lambda s: first(s, "rip")["strokes"][0].update(yields=[]),
        lambda s: first(s, "rip")["strokes"][0].pop("of"),
        lambda s: s["named"].append({"phase": "rip", "layout": 99, "of": "board", "name": "x"}),
        lambda s: s["named"].append({"phase": "lunch", "layout": 0, "of": "board", "name": "x"}),
    ):
        assert spoilt(change) == {"sequence-format"}
    gone = deepcopy(good)
    del gone["sequences"]["board 3/4 in"]
    assert codes(gone) == {"sequence-format"}


@pytest.mark.invariant
def test_of_many_corruptions_each_is_found_or_harmless(hobby: PlannedBatch) -> None:
    """A number changed anywhere in the strokes is found unless only waste is, and nothing raises."""
    rng = random.Random(20261126)
    good = json.loads(json.dumps(batch_to_json(hobby)))
    for _ in range(120):
        told = deepcopy(good)
        station = rng.choice(told["sequences"]["board 3/4 in"]["stations"])
        stroke = rng.choice(station["strokes"])
        where, key = rng.choice(((stroke, "layout"), (stroke, "boards"), (stroke, "passes"), (station, "distance")))
        where[key] += rng.choice((-3, -2, 2, 3))  # a pass more than needed touches nothing
        # More or less waste off the end of a strip or a section: the pieces come out where they should all the same.
        is_waste = station["set"] == "trim" and station["phase"] != "trim"
        if not is_waste and (station["phase"], key) != ("section", "distance"):
            assert codes(told), (key, station)


@pytest.mark.invariant
def test_a_setting_is_never_further_from_its_mark_than_half_a_mark() -> None:
    """Between two marks the nearer one is named; a size on the grid of 1/64 in or 1/10 mm is never off by more."""
    mark = inch("1/16")
    for n in range(1, 200):
        length = inch(f"{n}/64")
        text = at_mark(length, mark, "in")
        named, _, word = text.partition(", a hair ")
        off = length - inch(named)
        assert abs(off.mm) <= mark.mm / 2
        assert word == ("" if off.mm == 0 else "less" if off.mm < 0 else "more")
        tenths = millimetre(f"{n}.7")
        assert at_mark(tenths, mark, "mm") == f"{n}.7"
