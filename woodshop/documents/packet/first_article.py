"""The first article: sizes to measure on the first of each item, their limits and tools, and remedies.

It also covers the bee-space gauge and, for the report, what sets the limits and what a sample shows.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import comb

from woodshop.checks.first_article import ENTRANCE, FAR, THICKNESS, FirstArticle, Sample, SizeLimits, sample_of
from woodshop.checks.first_article import first_articles as articles_of_units
from woodshop.design.batch import Batch, BatchLine, hives_fitted
from woodshop.documents.packet.measure_first import board_off
from woodshop.drawing.values.model import (
    Align,
    Beside,
    Block,
    Bullets,
    Column,
    Dimension,
    Drawing,
    Figure,
    Heading,
    KeepTogether,
    Label,
    Paragraph,
    Section,
    Side,
    Steps,
    Table,
    page_of,
)
from woodshop.drawing.views.part import part_drawing
from woodshop.hardware.board import Setting
from woodshop.hardware.catalogue import find_item
from woodshop.hardware.gauge_steps import gauge_steps, limit_test
from woodshop.hardware.items.wire_bottom import sheet
from woodshop.hardware.registry import BoardPart, default_of
from woodshop.hive.gaps.grading import GapLimits, bee_space
from woodshop.hive.variation.sizes import Work
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import fact
from woodshop.shape.part import Assembly, cut_box
from woodshop.units.lengths import ZERO, inch

_GAUGE = "bee-space gauge"
_OVER_BARS = "mesh over the top bars"
ENTRANCE_ROW = "entrance-limits"  # the anchor of the row
_LIMITS = (
    Column("size", weight=11),
    Column("cut to", Align.RIGHT, weight=3),
    Column("limits", Align.RIGHT, weight=6),
    Column("measure with", weight=5),
    Column("measured", weight=4),
)
_SIZES = (
    Column("hives", weight=5),
    Column("size", weight=7),
    Column("made", Align.RIGHT, weight=3),
    Column("minimum", Align.RIGHT, weight=3),
    Column("maximum", Align.RIGHT, weight=3),
    Column("what sets them", weight=7),
)
_RUN = (
    Column("of", weight=5),
    Column("run", Align.RIGHT, weight=2),
    Column("measure", Align.RIGHT, weight=2),
    Column("which", weight=5),
    Column("most that may be out, by the rule of three", weight=5),
    Column("most that may be out, counted", weight=3),
)
_BLANK = "______"
_LONG = 10**6  # a sum with more digits is omitted


def articles_of(planned: PlannedBatch) -> tuple[FirstArticle, ...]:
    """The first articles of a batch, with the limits of their sizes."""
    return articles_of_units(planned.units, bee_space(planned.batch.conditions.band, planned.batch.unit))


def first_article_section(
    planned: PlannedBatch, found: Sequence[FirstArticle] | None = None, *, is_rest: bool = False
) -> Section:
    """What to measure on the first article, and what to do if a size is out of limits. Empty if no item is for hives.

    If `is_rest` is true, the packet is for the rest of a plan, so no boards are cut first.
    """
    found = articles_of(planned) if found is None else found
    if not found:
        return Section("First article", ())
    widths = dict.fromkeys(
        hives_fitted(unit.line.hives.format, planned.batch)
        for unit in planned.units
        if unit.line.count and unit.line.item.place is not None
    )
    machine, build = page_of("parts-and-machining"), page_of("assembly")
    first = f"Cut the first boards and machine their parts ({machine})."
    if is_rest:
        first = (
            "Skip this page if you measured a first article with the earlier packet. If not, take pieces that are cut, "
            f"cut only the boards for what is missing, and machine the parts ({machine})."
        )
    steps = [
        f"{first} Build one unit of each kind for each width of hive ({build}).",
        "Stop sawing. Compare each unit with the tables below before you cut the rest. Write down what you measure.",
        f"Try each unit on a box of its width ({', '.join(widths)}). Use an empty box with frames, or suit up on a "
        "warm day. The unit must sit without rocking.",
    ]
    if any(of.over_bars for of in found):
        steps.append(_over_bars_step(planned, found))
    steps.append(f"If all sizes are within limits, cut the rest, and measure some of it.{_of_the_rest(found)}")
    return Section(
        "First article",
        (Steps(tuple(steps)), *_limits(found, planned.batch), *_old_parts(planned, found), *_out(), *_gauge(planned)),
    )


def _over_bars_step(planned: PlannedBatch, found: Sequence[FirstArticle]) -> str:
    """The step that measures the gap between mesh and bars with the board off, because the board hides the gap.

    A mesh under the rim is level with the straightedge. The height of a higher mesh above the rim's edge is added.
    """
    unit = planned.batch.unit
    words = "Take the fondant board off. Lay a straightedge across the top edge of the hive box, where the mesh lies. "
    _, _, wanted = max((of.over_bars for of in found if of.over_bars), key=lambda over: over[2].least or ZERO)
    high = max((size.size.nominal for of in found for size in of.sizes if size.size.name == THICKNESS), default=ZERO)
    strips = (
        f" If a gap is less than {high.text(unit)}, the thickness of the strips, use thinner strips or none on that "
        "hive."
        if high
        else ""
    )
    if any(unit.line.setting.mesh_low > ZERO for unit in planned.units):
        return (
            "Take the fondant board off. Lay a straightedge across the top edge of the hive box, and measure from it "
            "down to the top bars. Turn the fondant board over, and measure from its lower edges down to the mesh "
            f"({_heights_text(planned)}). The sum must be within the limits of the {_OVER_BARS} in the table."
        )
    if wanted.least is None or wanted.most is None:
        return f"{words}Measure from it down to the top bars: {_wanted_text(wanted, unit)}."
    test = limit_test(wanted.least, wanted.most, lambda each: each.text(unit), unit)
    return f"{words}Try the gauge under it, on the top bars: {test}. Do this on every hive.{strips}"


def _heights_text(planned: PlannedBatch) -> str:
    """How far the mesh is above the lower edge of the rim, by hives if it differs."""
    by_height: dict[str, list[str]] = {}
    for each in planned.units:
        if each.line.item.board_part is BoardPart.FLOOR:
            low, unit = each.line.setting.mesh_low, planned.batch.unit
            height = low.text(unit) if low > ZERO else f"{ZERO.text(unit)}, because the mesh is under the rim"
            by_height.setdefault(height, []).append(each.line.hives.name)
    if len(by_height) == 1:
        return next(iter(by_height))
    return "; ".join(f"{', '.join(dict.fromkeys(names))}: {height}" for height, names in by_height.items())


def _wanted_text(wanted: GapLimits, unit: str) -> str:
    if wanted.least is None or wanted.most is None:
        return "within its limits there"
    return f"{wanted.least.number(unit)} to {wanted.most.text(unit)}"


_MOST_SIZES = 6  # side by side in the table of sizes that differ


def _limits(found: Sequence[FirstArticle], batch: Batch) -> list[Block]:
    """Every size with its limits: first the limits that all hives share, then the limits that differ between hives.

    For sizes left as sold, the limits are no wider here than on the cutting pages, where boards are chosen.
    """
    unit, off = batch.unit, board_off(batch)
    sizes: dict[tuple[str, str], dict[FirstArticle, tuple[str, str]]] = {}
    for of in found:
        for each in of.sizes:
            least, most = each.least, each.most
            if each.size.work is Work.BOARD and each.size.name.startswith("thickness"):
                least, most = max(least, each.size.nominal - off), min(most, each.size.nominal + off)
            limits = f"{least.number(unit)} to {most.text(unit)}"
            sizes.setdefault((each.size.name, tool(each)), {})[of] = (each.size.nominal.number(unit), limits)
        if of.over_bars is not None:
            low, high, wanted = of.over_bars
            made = low.number(unit) if low == high else f"{low.number(unit)} to {high.number(unit)}"
            limits = ""
            if wanted.least is not None and wanted.most is not None:
                limits = f"{wanted.least.up_to(of.mark / 4).number(unit)} to {wanted.most.down_to(of.mark).text(unit)}"
            sizes.setdefault((_OVER_BARS, "gauge"), {})[of] = (made, limits)
    alike = {key: set(by.values()) for key, by in sizes.items() if len(by) == len(found) and len(set(by.values())) == 1}
    rows = [(name, *said, measured_with, _BLANK) for (name, measured_with), (said,) in alike.items()]
    apart = [key for key in sizes if key not in alike]
    at = tuple((n, ENTRANCE_ROW) for n, row in enumerate(rows) if row[0].startswith(ENTRANCE))
    blocks: list[Block] = [Table(_LIMITS, tuple(rows), anchors=at)] if rows else []
    for first in range(0, len(apart), _MOST_SIZES):
        some = apart[first : first + _MOST_SIZES]
        columns = (
            Column("hives; limits below each size", weight=5),
            *(Column(f"{name}: {measured_with}", weight=4) for name, measured_with in some),
        )
        cells = [
            (
                ", ".join(of.names),
                *(f"{n} {_BLANK}\n{m}" if n else "" for n, m in (sizes[key].get(of, ("", "")) for key in some)),
            )
            for of in found
            if any(of in sizes[key] for key in some)
        ]
        own = ((0, ENTRANCE_ROW),) if any(name.startswith(ENTRANCE) for name, _ in some) else ()
        blocks.append(Table(columns, tuple(cells), anchors=own))
    return blocks


def _of_the_rest(found: Sequence[FirstArticle]) -> str:
    """A sentence about which units to measure in a run, for each number of units in a run."""
    runs = sorted({count for of in found for _, count in of.runs if count > 1})
    by_rule: dict[str, list[str]] = {}
    for run in runs:
        sample = sample_of(run)
        ends = "the 1st and the last" if sample.count == 2 < run and sample.which[-1] == run else ""
        by_rule.setdefault(ends or which(sample).partition(":")[0], []).append(str(run))
    if not by_rule:
        return " One of each is made."
    (rule, of), *more = by_rule.items()
    said = [f"Of {_numbers(of)}, measure {rule}", *(f"of {_numbers(of)}, {rule}" for rule, of in more)]
    return f" A run is all units of an item for one hive width. {'; '.join(said)}."


def _numbers(of: Sequence[str]) -> str:
    """Ascending numbers as text: "4 to 7", or "4 or 9"."""
    is_range = len(of) > 2 and int(of[-1]) - int(of[0]) == len(of) - 1
    return f"{of[0]} to {of[-1]}" if is_range else " or ".join(of)


def _gauge(planned: PlannedBatch) -> Iterator[Block]:
    """How to make the bee-space gauge from scrap, and what to use if the scrap is too thin."""
    unit, setting = planned.batch.unit, planned.units[0].line.setting
    item = find_item(_GAUGE)
    bits = ", ".join(thick.number(unit) for thick, _ in gauge_steps(unit)) + f" {unit}"
    made = any(each.line.item.name == _GAUGE and each.line.count for each in planned.units)
    if made or setting.wood <= gauge_steps(unit)[-1][0]:
        where = "See Assembly for it. " if made else ""
        yield Paragraph(f"{where}Drill bits of {bits} work too.", lead="The bee-space gauge.")
        return
    made_of = item.make(setting, **{each.name: default_of(each, unit) for each in item.parameters})
    words = f"Skip this if you have a gauge. Drill bits of {bits} work too."
    figure = Figure(_gauge_drawing(made_of, setting), "", inch("1 1/4"), say_scale=False, free_scale=True)
    yield Heading("Bee-space gauge, from scrap", 2)
    yield Beside((figure,), (Paragraph(words), Steps(made_of.steps)))


def _gauge_drawing(made: Assembly, setting: Setting) -> Drawing:
    """The gauge seen from its edge, with the thickness of each step and the distance from the tip to the step's end."""
    part = made.placed[0].part
    profile = part_drawing(part, address=_GAUGE, count=1, wording=setting.wording).views[1]
    labels, dimensions, low = [], [], ZERO
    thicknesses = [thick for thick, _ in gauge_steps(setting.unit)]
    ends = sorted(cut_box(part, cut).high[0] for cut in part.cuts)
    for thick, end in zip(thicknesses, ends, strict=True):
        labels.append(Label(setting.say(thick), (low, part.thickness * 3), ((low + end) / 2, thick / 2)))
        dimensions.append(Dimension((ZERO, ZERO), (end, ZERO), Side.BELOW))
        low = end
    dimensions.append(Dimension((ZERO, ZERO), (part.length, ZERO), Side.BELOW))
    view = replace(
        profile,
        name=f"Edge; {setting.say(part.width)} wide",
        dimensions=tuple(dimensions),
        labels=tuple(labels),
        cell=(0, 0),
    )
    return Drawing("Bee-space gauge", _GAUGE, (view,), unit=setting.unit)


