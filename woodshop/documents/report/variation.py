"""Tolerance and wood movement: how gaps vary in each kind of hive, how often that matters, and why."""

from collections.abc import Sequence

from woodshop.checks.variation import (
    FULL,
    WORTH_TELLING,
    MovedGap,
    MovedHives,
    WhatIf,
    broken,
    gap_place,
    hangs_on,
    moved_hives,
    what_if,
)
from woodshop.design.settings.tolerances import Moisture, Tolerances
from woodshop.drawing.values.model import Block, Column, Data, Datum, Heading, KeepTogether, Paragraph, Section, Table
from woodshop.engineering.tolerance import doubt_of
from woodshop.engineering.wood import species
from woodshop.hive.gaps.grading import bee_space
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import MM_PER_INCH, Length, inch
from woodshop.units.wording import wording_of

_OWN = (("gap", 5), ("as made", 2), ("in winter", 2), ("worst case", 3), ("root sum square", 2), ("wanted", 4),
        ("hives outside", 3), ("biggest causes", 6))  # fmt: skip
_THEIRS = (("gap", 4), ("as measured", 2), ("in winter", 2), ("in summer", 2), ("wanted", 3))
_HOW = (
    "Each gap is a chain of sizes, taken from the hive ready for winter. Worst case: every size at its limit. Root sum "
    "square: three standard deviations. Hives outside: the share of simulated hives, each size varying independently, "
    "997 in 1,000 within its tolerance, at winter moisture."
)
_THEIR_HEAD = "Your boxes and frames, as the wood swells and shrinks:"
_IFS = (("default", 3), ("value", 3), ("if it were", 3), ("hives outside", 2))
_TELLING = 0.001  # the smallest fraction of hives that is listed
_MOVED = inch("1/64")  # the smallest movement that is listed


def own_rows(hives: MovedHives, unit: str) -> list[tuple[str, ...]]:
    """A row for each of our gaps that is out of limits in some hives, with its variation and the fraction of hives.

    Gaps lifted by the same part share a row.
    """
    rows: dict[str, tuple[str, ...]] = {}
    for gap in hives.moves.own:
        if gap.by_arithmetic is not None and gap.outside >= _TELLING:
            row = (
                wording_of(unit).about(gap.made),
                wording_of(unit).about(gap.winter),
                _span(gap.by_arithmetic.least, gap.by_arithmetic.most, unit),
                _by_squares(gap, unit),
                wording_of(unit).quoted(gap.limits.words),
                _share(gap.outside),
                _sizes(gap),
            )
            rows.setdefault(_label(gap), (_label(gap), *row))
    return list(rows.values())


def hardly_out(hives: MovedHives) -> str:
    """A sentence about our gaps that are rarely out of limits or are out by design, or "" if there are none."""
    out = {gap.chain.name for gap in hives.moves.own if gap.outside >= _TELLING}
    names = [name for name in dict.fromkeys(gap.chain.name for gap in hives.moves.own) if name not in out]
    already = dict.fromkeys(gap.chain.name for gap in hives.moves.gaps if gap.is_own and not gap.limits.holds(gap.made))
    return " ".join(
        (
            *((f"Outside their limits in fewer than one hive in 1,000: {', '.join(names)}.",) if names else ()),
            *((f"Outside their limits as designed, so not counted here: {', '.join(already)}.",) if already else ()),
        )
    )


def _label(gap: MovedGap) -> str:
    """The name and place of one of our gaps, with the direction of an overhang or the lifted part of a contact."""
    where = gap_place(gap)
    if gap.chain.kind == "contact" and gap.chain.name != "overhang":
        return broken(gap)
    sides = {place.rpartition(", ")[2] for place in gap.chain.where}
    way = {"overhang": ", sides" if sides <= {"left", "right"} else ", ends"}.get(gap.chain.name, "")
    return f"{gap.chain.name}, {where}{way}"


def their_rows(moved: Sequence[MovedHives], unit: str) -> list[tuple[str, ...]]:
    """A row for each gap in the user's own boxes and frames, if moisture changes it enough to show on a tape."""
    found: dict[tuple[str, str], list[MovedGap]] = {}
    for gap in (gap for hives in moved for gap in hives.moves.gaps):
        if gap.is_own or gap.chain.kind == "declared" or not gap.limits.is_set:
            continue
        if max(abs(gap.winter - gap.made), abs(gap.summer - gap.made)) >= _MOVED:
            found.setdefault((gap.chain.name, gap.limits.words), []).append(gap)
    rows = []
    for (name, words), gaps in found.items():
        sizes = ([gap.made for gap in gaps], [gap.winter for gap in gaps], [gap.summer for gap in gaps])
        rows.append((name, *(_span(min(each), max(each), unit) for each in sizes), wording_of(unit).quoted(words)))
    return rows


