"""Verifying a written plan: one neutral plan, or the envelope of a whole batch with its cuts in sawing order."""

from typing import Any

from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.cutting.checkers.replay import check_sequence
from woodshop.cutting.model.job import Job, read_job
from woodshop.cutting.model.plan import Plan, read_plan
from woodshop.cutting.model.reading import Reader, parse_json
from woodshop.errors import InputError, Problem
from woodshop.findings import Finding, Severity
from woodshop.plan.verify_batch import batch_findings
from woodshop.plan.verify_bills import bill_findings

_PHASES = ("trim", "section", "rip", "crosscut", "block", "finish")


def verify_file(text: str, job_text: str | None = None) -> list[dict[str, Any]]:
    """What the independent check says of each plan in the file: name, cost, bound, gap, findings.
    In a batch the cuts of each plan are replayed at a simulated saw, and must end with its pieces.

    Raises InputError when the file is neither a plan nor a batch of plans, or its parts contradict each other.
    """
    job = None if job_text is None else read_job(job_text)
    raw = parse_json(text, "plan")
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
        sequences = raw.get("sequences")
        if not isinstance(sequences, dict):
            given = "nothing" if sequences is None else repr(sequences)[:40]
            raise InputError(Problem("plan, sequences", given, "the cuts of each material in order", "Plan again."))
        told = []
        for name, plan in plans.items():
            read = read_plan(plan)
            told.append(_verdict(name, read, None, _sequence_findings(read, sequences.get(name))))
        return [*told, *_choices_told(raw), *_bills_told(raw), _whole_told(raw)]
    return [_verdict("plan", read_plan(text), job)]


def _whole_told(raw: dict[str, Any]) -> dict[str, Any]:
    """The verdict on the file as a whole: lines, parts, plans, purchases, marks, findings and digest agree."""
    found = [finding.to_json() for finding in batch_findings(raw)]
    counted = "lines, parts, marks, plans, goods, purchases, totals, findings and digest agree"
    warned = "; the checks found errors in the design: do not cut" if raw.get("exit_code") == 1 else ""
    return {"name": "whole file", "findings": found, "says": counted + warned}


def _choices_told(raw: dict[str, Any]) -> list[dict[str, Any]]:
    """The verdict on each plan for other yards, on which it rests that no choice of yards costs less."""
    choices = raw.get("choices")
    rows = choices.get("plans") if isinstance(choices, dict) else []
    told = []
    for n, row in enumerate(rows if isinstance(rows, list) else [], 1):
        if not isinstance(row, dict) or "plan" not in row:
            raise InputError(Problem("plan, choices", f"plan number {n}", "a plan with its yards", "Plan again."))
        yards = row.get("yards")
        names = " and ".join(map(str, yards)) if isinstance(yards, list) and yards else "the rack alone"
        told.append(_verdict(f"{row.get('material')} ({names})", read_plan(row["plan"]), None))
    return told


def _bills_told(raw: dict[str, Any]) -> list[dict[str, Any]]:
    """The verdict on the bills, worked out again from the purchases and the terms."""
    paid, choices = raw.get("to_pay"), raw.get("choices")
    bound, rack = paid, 0
    if isinstance(choices, dict) and isinstance(paid, int):
        bound, rack = choices.get("no_choice_below", paid), choices.get("rack", 0)
    gap = paid + rack - bound if isinstance(paid, int) and isinstance(bound, int) and isinstance(rack, int) else None
    findings = [finding.to_json() for finding in bill_findings(raw)]
    told = {"name": "bills", "cost": paid, "bound": bound, "gap": gap}
    return [told | {"assurance": "worked out again", "findings": findings}]


def _verdict(name: str, plan: Plan, job: Job | None, more: tuple[Finding, ...] = ()) -> dict[str, Any]:
    checked = check_plan(plan, job)
    proof = () if checked else prove_plan(plan)  # of sizes that are wrong a proof can take any time
    return {
        "name": name,
        "cost": plan.cost,
        "bound": plan.bound,
        "gap": plan.gap,
        "assurance": plan.assurance,
        "findings": [finding.to_json() for finding in checked + proof + more],
    }


def _sequence_findings(plan: Plan, written: Any) -> tuple[Finding, ...]:
    """What is wrong with the cuts of a plan as written; a plan that is not sound itself is not sawn."""
    if check_plan(plan):
        return ()
    problems = _sequence_shape(written, len(plan.layouts))
    if problems:
        return tuple(
            Finding("sequence-format", Severity.ERROR, p.where, p.given, p.wanted, "the plan's format", "Plan again.")
            for p in problems
        )
    return check_sequence(plan.job, plan, written)


def _sequence_shape(written: Any, layouts: int) -> list[Problem]:
    """What keeps a written sequence from being replayed: keys, kinds of value, layouts that are not there."""
    reader = Reader()
    keys = ("format", "thin_rip", "fence_moves", "moves", "least", "planner_least", "stations", "named")
    top = reader.table(written, "sequence", keys, ())
    if reader.problems:
        return reader.problems
    reader.word(top, "thin_rip", "sequence", ("free side", "stop"))
    for key in ("fence_moves", "moves", "least", "planner_least"):
        reader.integer(top, key, "sequence", 0)
    for n, row in enumerate(reader.rows(top, "stations", "sequence")):
        place = f"sequence.stations[{n}]"
        station = reader.table(row, place, ("phase", "along", "set", "distance", "stacked", "strokes"), ())
        reader.word(station, "phase", place, _PHASES)
        reader.word(station, "set", place, ("fence", "remaining", "strip", "stop", "trim"))
        reader.integer(station, "distance", place, 0)
        for flag in ("along", "stacked"):
            reader.flag(station, flag, place)
        for m, stroke in enumerate(reader.rows(station, "strokes", place)):
            _stroke_shape(reader, stroke, f"{place}.strokes[{m}]")
    for n, row in enumerate(reader.rows(top, "named", "sequence")):
        place = f"sequence.named[{n}]"
        naming = reader.table(row, place, ("phase", "layout", "of", "name"), ())
        reader.word(naming, "phase", place, _PHASES)
        reader.whole(naming.get("layout", 0), f"{place}.layout", 0, max(0, layouts - 1))
        for key in ("of", "name"):
            reader.word(naming, key, place)
    return reader.problems


def _stroke_shape(reader: Reader, value: Any, place: str) -> None:
    stroke = reader.table(value, place, ("layout", "boards", "of", "passes", "yields"), ())
    for key in ("layout", "boards", "passes"):
        reader.integer(stroke, key, place, 0)
    reader.word(stroke, "of", place)
    names = reader.rows(stroke, "yields", place)
    if not names or not all(isinstance(name, str) for name in names):
        reader.problem(f"{place}.yields", repr(names)[:60], "names, one or more", "Plan again.")
