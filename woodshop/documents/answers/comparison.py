"""A comparison: what a batch costs under each change, beside the design as it stands."""

from collections.abc import Iterator, Sequence

from woodshop.drawing.values.model import Align, Block, Cell, Column, Paragraph, Section, Table
from woodshop.trade.compare import Case, Outcome, changed_by

AS_IT_STANDS = "as it stands"


def name_of(case: Case) -> str:
    """A case in words: what it has otherwise."""
    return ", ".join(f"{key} = {value}" for key, value in case) or AS_IT_STANDS


def comparison_section(outcomes: Sequence[Outcome]) -> Section:
    """A row for each case: what it pays, the difference, proof, layouts, boards, findings; then the cheapest."""
    base = outcomes[0]
    right = (Column(head, Align.RIGHT) for head in ("to pay", "difference", ""))
    counts = (Column(head, Align.RIGHT) for head in ("layouts", "boards"))
    columns = (Column(""), *right, Column("proof"), *counts, Column("findings"))
    cases = [
        {
            "case": dict(each.case),
            "refused": each.refused,
            "to_pay": each.pays,
            "no_plan_below": each.least,
            "difference": None if each.pays is None or base.pays is None else each.pays - base.pays,
            "layouts": each.layouts,
            "boards": each.boards,
            "errors": each.errors,
            "warnings": each.warnings,
            "findings": each.codes,
            "yards": each.yards,
        }
        for each in outcomes
    ]
    table = Table(columns, tuple(_row(each, base) for each in outcomes))
    currency = next((each.pays.currency for each in outcomes if each.pays), "")
    return Section("", (table, *_cheapest(outcomes)), {"cases": cases, "currency": currency})


def _row(each: Outcome, base: Outcome) -> tuple[Cell, ...]:
    if each.pays is None or base.pays is None:
        return name_of(each.case), *[""] * 6, f"cannot be made: {each.refused}"
    more = each.pays - base.pays
    part = changed_by(each.pays.minor, base.pays.minor)
    change = (f"{'+' if more.minor > 0 else ''}{more}", part) if each.case else ("", "")
    return name_of(each.case), each.pays, *change, proof_of(each), each.layouts, each.boards, findings_of(each)


def _cheapest(outcomes: Sequence[Outcome]) -> Iterator[Block]:
    if len(outcomes) < 2:
        return
    cheapest = min((each for each in outcomes if each.pays), key=lambda each: each.pays.minor if each.pays else 0)
    yield Paragraph(f"Cheapest of these: {name_of(cheapest.case)}, {cheapest.pays}.")
    if close := [name_of(each.case) for each in outcomes if _may_be_cheaper(each, cheapest)]:
        yield Paragraph(f"Not told apart for certain, as their plans are not proved the cheapest: {'; '.join(close)}.")


def _may_be_cheaper(each: Outcome, cheapest: Outcome) -> bool:
    if each is cheapest or each.least is None or cheapest.pays is None:
        return False
    if (each.pays, each.least) == (cheapest.pays, cheapest.least):
        return False  # the same plan
    return each.least.minor < cheapest.pays.minor


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
