"""The chapter First off the bench: what to measure of the first of each thing, within which limits, with what; how
many of the rest; and what to do when one is out.
"""

from collections.abc import Iterator, Sequence
from math import comb

from woodshop.checks.first_article import FAR, THICKNESS, FirstArticle, Sample, SizeLimits, first_articles, sample_of
from woodshop.design.batch import BatchLine
from woodshop.drawing.values.model import Align, Block, Bullets, Column, Heading, KeepTogether, Paragraph, Steps, Table
from woodshop.hardware.gauge_steps import limit_test
from woodshop.hardware.items.mesh_floor import sheet
from woodshop.hardware.registry import BoardPart
from woodshop.hive.gaps.grading import bee_space
from woodshop.hive.variation.sizes import Work
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import fact
from woodshop.units.lengths import Length

_SIZES = (
    Column("size", weight=7),
    Column("designed", Align.RIGHT, weight=3),
    Column("least", Align.RIGHT, weight=3),
    Column("most", Align.RIGHT, weight=3),
    Column("what sets them", weight=7),
    Column("with", weight=3),
    Column("measured", weight=3),
)
_RUN = (
    Column("of", weight=5),
    Column("run", Align.RIGHT, weight=2),
    Column("measure", Align.RIGHT, weight=2),
    Column("which", weight=5),
    Column("none out: out at most, by the rule of three", weight=5),
    Column("counted: out at most", weight=3),
)
_BLANK = "________"
_LONG = 10**6  # a sum of more digits is left out


def first_article_blocks(planned: PlannedBatch) -> list[Block]:
    """The chapter; nothing where nothing is made for a hive."""
    unit = planned.batch.unit
    found = first_articles(planned.units, bee_space(planned.batch.conditions.band, unit))
    if not found:
        return []
    blocks: list[Block] = [
        Heading("First off the bench", 1),
        Paragraph(
            "Measure the first of each thing before you saw the rest, with the saw stopped. Within its limits a size "
            "keeps every gap of these hives where it is wanted, the other sizes as designed: they are solved from the "
            "chain of sizes that each gap hangs on, brought in to a mark of the tape (for the strips, which calipers "
            "measure, a quarter of one; for the height of the rim half of one), and to what the thing's own "
            f"checks let pass. No size is let off by more than {FAR.text(unit)}; where "
            "nothing is named, nothing nearer sets it. Two sizes off at once may do "
            "harm that one does not: enter what you measured, and check that hive (step 4 below)."
        ),
    ]
    for each in found:
        blocks += _sheet(each, unit)
    return [*blocks, *_old_parts(planned, found), *_run(found), *_out(planned.batch.name)]


def _sheet(of: FirstArticle, unit: str) -> Iterator[Block]:
    rows: list[tuple[str, ...]] = [
        (
            each.size.name,
            each.size.nominal.text(unit),
            each.least.text(unit),
            each.most.text(unit),
            _set_by(each),
            tool(each),
            _BLANK,
        )
        for each in of.sizes
    ]
    if of.over_bars is not None:
        low, high, wanted = of.over_bars

        def say(length: Length) -> str:
            return length.text(unit)

        span = say(low) if low == high else f"{low.number(unit)} to {say(high)}"
        ends = (
            "" if wanted.least is None else say(wanted.least.up_to(of.mark)),
            "" if wanted.most is None else say(wanted.most.down_to(of.mark)),
        )
        words = "board on its box, empty"
        if wanted.least is not None and wanted.most is not None:
            words += f": {limit_test(wanted.least, wanted.most, say)}"
        rows.append(("mesh over the top bars", span, *ends, words, "bee-space gauge", _BLANK))
    yield KeepTogether((Heading("; ".join(of.names), 2), Table(_SIZES, tuple(rows), small=True)))


def _old_parts(planned: PlannedBatch, found: Sequence[FirstArticle]) -> Iterator[Block]:
    """What to measure of the parts on hand that are used again: whether they do for these hives."""
    lines = dict.fromkeys(
        f"{words} ({line.hives.name}, {count} on hand)."
        for line in planned.batch.lines
        if (count := line.kept + line.repaired) and (words := _old_words(line, found))
    )
    if lines:
        head = Paragraph("Measure every old part before you build around it. Out of these limits: make a new one.")
        yield KeepTogether((Heading("Old parts from the shed", 2), head, Bullets(tuple(lines))))


def _old_words(line: BatchLine, found: Sequence[FirstArticle]) -> str:
    """The sizes that an old part of this kind must have; "" where only those of the sheets count."""
    setting, say = line.setting, line.setting.say
    if line.item.board_part is BoardPart.STRIPS:
        for size in (size for of in found if line.hives.name in of.names for size in of.sizes):
            if size.size.name == THICKNESS:
                return f"Old strips must be {size.least.number(setting.unit)} to {say(size.most)} thick"
    if line.item.board_part is BoardPart.RIM:
        return f"Old rims must be at least {say(setting.needed_height.up_to(setting.mark))} high"
    if line.item.board_part is BoardPart.FLOOR and line.repaired:
        along, across = sheet(setting)
        least = fact("mesh_floor.landing_least").length
        inside = [(side.length - least * 2).down_to(setting.mark) for side in (along, across)]
        return (
            f"Old rims that get a new mesh floor ({line.repaired}) must be at most {inside[0].number(setting.unit)} x "
            f"{say(inside[1])} inside, or the mesh does not reach {say(least)} onto the wood; before you staple, pull "
            "every old staple and cut wire"
        )
    return ""


