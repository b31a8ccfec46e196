"""A plan read back from its file: the same values as were planned, or one refusal that says what the design changed."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.once import DESIGNS, bought, planned, planned_text, uncut, written
from woodshop.documents.packet.packet import packet
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.errors import InputError
from woodshop.plan.plan_batch import batch_to_json, sealed
from woodshop.plan.values import PlannedBatch
from woodshop.plan.written_plan import read_planned
from woodshop.units.lengths import lengths_in

SMALL = """format = "woodshop-design/2"
batch = "small"
title = "Small"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
on_by = 2026-11-20
[saw]
rip_kerf = "1/8"
[worth]
layout = "1.00"
setting = "0.25"
[[hives]]
name = "tens"
frames = 10
count = 2
gap = ["1/4"]
sugar = "5 lb"
[[make]]
item = ["fondant rim", "wire bottom"]
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("designs")


@pytest.fixture(scope="module")
def read(folder: Path) -> Callable[[str], PlannedBatch]:
    """A function that reads the plan of the small design back for a design with this text."""
    text = json.dumps(batch_to_json(planned_text(SMALL, folder)))

    def back(design: str) -> PlannedBatch:
        own = uncut(written(design, folder))
        return read_planned(text, "plan.json", own.batch, own.units, own.report)

    return back


@pytest.mark.invariant
@pytest.mark.slow("plans the demo designs that no other test has planned")
@pytest.mark.parametrize(
    ("name", "plan"), [("hobby-batch", planned), ("two-lumberyards", bought), ("order-run", bought)]
)
def test_a_plan_read_back_is_the_plan(name: str, plan: Callable[[str], PlannedBatch]) -> None:
    """Whether all lumberyards are one, some are chosen with guards ready-made, or orders are planned."""
    made, own = plan(name), uncut(DESIGNS / f"{name}.toml")
    back = read_planned(json.dumps(batch_to_json(made)), "plan.json", own.batch, own.units, own.report)
    assert back == made
    assert batch_to_json(back) == batch_to_json(made)


@pytest.mark.invariant
def test_the_packet_of_a_plan_read_back_is_the_same_to_the_byte(
    folder: Path, read: Callable[[str], PlannedBatch]
) -> None:
    made = planned_text(SMALL, folder)
    assert all(each.sums is not None for each in made.plans if each.job.material.is_sawn)
    with lengths_in("in"):
        assert write_pdf(packet(read(SMALL)), "letter") == write_pdf(packet(made), "letter")


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        ("count = 2", "count = 3", "for tens: 2 planned, 3 wanted"),
        ('sugar = "5 lb"', 'sugar = "6 lb"', "another amount of sugar"),
        ('rip_kerf = "1/8"', 'rip_kerf = "9/64"', "board 3/4 in: another kerf"),
        ('setting = "0.25"', 'setting = "0.50"', "board 3/4 in: another value of work or offcuts"),
        ('"wire bottom"]', '"wire bottom", "mouse guard"]', "mouse guard / "),
        ("creekside-lumberyard", "harbor-lumberyard", "other boards, sheets or prices"),
        ('batch = "small"', 'batch = "other"', "a plan of 'small'; wanted one of 'other'"),
    ],
)
def test_a_design_that_has_changed_is_refused_and_says_what(
    read: Callable[[str], PlannedBatch], before: str, after: str, said: str
) -> None:
    with pytest.raises(InputError) as caught:
        read(SMALL.replace(before, after))
    (problem,) = caught.value.problems
    assert said in str(problem)
    assert "plan.json" in str(problem)


def test_another_due_date_is_no_other_plan(read: Callable[[str], PlannedBatch]) -> None:
    """A day changes no piece: the plan is as it was, with the new day."""
    later = read(SMALL.replace("2026-11-20", "2026-11-27"))
    assert [str(each.due) for each in later.batch.hives] == ["2026-11-27"]
    assert later.plans == read(SMALL).plans


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"rest_of": {"digest": ""}}, "the rest of an earlier plan"),
        ({"digest": "0"}, "does not agree with its digest"),
        ({"sums": None}, "an incomplete plan"),
    ],
)
def test_a_file_that_cannot_be_read_back_is_refused(folder: Path, change: dict[str, object], said: str) -> None:
    raw = batch_to_json(planned_text(SMALL, folder)) | change
    text = json.dumps(raw if "digest" in change else sealed({k: v for k, v in raw.items() if k != "digest"}))
    own = uncut(written(SMALL, folder))
    with pytest.raises(InputError, match=said):
        read_planned(text, "plan.json", own.batch, own.units, own.report)
