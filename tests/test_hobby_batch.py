"""The hobby batch, once through: planned, verified, spoilt, conserved."""

import json
import random
from collections import Counter
from dataclasses import replace
from fractions import Fraction

import pytest

from tests.cutting.judge import judge, spoil
from tests.once import planned
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.model.plan import Plan
from woodshop.documents.packet.layouts import numbered_layouts
from woodshop.findings import Severity
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.values import PlannedBatch
from woodshop.plan.verify import verify_file
from woodshop.shape.part import Role, counted
from woodshop.units.lengths import Length, inch


@pytest.fixture(scope="module")
def hobby() -> PlannedBatch:
    """The hobby batch as planned."""
    return planned("hobby-batch", "default")


def test_it_is_clean(hobby: PlannedBatch) -> None:
    """Nothing worse than a note: the scenario is one that can be built."""
    assert {finding.severity for finding in hobby.report.findings} == {Severity.NOTE}


def test_every_plan_is_sound_and_the_judge_agrees(hobby: PlannedBatch) -> None:
    told = verify_file(json.dumps(batch_to_json(hobby)))
    assert {each["name"] for each in told} == {each.job.material.name for each in hobby.plans} | {"bills", "whole file"}
    assert all(each["findings"] == [] for each in told)
    assert all(judge(each.plan) for each in hobby.plans)


@pytest.mark.invariant
def test_of_200_corruptions_each_that_the_judge_calls_invalid_is_rejected(hobby: PlannedBatch) -> None:
    rng = random.Random(20261126)
    spoilt = 0
    plans: list[Plan] = [each.plan for each in hobby.plans]
    for _ in range(200):
        made = rng.choice(plans)
        bad = spoil(made, rng)
        if not judge(bad):
            spoilt += 1
            assert check_plan(bad) != (), bad
    assert spoilt > 120


@pytest.mark.invariant
def test_every_digest_mismatch_is_rejected(hobby: PlannedBatch) -> None:
    for each in hobby.plans:
        plan = each.plan
        for place in range(0, 64, 7):
            other = "0" if plan.job_digest[place] != "0" else "1"
            bad = replace(plan, job_digest=plan.job_digest[:place] + other + plan.job_digest[place + 1 :])
            assert [finding.code for finding in check_plan(bad)] == ["plan-digest"]


@pytest.mark.invariant
def test_every_part_is_a_piece_and_every_piece_a_part(hobby: PlannedBatch) -> None:
    """Conservation, counted from the assemblies and from the layouts, by material."""
    wanted: Counter[str] = Counter()
    for unit in hobby.units:
        for part, count in counted(unit.assembly.with_role(Role.MADE)):
            wanted[part.material] += count * unit.line.count
    laid: Counter[str] = Counter()
    for layout in numbered_layouts(hobby):
        laid[layout.material] += layout.times * sum(not piece.spare for piece in layout.pieces)
    assert laid == wanted


@pytest.mark.invariant
def test_costs_add_up_to_the_total(hobby: PlannedBatch) -> None:
    assert sum(cost.total.minor for cost in hobby.costs) == hobby.total.minor
    assert hobby.total.minor == sum(p.price.minor * p.count for p in hobby.purchases)


def test_no_board_becomes_strips_only(hobby: PlannedBatch) -> None:
    """After the narrow rips two inches of every board stay in the hand: common practice, no source."""
    for layout in numbered_layouts(hobby):
        if layout.is_sawn:
            narrow = {(p.y, p.width) for p in layout.pieces if p.width < inch("3/4")}
            taken = sum((width.mm for _, width in narrow), start=Fraction(0))
            sold_as_strip = layout.width < inch("3/4")
            assert sold_as_strip or not narrow or layout.width - Length(taken) >= inch(2)
