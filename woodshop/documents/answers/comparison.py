"""A comparison told: a table to read, and plain values for machines."""

from collections.abc import Iterator, Sequence
from typing import Any

from woodshop.trade.compare import Outcome
from woodshop.trade.vary import Case, changed_by

AS_IT_STANDS = "as it stands"


def name_of(case: Case) -> str:
    """A case in words: what it has otherwise."""
    return ", ".join(f"{key} = {value}" for key, value in case) or AS_IT_STANDS


def comparison_lines(outcomes: Sequence[Outcome]) -> Iterator[str]:
    """One line a case: what it pays, the difference to the design as it stands, proof, layouts, boards, findings."""
    base = outcomes[0].pays
    wide = max(len(name_of(each.case)) for each in outcomes)
    yield f"{'':{wide}} {'to pay':>12} {'difference':>12} {'':>8} {'proof':16} {'layouts':>7} {'boards':>6}  findings"
    cheapest = min((each for each in outcomes if each.pays), key=lambda each: each.pays.minor if each.pays else 0)
    for each in outcomes:
        name = f"{name_of(each.case):{wide}}"
        if each.pays is None or base is None:
            yield f"{name} cannot be made: {each.refused}"
            continue
        more, part = (
            ("", "") if not each.case else (_signed(each, outcomes[0]), changed_by(each.pays.minor, base.minor))
        )
        line = f"{name} {each.pays!s:>12} {more:>12} {part:>8} {proof_of(each):16} {each.layouts:>7} {each.boards:>6}"
        yield f"{line}  {findings_of(each)}"
    if len(outcomes) > 1:
        yield ""
        yield f"Cheapest of these: {name_of(cheapest.case)}, {cheapest.pays}."
        close = [each for each in outcomes if _may_be_cheaper(each, cheapest)]
        if close:
            names = "; ".join(name_of(each.case) for each in close)
            yield f"Not told apart for certain, as their plans are not proved the cheapest: {names}."


def _may_be_cheaper(each: Outcome, cheapest: Outcome) -> bool:
    if each is cheapest or each.least is None or cheapest.pays is None:
        return False
    if (each.pays, each.least) == (cheapest.pays, cheapest.least):
        return False  # the same plan
    return each.least.minor < cheapest.pays.minor


def _signed(each: Outcome, base: Outcome) -> str:
    if each.pays is None or base.pays is None:
        return ""
    more = each.pays - base.pays
    return f"+{more}" if more.minor > 0 else str(more)


def proof_of(each: Outcome) -> str:
    """How near what is paid is to the least possible."""
    if each.pays is None or each.least is None:
        return ""
    gap = each.pays - each.least
    return "cannot be less" if not gap.minor else f"within {gap}"


def findings_of(each: Outcome) -> str:
    """What the checks say of it, notes left out."""
    words = [
        f"{n} {word}{'s' if n > 1 else ''}" for n, word in ((each.errors, "error"), (each.warnings, "warning")) if n
    ]
    return f"{', '.join(words)}: {', '.join(each.codes)}" if words else "none but notes"


def comparison_told(outcomes: Sequence[Outcome]) -> dict[str, Any]:
    """Plain values; money in cents."""
    return {
        "cases": [
            {
                "case": dict(each.case),
                "refused": each.refused,
                "to_pay": None if each.pays is None else each.pays.minor,
                "no_plan_below": None if each.least is None else each.least.minor,
                "difference": _difference(each, outcomes[0]),
                "layouts": each.layouts,
                "boards": each.boards,
                "errors": each.errors,
                "warnings": each.warnings,
                "findings": list(each.codes),
                "yards": list(each.yards),
            }
            for each in outcomes
        ],
        "currency": next((each.pays.currency for each in outcomes if each.pays), ""),
    }


def _difference(each: Outcome, base: Outcome) -> int | None:
    return None if each.pays is None or base.pays is None else each.pays.minor - base.pays.minor
