"""The files of a result: the same on one core as on many, and a refusal comes through as it is."""

import json
import os
import threading
from collections.abc import Callable
from dataclasses import replace

import pytest

from tests.nightly import IS_NIGHT
from woodshop.design.settings.labels import LabelSettings
from woodshop.documents.result import result_files
from woodshop.drawing.pages.plates import label_grid
from woodshop.errors import InputError
from woodshop.plan.plan_batch import plan_batch
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import inch

SMALL = """format = "woodshop-design/2"
batch = "small"
title = "Small"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
[[hives]]
name = "tens"
frames = 10
count = 2
gap = ["1/4"]
[[make]]
item = ["fondant rim", "wire bottom"]
"""


@pytest.fixture(scope="module")
def small(uncut_text: Callable[[str], PlannedBatch]) -> PlannedBatch:
    """Two boards, planned for a first look."""
    made = uncut_text(SMALL)
    return plan_batch(made.batch, made.units, made.report, progress=lambda _: None, effort="quick")


@pytest.fixture(scope="module")
def many(small: PlannedBatch) -> dict[str, bytes]:
    """All files of it, made on two cores."""
    with pytest.MonkeyPatch.context() as two:
        two.setattr(os, "cpu_count", lambda: 2)
        return _files(small)


def _files(planned: PlannedBatch) -> dict[str, bytes]:
    said: list[str] = []
    files = result_files(planned, said.append)
    assert said
    return files


@pytest.mark.slow("makes all files of a result more than once")
@pytest.mark.invariant
def test_one_core_two_cores_and_no_fork_give_the_same_bytes(
    small: PlannedBatch, many: dict[str, bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Also where other threads run, for then no process may be split off."""
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    assert {"packet.pdf", "plan.json", "workbook.xlsx", "templates.pdf", "labels.pdf"} <= many.keys()
    assert json.loads(many["plan.json"])
    if IS_NIGHT:
        with monkeypatch.context() as one:
            one.setattr(os, "cpu_count", lambda: 1)
            assert _files(small) == many
    with monkeypatch.context() as bare:
        bare.delattr(os, "fork")
        assert _files(small) == many
    if not IS_NIGHT:  # by day tests/test_workers.py alone has other threads
        return
    done = threading.Event()
    other = threading.Thread(target=done.wait)
    other.start()
    try:
        assert _files(small) == many
    finally:
        done.set()
        other.join()


@pytest.mark.parametrize("cores", [1, 2])
def test_a_refusal_comes_through_from_another_process(
    small: PlannedBatch, monkeypatch: pytest.MonkeyPatch, cores: int
) -> None:
    """With all its problems, not as some error of the pool."""
    monkeypatch.setattr(os, "cpu_count", lambda: cores)
    grid = label_grid("letter", width=inch("1/2"), height=inch("1/4"))
    tight = replace(
        small, batch=replace(small.batch, pages=replace(small.batch.pages, labels=LabelSettings(grid=grid)))
    )
    with pytest.raises(InputError) as refused:
        _files(tight)
    assert all("label" in problem.where for problem in refused.value.problems)
    assert len(refused.value.problems) > 1


@pytest.mark.slow("makes all files of a result")
def test_items_that_cannot_be_sent_to_a_process_are_no_hindrance(
    small: PlannedBatch, many: dict[str, bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    """A package from outside may hold its item in any function."""
    monkeypatch.setattr(os, "cpu_count", lambda: 2)

    def swapped(planned: PlannedBatch) -> PlannedBatch:
        units = tuple(
            replace(
                u,
                line=replace(
                    u.line, item=replace(u.line.item, make=lambda *_given, **_named: planned.units[0].assembly)
                ),
            )
            for u in planned.units
        )
        return replace(planned, units=units)

    assert _files(swapped(small)).keys() == many.keys()