def limits_section(planned: PlannedBatch) -> Section:
    """What sets the limits of the first article, and what a sample says about the rest of the run, for the report."""
    unit = planned.batch.unit
    found = articles_of(planned)
    if not found:
        return Section("", ())
    words = (
        "If a size is within its limits and the other sizes are as designed, every gap of these hives stays in range. "
        "The limits are worked out from the chain of sizes that sets each gap. They are then moved in to a mark of "
        "the tape (a quarter of a mark for the strips, half a mark for the height of the rim), and to what the item's "
        f"own checks accept. No limit is wider than ±{FAR.text(unit)}. If nothing is named, no gap sets the limit. For "
        "the thickness of wood, the packet uses the limits of the boards. Two sizes that are off at once may do harm "
        "that one alone does not."
    )
    rows = tuple(
        (
            "; ".join(of.names),
            each.size.name,
            each.size.nominal.text(unit),
            each.least.text(unit),
            each.most.text(unit),
            _set_by(each),
        )
        for of in found
        for each in of.sizes
    )
    again = (
        "To check that hive with its sizes, send them to whoever made this packet. Or, at the command line, enter them "
        "in a unit file, which woodshop check DESIGN --sheet FILE writes, and run woodshop check DESIGN --measured "
        f"FILE. DESIGN is the design file of {planned.batch.name}."
    )
    return Section(
        "What sets the limits of the first article",
        (
            Paragraph(words),
            Table(_SIZES, rows, small=True),
            Paragraph(again, lead="A piece that is out."),
            *_run(found),
        ),
    )


