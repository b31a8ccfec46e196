"""Compares the cost of a batch as designed with its cost after each change, in a table and in a picture.

In the picture, a bar shows a difference in cost. Its white part shows by how much the plan may exceed the cheapest
possible plan. A dashed line marks the cost as designed.
"""

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from types import MappingProxyType

from woodshop.drawing.values.model import (
    Align,
    Block,
    Bullets,
    Cell,
    Column,
    Document,
    Heading,
    Paragraph,
    Section,
    SetOut,
    Table,
)
from woodshop.drawing.values.paper import Mark, Sheet, Stroke, Word, sheet_of
from woodshop.drawing.values.style import REGULAR, STYLE, width
from woodshop.errors import InputError, Problem
from woodshop.trade.compare import Case, Outcome, changed_by
from woodshop.units.lengths import Money

AS_IT_STANDS = "as designed"


_YES = {"true": "yes", "false": "no"}
Said = Mapping[str, str]
"""Plain words for keys of the design, and for some KEY=VALUE, where people have not typed the keys themselves."""


def name_of(case: Case, said: Said = MappingProxyType({})) -> str:
    """The name of a case: its changes as text, with the words `said` for a key if there are any."""
    named = (
        f"{said[key]}: {said.get(f'{key}={value}', _YES.get(value, value))}" if key in said else f"{key} = {value}"
        for key, value in case
    )
    return ", ".join(named) or AS_IT_STANDS


def comparison_section(outcomes: Sequence[Outcome], said: Said = MappingProxyType({})) -> Section:
    """A row for each case: cost, difference, proof, layouts, boards, findings. The cheapest case comes last.

    `said` has plain words for keys.
    """
    base = outcomes[0]
    right = (Column(head, Align.RIGHT) for head in ("to pay", "difference", ""))
    counts = (Column(head, Align.RIGHT) for head in ("layouts", "boards"))
    columns = (Column("", weight=4 if said else 1), *right, Column("proof"), *counts, Column("findings"))
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
            "lumberyards": each.lumberyards,
        }
        for each in outcomes
    ]
    table = Table(columns, tuple(_row(each, base, said) for each in outcomes))
    currency = next((each.pays.currency for each in outcomes if each.pays), "")
    refused = tuple(f"{name_of(each.case, said)} cannot be made: {each.refused}" for each in outcomes if each.refused)
    reasons = (Bullets(refused),) if refused else ()
    return Section("", (table, *reasons, *_cheapest(outcomes, said)), {"cases": cases, "currency": currency})


def _row(each: Outcome, base: Outcome, said: Said) -> tuple[Cell, ...]:
    if each.pays is None or base.pays is None:
        return name_of(each.case, said), *[""] * 6, "cannot be made"
    more = each.pays - base.pays
    part = changed_by(each.pays.minor, base.pays.minor)
    change = (f"{'+' if more.minor > 0 else ''}{more}", part) if each.case else ("", "")
    proof, found = proof_of(each), findings_of(each, is_spoken=bool(said))
    if said and proof.startswith("within"):
        proof = f"{proof} of the cheapest"
    return name_of(each.case, said), each.pays, *change, proof, each.layouts, each.boards, found


def _cheapest(outcomes: Sequence[Outcome], said: Said) -> Iterator[Block]:
    if len(outcomes) < 2:
        return
    cheapest = min((each for each in outcomes if each.pays), key=lambda each: each.pays.minor if each.pays else 0)
    yield Paragraph(f"Cheapest of these: {name_of(cheapest.case, said)}, {cheapest.pays}.")
    if close := [name_of(each.case, said) for each in outcomes if _may_be_cheaper(each, cheapest)]:
        yield Paragraph(
            f"Too close to call: {'; '.join(close)}. A longer search may still find a plan below {cheapest.pays} for "
            "each of these, so do not choose by the cost alone."
        )


def _may_be_cheaper(each: Outcome, cheapest: Outcome) -> bool:
    if each is cheapest or each.least is None or cheapest.pays is None:
        return False
    if (each.pays, each.least) == (cheapest.pays, cheapest.least):
        return False  # the same plan
    return each.least.minor < cheapest.pays.minor


def proof_of(each: Outcome) -> str:
    """Text on how close the cost is to its lower bound."""
    if each.pays is None or each.least is None:
        return ""
    gap = each.pays - each.least
    return "proved the cheapest" if not gap.minor else f"within {gap}"


def findings_of(each: Outcome, *, is_spoken: bool = False) -> str:
    """The errors and warnings of a case as text, or "notes only". `is_spoken` writes codes as words."""
    words = [
        f"{n} {word}{'s' if n > 1 else ''}" for n, word in ((each.errors, "error"), (each.warnings, "warning")) if n
    ]
    codes = ", ".join(code.replace("-", " ") if is_spoken else code for code in each.codes)
    return f"{', '.join(words)}: {codes}" if words else "notes only"


ENDINGS = (".svg", ".pdf")
_WIDE, _ROW, _BAR, _STEPS = 532.0, 34.0, 13.0, (1, 2, 5)
_SMALL, _LABEL = STYLE.small, STYLE.label_text