def if_rows(ifs: Sequence[WhatIf], now: float) -> list[tuple[str, ...]]:
    """The defaults that matter: each with another value, and the fraction of hives out of limits with that value."""
    return [
        (each.key, each.value, each.instead, _share(each.outside))
        for each in ifs
        if abs(each.outside - now) >= _TELLING
    ]


def if_text(moved: Sequence[MovedHives]) -> str:
    """The caption of the table of assumptions, in one sentence."""
    hives = worst(moved)
    return (
        f"Effect of one wrong default on {hives.names[0]}: {_share(hives.moves.outside)} hives outside now. "
        "Defaults not in the table change this by less than one in 1,000."
    )


def bends(moved: Sequence[MovedHives]) -> list[str]:
    """Sentences about gaps, in any of the hives, whose calculation holds only until certain other parts touch."""
    named: dict[tuple[str, ...], list[str]] = {}
    for gap in (gap for hives in moved for gap in hives.moves.gaps):
        if gap.chain.until and gap.limits.is_set:
            named.setdefault(gap.chain.until, []).append(gap.chain.name)
    return [
        f"The chain for {', '.join(dict.fromkeys(names))} holds until this closes: {', '.join(until)}. "
        "Then parts rest on other parts, and another chain holds; both are counted."
        for until, names in named.items()
    ]


def wood_text(moisture: Moisture) -> str:
    """One sentence about the assumed moisture of the wood."""
    made, boxes = species(moisture.species).name, species(moisture.boxes_species).name
    woods = made if made == boxes else f"{made}, boxes of {boxes}"
    return (
        f"Wood: {woods}; cut at {moisture.shop.words}, boxes measured at {moisture.measured.words}; winter "
        f"{moisture.winter.words}, summer {moisture.summer.words}. Across the grain only. The ring direction is "
        "not known, so the greater movement is used."
    )


def beyond_text(moved: Sequence[MovedHives]) -> str:
    """One sentence about why the figures for the wood may be wrong, or "" if there is no reason."""
    why = dict.fromkeys(reason for hives in moved for reason in hives.moves.beyond)
    return f"Beyond what the sources cover: {'; '.join(why)}." if why else ""


def headline(hives: MovedHives) -> str:
    """A sentence about how many hives will have one of our gaps out of limits, with the standard error if needed."""
    outside, count = hives.moves.outside, hives.moves.count
    error = f", with a standard error of {_share(doubt_of(outside, count))}" if count < FULL else ""
    return f"Hives with a gap of ours outside its limits: {_share(outside)} ({count:,} simulated{error})."


def moves_section(
    moved: Sequence[MovedHives], ifs: Sequence[WhatIf], tolerances: Tolerances | None, unit: str
) -> Section:
    """The variation of gaps, hive by hive, then its assumptions.

    In the data, lengths are text in the unit of the design, not rounded; estimates are numbers in this unit.
    """
    blocks: list[Block] = []
    if tolerances is not None and moved:
        blocks += [Paragraph(wood_text(tolerances.moisture)), Paragraph(_HOW)]
        if beyond := beyond_text(moved):
            blocks.append(Paragraph(beyond, small=True))
        shown, rest = apart(moved)
        blocks += [_hives(hives, unit) for hives in shown]
        blocks += [Paragraph(text, small=text is not rest) for text in (rest, *bends(moved)) if text]
        if theirs := their_rows(moved, unit):
            blocks.append(KeepTogether((Paragraph(_THEIR_HEAD), _table(_THEIRS, theirs))))
        if others := if_rows(ifs, worst(moved).moves.outside):
            last = (Heading("If the defaults are wrong", 2), Paragraph(if_text(moved)), _table(_IFS, others))
            blocks.append(KeepTogether(last))
    rows: list[Data] = [
        {
            "hives": each.names,
            "count": each.count,
            "drawn": each.moves.count,
            "outside": each.moves.outside,
            "beyond": each.moves.beyond,
            "gaps": [_gap_json(gap, unit) for gap in each.moves.gaps if gap.limits.is_set],
        }
        for each in moved
    ]
    what_if: list[Data] = [
        {"key": each.key, "value": each.value, "instead": each.instead, "outside": each.outside} for each in ifs
    ]
    data: Data = {"moves": {"unit": unit, "hives": rows, "what_if": what_if}}
    return Section("Tolerance and wood movement", tuple(blocks), data)