def _old_parts(planned: PlannedBatch, found: Sequence[FirstArticle]) -> Iterator[Block]:
    """The measurements of reused parts that show whether they fit these hives."""
    by_words: dict[str, list[str]] = {}
    for line in planned.batch.lines:
        if (count := line.kept + line.repaired) and (words := _old_text(line, found)):
            own = f"{line.repaired} of the " if "new wire bottom" in words else ""
            by_words.setdefault(words, []).append(f"{line.hives.name}, {own}{count} on hand")
    lines = [f"{words} ({'; '.join(where)})." for words, where in by_words.items()]
    if lines:
        head = Heading("Measure old parts from the shed too, and replace any that are out of limits", 3, "old-parts")
        yield KeepTogether((head, Bullets(tuple(lines))))


def _old_text(line: BatchLine, found: Sequence[FirstArticle]) -> str:
    """What an old part of this kind must be like, such as its sizes and its condition."""
    setting, say = line.setting, line.setting.say
    if line.item.board_part is BoardPart.STRIPS:
        for size in (size for of in found if line.hives.name in of.names for size in of.sizes):
            if size.size.name == THICKNESS:
                return f"Old strips must be {size.least.number(setting.unit)} to {say(size.most)} thick"
    if line.item.board_part is BoardPart.RIM:
        return f"Old rims must be at least {say(setting.needed_height.up_to(setting.mark))} high"
    if line.item.board_part is BoardPart.FLOOR and line.repaired:
        along, across = sheet(setting)
        least = fact("wire_bottom.landing_least").length
        inside = [(side.length - least * 2).down_to(setting.mark) for side in (along, across)]
        return (
            f"Old rims that get a new wire bottom must be at most {inside[0].number(setting.unit)} x "
            f"{say(inside[1])} inside, or the mesh does not reach {say(least)} onto the wood. Before you staple, pull "
            "every old staple and cut wire"
        )
    if line.item.board_part is BoardPart.FLOOR:
        return "Old mesh must be whole, without rust or loose wires, and its staples must hold"
    sizes = "have the sizes in the table, " if any(line.item.name == s.item for of in found for s in of.sizes) else ""
    return f"An old {line.item.title.lower()} must {sizes}be sound, and sit on the hive without rocking"


