"""Verifying a written plan: one neutral plan, or the envelope of a whole batch."""

import json
from typing import Any

from woodshop.cutting.check import check_plan
from woodshop.cutting.job import Job, read_job
from woodshop.cutting.plan import Plan, read_plan
from woodshop.cutting.prove import prove_plan
from woodshop.errors import InputError, Problem


def verify_file(text: str, job_text: str | None = None) -> list[dict[str, Any]]:
    """What the independent check says of each plan in the file: name, cost, bound, gap, findings.

    Raises InputError when the file is neither a plan nor a batch of plans, or its parts contradict each other.
    """
    job = None if job_text is None else read_job(job_text)
    try:
        raw = json.loads(text)
    except (ValueError, RecursionError) as why:
        raise InputError(Problem("plan", f"text that is no JSON ({why})", "a plan file", "Plan again.")) from None
    if isinstance(raw, dict) and raw.get("format") == "woodshop-batch/1":
        plans = raw.get("plans")
        if not isinstance(plans, dict) or not plans:
            raise InputError(Problem("plan, plans", repr(plans)[:40], "one plan for each material", "Plan again."))
        if job is not None:
            raise InputError(
                Problem(
                    "--job", "one job for a batch of plans", "a single plan file", "Leave out --job, or take one plan."
                )
            )
        return [_verdict(name, read_plan(plan), None) for name, plan in plans.items()]
    return [_verdict("plan", read_plan(text), job)]


def _verdict(name: str, plan: Plan, job: Job | None) -> dict[str, Any]:
    return {
        "name": name,
        "cost": plan.cost,
        "bound": plan.bound,
        "gap": plan.gap,
        "assurance": plan.assurance,
        "findings": [finding.to_json() for finding in check_plan(plan, job) + prove_plan(plan)],
    }
