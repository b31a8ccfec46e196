"""Proof trees for the plans of a batch, and their files in the folder of the batch."""

from collections.abc import Callable
from dataclasses import replace

from woodshop.cutting.model.plan import Effort, Plan
from woodshop.cutting.model.proof import packed
from woodshop.cutting.planner.proof_tree import PROVE_NODES, TREE_NODES, proved_by_tree
from woodshop.plan.values import MaterialPlan, PlannedBatch
from woodshop.workers import over_cores, steps_left


def prove_batch(planned: PlannedBatch, effort: Effort, say: Callable[[str], None], *, prove: bool) -> PlannedBatch:
    """The batch with a proof tree for each solved plan for which one is found within the effort.

    With `prove`, the search goes on much longer, and plans that are not solved are tried too.
    """
    nodes = PROVE_NODES if prove else TREE_NODES[effort]
    open_ones = [n for n, each in enumerate(planned.plans) if each.plan.gap or each.plan.bound_kind == "solver"]
    if not nodes or not open_ones:
        return planned
    names = [planned.plans[n].job.material.spoken for n in open_ones]
    ended = steps_left("proving that no plan is cheaper", names, say)
    tried = over_cores(_proved, [(planned.plans[n].plan, nodes, prove) for n in open_ones], ended=ended)
    plans = list(planned.plans)
    for n, plan in zip(open_ones, tried, strict=True):
        plans[n] = _named(plans[n], plan, n)
    return replace(planned, plans=tuple(plans))


def _proved(plan: Plan, nodes: int, prove: bool) -> Plan:
    return proved_by_tree(plan, nodes, lambda _: None, is_open=prove)


def _named(each: MaterialPlan, plan: Plan, number: int) -> MaterialPlan:
    if plan.proof is None:
        return each
    return replace(each, plan=replace(plan, proof=replace(plan.proof, file=f"proof/plan-{number + 1}.json.gz")))


def proof_files(planned: PlannedBatch) -> dict[str, bytes]:
    """The proofs of the batch's plans: name from the folder of the batch, and bytes."""
    proofs = [each.plan.proof for each in planned.plans]
    return {proof.file: packed(proof.text) for proof in proofs if proof is not None and proof.text}