def _set_by(each: SizeLimits) -> str:
    """The gaps that set least and most; nothing where neither is nearer than sizes are let off anyhow."""
    if each.least_by == each.most_by:
        return each.least_by
    return "; ".join(f"{end}: {by}" for end, by in (("least", each.least_by), ("most", each.most_by)) if by)


def tool(each: SizeLimits) -> str:
    """What a size is measured with. Common practice, no source."""
    name = each.size.name
    if each.size.work is Work.RABBET:
        return "depth rod"
    if name.startswith("thickness"):
        return "calipers"
    if name.startswith("upper edge"):
        return "rule"
    return "square" if name.startswith("height") else "tape"


def _run(found: Sequence[FirstArticle]) -> Iterator[Block]:
    lots = [(item, "; ".join(of.names), sample_of(count)) for of in found for item, count in of.runs]
    if all(sample.run == 1 for _, _, sample in lots):
        return
    several = len(found) > 1
    rows = []
    for item, names, sample in lots:
        name = f"{item}, {names}" if several else item
        rows.append((name, str(sample.run), str(sample.count), which(sample), three(sample), counted(sample)))
    yield Heading("Of the rest", 2)
    table, rule = fact("sample.lot_8"), fact("sample.rule_of_three")
    largest = max((sample for _, _, sample in lots), key=lambda each: (each.run, each.count))
    standard = table.cite.partition(": letter")[0]
    yield Paragraph(
        f"How many: {standard}, normal inspection. It is for a bench that runs evenly; after a fence "
        "or stop was moved, a blade changed or new boards begun, the next piece is a first again. What a clean sample "
        f"says: where none of n is out, at most 3/n of all are, 95 times in 100 ({rule.cite}); rough below n = 30, so "
        f"beside it counted exactly, as draws without putting back. {arithmetic(largest)}"
    )
    yield Table(_RUN, tuple(dict.fromkeys(rows)), small=True)


def which(sample: Sample) -> str:
    """Which of a run to measure, in words.

    >>> which(sample_of(13)), which(sample_of(2)), which(sample_of(1))
    ('the 1st, then every 6th: 1, 7, 13', 'both', 'it')
    """
    if sample.run == sample.count:
        return {1: "it", 2: "both"}.get(sample.run, "all")
    numbers = [str(n) for n in sample.which]
    listed = ", ".join(numbers) if len(numbers) <= 5 else f"{', '.join(numbers[:3])} ... {numbers[-1]}"
    every = "every other" if sample.step == 2 else f"every {_ordinal(sample.step)}"
    return f"the 1st, then {every if sample.step > 1 else 'on'}: {listed}"


def _ordinal(n: int) -> str:
    ending = "th" if n % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(n % 10, "th")
    return f"{n}{ending}"


def three(sample: Sample) -> str:
    """What the rule of three says of a clean sample, with its arithmetic.

    >>> three(sample_of(60)), three(sample_of(13))
    ('3/13 = 23 in 100', '3/3: says nothing')
    """
    if sample.run == sample.count:
        return "none: all are measured"
    if sample.rule_of_three == 1:
        return f"3/{sample.count}: says nothing"
    return f"3/{sample.count} = {round(sample.rule_of_three * 100)} in 100"


def counted(sample: Sample) -> str:
    """How many of the run may be out behind a clean sample, counted."""
    return f"{sample.most_out} of {sample.run}"


def arithmetic(sample: Sample) -> str:
    """The count for one run, its sum written out; "" where all of it is measured."""
    if sample.run == sample.count:
        return ""
    out = sample.most_out + 1
    good = sample.run - out
    ways, chance = (comb(good, sample.count), comb(sample.run, sample.count)), float(sample.unseen(out)) * 100
    sum_ = f"{ways[0]}/{ways[1]} = " if ways[1] < _LONG else ""
    return (
        f"So for {sample.run} of which {sample.count} are measured: were {out} out, none would be among those measured "
        f"with the chance C({good}, {sample.count}) / C({sample.run}, {sample.count}) = {sum_}{chance:.1f} in 100, "
        f"under 5; so at most {sample.most_out}."
    )


def _out(name: str) -> Iterator[Block]:
    steps = (
        "Stop, and saw no more of it. Measure it once more, with another rule: a hook that is bent reads wrong every "
        "time.",
        "Mend what set it: fence, stop, depth of the cut, square of the blade. The next piece is a first again.",
        "Measure every piece back to the last that was good, and put those that are out aside.",
        "Enter what you measured of the one that is out in a unit file (woodshop check DESIGN --sheet FILE writes it), "
        f"and check that hive: woodshop check DESIGN --measured FILE, DESIGN being that of {name}. With no error it "
        "can be used, marked for its hive; else saw it down to something smaller.",
        "Where the sample has one that is out, it says nothing good of the rest: measure them all.",
    )
    yield KeepTogether((Heading("When one is out", 2), Steps(steps)))
