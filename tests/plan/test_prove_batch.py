"""Proof trees of a batch: found, written beside the plan, and checked by verify."""

import json
from dataclasses import replace

import pytest

from tests.once import planned
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.cutting.model.proof import unpacked
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.prove_batch import proof_files, prove_batch
from woodshop.plan.values import MaterialPlan
from woodshop.plan.verify import verify_file


def _solved(made: MaterialPlan) -> MaterialPlan:
    """The plan as if only the solver's search had found nothing cheaper."""
    if made.job.material.name not in ("mesh 1/2 in", "cloth"):
        return made
    return replace(made, plan=replace(made.plan, assurance="solved", bound_kind="solver", certificate=None))


@pytest.mark.slow("plans the hobby batch, if no other test has")
def test_solved_plans_of_the_hobby_batch_are_proved() -> None:
    made = planned("hobby-batch")
    before = replace(made, plans=tuple(_solved(each) for each in made.plans))
    after = prove_batch(before, "quick", lambda _: None, prove=False)
    solved = [each.job.material.name for each in before.plans if each.plan.assurance == "solved"]
    assert solved
    kinds = {each.job.material.name: each.plan.bound_kind for each in after.plans}
    assert {kinds[name] for name in solved} == {"tree"}
    assert all(prove_plan(each.plan) == () for each in after.plans)
    assert [each.plan for each in after.plans if each.job.material.name not in solved] == [
        each.plan for each in before.plans if each.job.material.name not in solved
    ]
    files = proof_files(after)
    assert len(files) == len(solved)
    text = json.dumps(batch_to_json(after))
    told = verify_file(text, read_proof=lambda name: unpacked(files[name]))
    assert all(not each["findings"] for each in told)
    unread = verify_file(text)
    assert {each["name"] for each in unread if each["findings"]} == set(solved)