def comparison_picture(outcomes: Sequence[Outcome], path: Path, title: str, paper: str) -> bytes:
    """The picture as SVG or PDF bytes, depending on the ending of `path`. Raises InputError for another ending.

    `title` and `paper` apply to the page.
    """
    kind = path.suffix.lower()
    check_ending(path)
    sheet = bars(outcomes)
    if kind == ".svg":
        from woodshop.drawing.pens.svg import svg_of

        return svg_of(sheet, title).encode("utf-8")
    from woodshop.drawing.pens.pdf import write_pdf

    blocks = (Heading(title, 1), Paragraph(BARS_WORDS), SetOut(sheet))
    return write_pdf(Document(title, "Cost against choice", (Section("", blocks),)), paper)


BARS_WORDS = (
    "Difference in cost to the design itself, at the dashed line; bars start there, not at a cost of zero. A white "
    "piece is uncertain: the plan found may cost up to that much more than the cheapest plan of that choice."
)
"""What the bars mean."""


def check_ending(path: Path) -> None:
    """Raises InputError if the name of a picture does not end in .svg or .pdf."""
    if path.suffix.lower() not in ENDINGS:
        given = f"the ending {path.suffix!r}" if path.suffix else "no ending"
        wanted = "a picture ending in .svg or .pdf"
        raise InputError(Problem(str(path), given, wanted, "Choose one of the two for --picture."))


def bars(outcomes: Sequence[Outcome], said: Said = MappingProxyType({})) -> Sheet:
    """One row for each case: its name, its cost, and a bar that shows how its cost differs from the first case.

    `said` has plain words for keys.
    """
    base = outcomes[0].pays
    zero, currency = (base.minor, base.currency) if base else (0, "USD")
    spans = [_span(each, zero) for each in outcomes]
    low, high = min(0, *(span[0] for span in spans)), max(0, *(span[1] for span in spans))
    room = _WIDE - max(width(_label(each), _SMALL, REGULAR) for each in outcomes) - 24.0
    scale = room / max(high - low, 1)
    foot = -_ROW * len(outcomes) - 4.0
    marks: list[Mark] = []
    for money in _ticks(low, high):
        x = (money - low) * scale
        marks.append(Stroke(((x, 0.0), (x, foot)), STYLE.thin))
        word = Word(_short(Money(money, currency), money > 0), 0.0, 0.0, size=_SMALL)
        marks.append(word.moved(max(0.0, x - word.width / 2), foot - 12.0))
    marks.append(Stroke(((-low * scale, 0.0), (-low * scale, foot)), STYLE.outline, STYLE.cut_dash))
    for n, (each, (least, most)) in enumerate(zip(outcomes, spans, strict=True)):
        top = -_ROW * n
        name = _cut(name_of(each.case, said), _WIDE - 4.0, _LABEL)
        marks += [_behind(name, top - 14.0, 4.0), Word(name, 4.0, top - 14.0, size=_LABEL, strong=not each.case)]
        y0, y1 = top - 18.0 - _BAR, top - 18.0
        x0, x1, zero_x = ((value - low) * scale for value in (least, most, 0))
        marks.append(_box(x0, y0, x1, y1, "paper"))
        if least > 0 or most < 0:
            marks.append(_box(min(zero_x, x1), y0, max(zero_x, x0), y1, "ink"))
        end = max(zero_x, x1) + 6.0
        marks += [_behind(_label(each), y0 + 3.0, end, _SMALL), Word(_label(each), end, y0 + 3.0, size=_SMALL)]
    marks.append(Word("difference in cost to the design itself (dashed line)", 0.0, foot - 26.0, size=_SMALL))
    return sheet_of(marks)


def _span(each: Outcome, base: int) -> tuple[int, int]:
    """The differences from `base` of the lower bound and of the plan's cost, or (0, 0) without a plan."""
    if each.pays is None or each.least is None:
        return 0, 0
    return each.least.minor - base, each.pays.minor - base


def _label(each: Outcome) -> str:
    if each.pays is None:
        return "cannot be made"
    return f"{each.pays}, {proof_of(each)}" + (f", {each.errors} errors" if each.errors else "")


def _box(x0: float, y0: float, x1: float, y1: float, fill: str) -> Stroke:
    return Stroke(((x0, y0), (x1, y0), (x1, y1), (x0, y1)), STYLE.outline, closed=True, fill=fill)


def _behind(text: str, y: float, x: float = 0.0, size: float = _LABEL) -> Stroke:
    """White paper behind a word, so that no line crosses it."""
    box = Word(text, x, y, size=size).box.grown(1.0)
    corners = ((box.left, box.bottom), (box.right, box.bottom), (box.right, box.top), (box.left, box.top))
    return Stroke(corners, 0.0, closed=True, fill="paper")


def _cut(text: str, wide: float, size: float) -> str:
    """The text, shortened at its start to fit in the width."""
    if width(text, size, REGULAR) <= wide:
        return text
    while len(text) > 4 and width(f"... {text}", size, REGULAR) > wide:
        text = text[1:]
    return f"... {text}"


def _ticks(low: int, high: int) -> list[int]:
    """About four to eight round amounts of money, for an axis between two differences; zero is one of them."""
    unit = 1
    while True:
        for step in (unit * each for each in _STEPS):
            if (high - low) // step <= 7:
                return list(range(-(-low // step) * step, high + 1, step))
        unit *= 10


def _short(money: Money, is_more: bool) -> str:
    return f"{'+' if is_more else ''}{money}".replace(".00", "")


__all__ = ["AS_IT_STANDS", "bars", "check_ending", "comparison_picture"]