def _set_by(each: SizeLimits) -> str:
    """The gaps that set the minimum and maximum, or "" if no gap does."""
    if each.least_by == each.most_by:
        return each.least_by
    return "; ".join(f"{end}: {by}" for end, by in (("minimum", each.least_by), ("maximum", each.most_by)) if by)


def tool(each: SizeLimits) -> str:
    """The tool for measuring a size. The choice is common practice, without a source."""
    name = each.size.name
    if each.size.work is Work.RABBET:
        return "depth rod"
    if name.startswith("thickness"):
        return "calipers"
    if name.startswith(ENTRANCE):
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
    yield Heading("How many of the rest to measure", 3)
    table, rule = fact("sample.lot_8"), fact("sample.rule_of_three")
    largest = max((sample for _, _, sample in lots), key=lambda each: (each.run, each.count))
    standard = table.cite.partition(": letter")[0]
    yield Paragraph(
        f"Sample sizes: {standard}, normal inspection. These samples apply while nothing changes at the bench. After "
        f"you move a fence or stop, change a blade or begin new boards, treat the next piece as a new first article. "
        f"If none of n measured pieces is out, then at most 3/n of all pieces are out, 95 times in 100 ({rule.cite}). "
        f"That rule is rough below n = 30, so the table also gives the exact count, for draws without replacement. "
        f"{arithmetic(largest)}"
    )
    yield Table(_RUN, tuple(dict.fromkeys(rows)), small=True)


