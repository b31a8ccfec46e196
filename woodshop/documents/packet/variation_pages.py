"""The chapter What moves the gaps: what strays and swells in each kind of hive, how often it matters, and why."""

from collections.abc import Sequence

from woodshop.checks.variation.gap_variation import FULL
from woodshop.checks.variation.hive_variation import MovedHives, moved_hives
from woodshop.checks.variation.what_if import what_if
from woodshop.documents.report.variation import (
    IFS,
    OWN,
    THEIR_HEAD,
    THEIRS,
    apart,
    bends,
    beyond_words,
    hardly_out,
    headline,
    if_rows,
    if_words,
    own_rows,
    their_rows,
    wood_words,
    worst,
)
from woodshop.drawing.values.model import Block, Column, Heading, KeepTogether, Paragraph, Table
from woodshop.hive.gaps.grading import bee_space
from woodshop.plan.values import PlannedBatch

_OWN_WEIGHTS = (5, 2, 2, 3, 2, 4, 3, 6)
_HOW = (
    "Each gap is a chain of sizes, taken from the hive as it stands. At worst: every size at its own worst together. "
    "By squares: the root of the sum of squares, three standard deviations. Hives outside: drawn with all sizes "
    "straying by themselves, 997 in 1,000 within their tolerance, and the wood as damp as in winter."
)


def moves_blocks(planned: PlannedBatch) -> list[Block]:
    """The chapter; nothing where nothing is put on hives, or no strays are settled."""
    strays, unit = planned.batch.strays, planned.batch.unit
    if strays is None:
        return []
    limits = bee_space(planned.batch.band, unit)
    moved = moved_hives(planned.units, strays, limits, count=FULL, theirs=True)
    if not moved:
        return []
    blocks: list[Block] = [Heading("What moves the gaps", 1), Paragraph(wood_words(strays.moisture)), Paragraph(_HOW)]
    if beyond := beyond_words(moved):
        blocks.append(Paragraph(beyond, small=True))
    told, rest = apart(moved)
    for hives in told:
        blocks.append(_hives(hives, unit))
    blocks += [Paragraph(text, small=text is not rest) for text in (rest, *bends(moved)) if text]
    blocks += _theirs(moved, unit)
    rows = if_rows(what_if(worst(moved), strays, limits, unit), worst(moved).moves.outside)
    if rows:
        columns = (
            Column(IFS[0], weight=3),
            Column(IFS[1], weight=3),
            Column(IFS[2], weight=3),
            Column(IFS[3], weight=2),
        )
        last = (
            Heading("If the defaults are wrong", 2),
            Paragraph(if_words(moved)),
            Table(columns, tuple(rows), small=True),
        )
        blocks.append(KeepTogether(last))
    return blocks


def _hives(hives: MovedHives, unit: str) -> Block:
    names = f"{'; '.join(hives.names)}: {hives.count} hives"
    head: list[Block] = [Heading(names, 2), Paragraph(headline(hives))]
    own = own_rows(hives, unit)
    if own:
        columns = tuple(Column(name, weight=weight) for name, weight in zip(OWN, _OWN_WEIGHTS, strict=True))
        head.append(Table(columns, tuple(own), small=True))
    if hardly := hardly_out(hives):
        head.append(Paragraph(hardly, small=True))
    return KeepTogether(tuple(head))


def _theirs(moved: Sequence[MovedHives], unit: str) -> list[Block]:
    rows = their_rows(moved, unit)
    if not rows:
        return []
    columns = tuple(Column(name, weight=weight) for name, weight in zip(THEIRS, (4, 2, 2, 2, 3), strict=True))
    return [KeepTogether((Paragraph(THEIR_HEAD), Table(columns, tuple(rows), small=True)))]