def _hives(hives: MovedHives, unit: str) -> Block:
    blocks: list[Block] = [Heading(f"{'; '.join(hives.names)}: {hives.count} hives", 2), Paragraph(headline(hives))]
    if own := own_rows(hives, unit):
        blocks.append(_table(_OWN, own))
    if hardly := hardly_out(hives):
        blocks.append(Paragraph(hardly, small=True))
    return KeepTogether(tuple(blocks))


def _table(heads: Sequence[tuple[str, int]], rows: Sequence[tuple[str, ...]]) -> Table:
    return Table(tuple(Column(head, weight=weight) for head, weight in heads), tuple(rows), small=True)


def apart(moved: Sequence[MovedHives]) -> tuple[list[MovedHives], str]:
    """The hives to show one by one, and a sentence about the others, whose gaps are rarely out of limits."""
    shown = [each for each in moved if each.moves.outside >= WORTH_TELLING]
    rest = [name for each in moved if each not in shown for name in each.names]
    return shown, f"Under {_share(WORTH_TELLING)} outside: {'; '.join(rest)}." if rest else ""


def worst(moved: Sequence[MovedHives]) -> MovedHives:
    """The kind of hive with the largest fraction out of limits."""
    return max(moved, key=lambda each: each.moves.outside)


def _gap_json(gap: MovedGap, unit: str) -> Data:
    values: dict[str, Datum] = {
        "name": gap.chain.name,
        "places": gap.chain.where,
        "own": gap.is_own,
        "wanted": gap.limits.words,
        "made": gap.made.number(unit),
        "winter": gap.winter.number(unit),
        "summer": gap.summer.number(unit),
        "chains": [
            {"nominal": line.nominal.number(unit), "coefficients": {n: str(c) for n, c in line.coefficients}}
            for line in gap.chain.lines
        ],
        "until": gap.chain.until,
    }
    if gap.by_arithmetic is not None:
        values |= {
            "least": gap.by_arithmetic.least.number(unit),
            "most": gap.by_arithmetic.most.number(unit),
            "root_sum_square": _number(gap.by_arithmetic.root_sum_square, unit),
            "hangs_on": {name: round(share, 4) for name, share in hangs_on(gap)},
        }
    if gap.draws is not None:
        values |= {"below": gap.draws.below, "above": gap.draws.above}
    return values


def _number(mm: float, unit: str) -> float:
    return round(mm if unit == "mm" else mm / float(MM_PER_INCH), 4)


def _span(least: Length, most: Length, unit: str) -> str:
    low, high = wording_of(unit).about(least), wording_of(unit).about(most)
    return high if low == high else f"{low.removesuffix(f' {unit}')} to {high}"


def _by_squares(gap: MovedGap, unit: str) -> str:
    """The root sum square of a gap's variation, as "±" text."""
    if gap.by_arithmetic is None:
        return ""
    off = _number(gap.by_arithmetic.root_sum_square, unit)
    return f"± {off:.1f} mm" if unit == "mm" else f"± {off:.2f} in"


def _share(share: float) -> str:
    """A fraction as a number per 100, to one decimal. If it is less than 0.1, the text says so.

    >>> _share(0.0238), _share(0.0002), _share(0.0)
    ('2.4 in 100', 'under 0.1 in 100', 'none')
    """
    if not share:
        return "none"
    return f"{share:.1%}".replace("%", " in 100") if share >= 0.0005 else "under 0.1 in 100"


def _sizes(gap: MovedGap) -> str:
    return ", ".join(f"{name} {share:.0%}" for name, share in hangs_on(gap))


def variation_chapter(planned: PlannedBatch) -> Section:
    """The chapter of the report about variation, if anything goes on hives and tolerances are given."""
    tolerances, unit = planned.batch.conditions.tolerances, planned.batch.unit
    if tolerances is None:
        return Section("", ())
    limits = bee_space(planned.batch.conditions.band, unit)
    moved = moved_hives(planned.units, tolerances, limits, count=FULL)
    if not moved:
        return Section("", ())
    return moves_section(moved, what_if(worst(moved), tolerances, limits, unit), tolerances, unit)