def which(sample: Sample) -> str:
    """A text that says which units of a run to measure.

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
    """The result of the rule of three for a good sample, with the arithmetic.

    >>> three(sample_of(60)), three(sample_of(13))
    ('3/13 = 23 in 100', '3/3: says nothing')
    """
    if sample.run == sample.count:
        return "none: all are measured"
    if sample.rule_of_three == 1:
        return f"3/{sample.count}: says nothing"
    return f"3/{sample.count} = {round(sample.rule_of_three * 100)} in 100"


def counted(sample: Sample) -> str:
    """How many units of the run, at most, can be out of limits if the sample is good; an exact count."""
    return f"{sample.most_out} of {sample.run}"


def arithmetic(sample: Sample) -> str:
    """The calculation for one run, written out, or "" if every unit is measured."""
    if sample.run == sample.count:
        return ""
    out = sample.most_out + 1
    good = sample.run - out
    ways, chance = (comb(good, sample.count), comb(sample.run, sample.count)), float(sample.unseen(out)) * 100
    sum_ = f"{ways[0]}/{ways[1]} = " if ways[1] < _LONG else ""
    return (
        f"Example: {sample.count} of {sample.run} are measured. If {out} were out, the chance of measuring none of "
        "them "
        f"would be C({good}, {sample.count}) / C({sample.run}, {sample.count}) = {sum_}{chance:.1f} in 100. That is "
        "under "
        f"5, so at most {sample.most_out} are out."
    )


def _out() -> Iterator[Block]:
    steps = (
        "Stop. Measure the piece again with another tape, because a bent hook reads wrong every time. Then correct the "
        "fence, stop, depth of cut or blade angle. Treat the next piece as a first article, as after moving a fence or "
        "stop or changing the blade.",
        "Measure every piece back to the last good one. If one of a sample is out, measure the whole run.",
        "If one size is off but inside its limits, use the piece. If two are off, or one is outside its limits, it may "
        "still be usable. Send its sizes to whoever made this packet, or write them in a unit file and run woodshop "
        "check DESIGN --measured FILE. If no error is found, mark it for its hive and use it. Otherwise trim it, or "
        "make a new one.",
    )
    yield KeepTogether((Heading("When a size is out", 3), Steps(steps)))
