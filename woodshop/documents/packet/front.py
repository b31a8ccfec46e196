"""The front page: the finished hive, the items made, decisions and first measurements, tools, time, and contents."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction

from woodshop.cutting.order.sequence import saw_cuts
from woodshop.design.batch import due_dates, hives_fitted
from woodshop.design.settings.saw import CIRCULAR_SAW, HAND_SAW, MITER_SAW, SLED, TABLE_SAW, THEN
from woodshop.design.settings.times import BY_KEY
from woodshop.documents.fullsize.drawings import full_size_words
from woodshop.documents.packet.bought_strips import bought_strip_blocks
from woodshop.documents.packet.due import BatchDates, date_blocks, due_blocks
from woodshop.documents.packet.exploded_view import first_ready
from woodshop.documents.packet.layouts import numbered_layouts
from woodshop.documents.packet.measure_first import widths_to_buy
from woodshop.documents.packet.mix import quart_text
from woodshop.documents.packet.thin_rip_stop import stop_bits
from woodshop.documents.report.report import WORDS, grouped, places_shortened
from woodshop.drawing.pens.text import section_text
from woodshop.drawing.values.model import (
    Align,
    Beside,
    Block,
    Column,
    Heading,
    KeyFigures,
    Paragraph,
    Section,
    Steps,
    Table,
    page_of,
)
from woodshop.findings import Severity
from woodshop.plan.cost import cost_rows
from woodshop.plan.lumber_at_home import resawings
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.counts import work_of
from woodshop.plan.work.cut_tools import saw_of, tools_for, tools_of
from woodshop.shape.part import RoundOutline
from woodshop.units.lengths import ZERO, Density, Length, inch
from woodshop.units.wording import in_short


def front_chapter(
    planned: PlannedBatch, chapters: tuple[Section, ...], dates: BatchDates | None = None, impossible: str = ""
) -> Section:
    """The front page of a packet; `chapters` are the chapters after it, and `dates` come from its schedule, if any.

    If the due dates cannot be kept, `impossible` says why; otherwise it is "".
    """
    batch = planned.batch
    figures = [
        ("hives", str(sum(group.count for group in batch.hives))),
        ("pieces to cut", str(sum(need.count for each in planned.plans for need in each.job.needs))),
        ("boards to saw", str(sum(lay.times for lay in numbered_layouts(planned) if lay.is_sawn))),
        (_what_total_is(planned), str(planned.to_pay)),
    ]
    days = due_dates(batch.hives)
    if days:
        word = "first due" if len(days) > 1 else "on the hives by" if days[0].day == batch.days.on_by else "due"
        figures.append(("cannot be kept" if impossible else word, in_short(days[0].day)))
    if latest := max((lot.late for lot in dates.lots), default=0) if dates is not None else 0:
        figures.append(("late by", f"{latest} day{'' if latest == 1 else 's'}"))
    titles = _titles(chapters)
    acts = (
        Heading("Decide or measure first", 2),
        *_verdict(planned, is_too_late=bool(impossible)),
        Steps(tuple(_acts(planned, titles))),
    )
    picture = first_ready(planned)
    contents = contents_table(chapters, ("Evidence: findings, bee space, lowest cost", "report.pdf"))
    return Section(
        batch.pages.title,
        (
            KeyFigures(tuple(figures)),
            *((Beside(picture[:1], (*acts, Heading("Numbers in the picture", 3), picture[1])),) if picture else acts),
            *([Paragraph(impossible, lead="Why the dates cannot be kept.")] if impossible else []),
            *(due_blocks(batch, planned.units) if dates is None else date_blocks(dates)),
            Beside(
                (Heading("What is made", 2), made_table(planned), *_time(planned, dates is not None)),
                (Heading("Contents", 2), contents),
            ),
            tools_paragraph(planned, chapters),
            *full_size_words(planned),
        ),
    )


def _what_total_is(planned: PlannedBatch) -> str:
    """The caption of the total, with the number of goods that it excludes because the files have no price."""
    goods = [each.what for each in planned.unpriced]
    without = f"; no price for {goods[0] if len(goods) == 1 else f'{len(goods)} goods'}" if goods else ""
    return ("to pay" if planned.to_pay != planned.total else "to buy") + without


def _titles(chapters: Iterable[Section]) -> dict[str, str]:
    """The anchor of each chapter, by its title."""
    return {chapter.title: chapter.anchor for chapter in chapters if chapter.title}


def contents_table(chapters: Iterable[Section], *more: tuple[str, str]) -> Table:
    """A row for each chapter, with its page, then the rows in `more`."""
    rows = [(title, page_of(anchor, "{}", "")) for title, anchor in _titles(chapters).items()]
    return Table((Column("chapter", weight=8), Column("page", Align.RIGHT, weight=2)), (*rows, *more), small=True)


def made_table(planned: PlannedBatch) -> Table:
    """A row for each item: the number of hives that get it, and how many are on hand, bought, made and spare."""
    rows = []
    for title in dict.fromkeys(line.item.title for line in planned.batch.lines if line.count):
        own = [line for line in planned.batch.lines if line.item.title == title]
        made, bought, hand = (sum(getattr(line, key) for line in own) for key in ("count", "bought", "kept"))
        hives = sum(line.hives.count for line in own if line.item.is_per_hive)
        spare = made + bought + hand - hives if hives else 0
        rows.append((title, *(str(max(n, 0) or "") for n in (hives, hand, bought, made, spare))))
    heads = ("hives", "on hand", "bought", "made", "spare")
    kept = [n for n, head in enumerate(heads) if head == "made" or any(row[n + 1] for row in rows)]
    columns = (Column("", weight=8), *(Column(heads[n], Align.RIGHT, weight=3) for n in kept))
    return Table(columns, tuple((row[0], *(row[n + 1] for n in kept)) for row in rows))


def _verdict(planned: PlannedBatch, *, is_too_late: bool) -> list[Block]:
    """A sentence about whether the batch can be cut, and whether its dates can be kept."""
    report = planned.report
    if report.has_errors:
        return [Paragraph("Errors were found.", lead="Do not cut.")]
    notes = [f for _, f in grouped(report.findings) if f.severity is Severity.NOTE]
    text = f"{len(notes)} note{'s' if len(notes) != 1 else ''} in report.pdf" if notes else "Every check passes."
    known = [re.split("[.:]", f.value.removeprefix("sizes vary: "))[0] for f in notes if f.code in _TO_KNOW]
    text += f", among them: {'; '.join(known)}." if known else "." if notes else ""
    lead = "Read the warnings below, then cut." if report.count(Severity.WARNING) else "No errors. You can cut."
    late = [Paragraph("Further down, this page says why, and what would help.", lead="These dates cannot be kept.")]
    return [*(late if is_too_late else ()), Paragraph(text, lead=lead)]


def _acts(planned: PlannedBatch, titles: dict[str, str]) -> Iterator[str]:
    """The decisions and measurements needed before wood is bought or cut. Errors and warnings come first."""
    for places, f in grouped(planned.report.findings):
        if f.severity is not Severity.NOTE:
            yield f"{WORDS[f.severity]}: {f.value} ({'; '.join(places_shortened(places, planned.batch))}). {f.change}"
    yield from weigh_first(planned)
    unit, saw = planned.batch.unit, planned.batch.saw
    if any(plan.job.material.is_sawn for plan in planned.plans):
        kerfs = " and ".join(dict.fromkeys(each.text(unit) for each in (saw.rip_kerf, saw.crosscut_kerf)))
        own = saw.tools.resawing
        if own is not None and any(resawings(each) for each in planned.lumber):
            kerfs += f", and {own.kerf.text(unit)} where boards are resawn"
        yield (
            f"Measure your blade's kerf in scrap. These pages are for {kerfs}. If your kerf is wider, run the plan "
            "again with it, or send the figure to whoever made this packet."
        )
    if by_hand := _cut_by_hand(planned):
        cuts = "1 crosscut is" if by_hand == 1 else f"{by_hand} crosscuts are"
        yield (
            f"{cuts} for the hand saw: no width is set for your miter saw, so it gets boards up to "
            f"{saw.tools.miter_saw_width.text(unit)} wide. If it cuts wider, set miter_saw_width under [tools]."
        )
    if planned.example_cost.minor:
        yield (
            f"Ask for the prices that are marked as example prices ({_page('Shopping', titles)}): they make up "
            f"{planned.example_cost} of the total, and nobody has confirmed them."
        )
    if widths_to_buy(planned):
        yield f"Take a tape and calipers to the lumberyard ({_page('Shopping', titles)})."
    if bought_strip_blocks(planned):
        rip, buy = _page("Thin-rip stop", titles), _page("Shopping", titles)
        yield f"Decide whether to rip strips ({rip}) or buy them ({buy})."
    if any(line.kept or line.repaired for line in planned.batch.lines):
        first = page_of("old-parts", otherwise=_page("First article", titles))
        yield f"Measure the old parts in your shed before you build around them ({first})."


def _cut_by_hand(planned: PlannedBatch) -> int:
    """The crosscuts that go to the hand saw only because the width of the miter saw is a default."""
    batch = planned.batch
    if MITER_SAW not in batch.saw.tools.crosscut_with or not any(
        (each.where, each.name) == ("tools", "miter_saw_width") for each in batch.defaults
    ):
        return 0
    widest = max((offer.width for each in planned.plans for offer in each.job.offers), default=ZERO)
    wide = replace(batch, saw=replace(batch.saw, tools=replace(batch.saw.tools, miter_saw_width=widest)))
    found = 0
    for lay in numbered_layouts(planned):
        cuts = saw_cuts(lay.plan.job.job, lay.layout)
        other = tools_for(lay, cuts, wide)
        for cut, tool in tools_for(lay, cuts, batch).items():
            found += lay.times * max(cut.count, 1) * (tool == HAND_SAW and saw_of(other[cut]) == MITER_SAW)
    return found


def _page(start: str, titles: dict[str, str]) -> str:
    """The page number of the chapter whose title starts with this text."""
    return next((page_of(anchor) for title, anchor in titles.items() if title.startswith(start)), "see the packet")


_BELOW = "below "
_TO_KNOW = ("gaps-vary", "top-ventilation-is-disputed", "wood-off-wood")  # notes given only here
_WIDE = inch("1/2")  # a hole this wide needs a Forstner or spade bit


def weigh_first(planned: PlannedBatch) -> Iterator[str]:
    """The sugar densities below which taller rims are needed, and what to do. Empty if density affects no rim."""
    least = []
    for places, finding in grouped(planned.report.findings):
        if finding.code == "density-decides-lumber" and finding.limits.startswith(_BELOW):
            boxes = ", ".join(hives_fitted(place.partition(" / ")[2], planned.batch) for place in places)
            limit = finding.limits.removeprefix(_BELOW).partition(" you")[0]
            weighs = quart_text(Density(Fraction(limit.partition(" ")[0])), planned.batch)
            least.append(f"{weighs} for {boxes}")
    if least:
        more = page_of("weigh-your-sugar", " (page {})", "")
        measure = "liter" if planned.batch.unit == "mm" else "quart"
        yield (
            f"Weigh your sugar before you buy wood{more}. You need taller rims (step 4 there) if a level {measure} of "
            f"the damp mix weighs less than {', '.join(least)}."
        )


_NAMED = (
    ("guide for the circular saw", "circular saw, guide"),
    ("straight carrier board for crooked edges", "table saw, carrier board"),
    ("hand plane", "edges, hand plane"),
    ("miter gauge with a tall backing board", "miter gauge with a tall"),
    ("straightedge", "straightedge"),
    ("open-end wrench", "wrench"),
    ("chisel", "chisel"),
    ("metal file", r"\bfile (?:its|the|every|sharp|or fold|it square)"),
    ("sandpaper", r"\bsand (?:the|each)"),
    ("staple puller", "old staple"),
    ("flat board to press sugar", "press it down with a flat board"),
    ("chalk", "chalk"),
)  # fmt: skip
"""Tools named in the chapters' steps: the tool's name in the list, and the words that name it in steps."""


def _named_in(chapters: Iterable[Section]) -> list[str]:
    """The hand tools that the steps of these chapters name.

    Shopping and safety are not searched, because they also name tools that are not needed.
    """
    text = " ".join(section_text(each) for each in chapters if not each.title.startswith(("Shopping", "Safety")))
    return [name for name, words in _NAMED if re.search(words, text, re.IGNORECASE)]


def tools_paragraph(planned: PlannedBatch, chapters: Iterable[Section]) -> Paragraph:
    """The tools for the work in these chapters."""
    return Paragraph(f"{'. '.join(_tools(planned, chapters))}.", lead="Tools and bits.")


def _tools(planned: PlannedBatch, chapters: Iterable[Section]) -> Iterator[str]:
    """The saws, bits, hand tools and measuring tools needed for the parts of this batch."""
    saws: dict[str, None] = {}
    resawing = planned.batch.saw.tools.resawing
    widths = [own.offer.width for each in planned.lumber for own in resawings(each) if own.offer.width is not None]
    if resawing is not None and widths:
        high = max(widths).text(planned.batch.unit)
        saws |= dict.fromkeys(
            (f"{resawing.saw.partition(' with')[0]} (to resaw boards {high} wide, on edge)", "planer")
        )
    used = [each for tool in tools_of(planned) for each in tool.split(THEN)]
    named = (TABLE_SAW, MITER_SAW, CIRCULAR_SAW, SLED, HAND_SAW, "miter box")
    saws |= {name: None for name in named if any(name in tool.split(", ") for tool in used)}
    if saws:
        yield _listed(saws)
    parts = [need.part for each in planned.plans for need in each.job.needs]
    names = {cut.name for part in parts for cut in part.cuts}
    if any("rabbet" in name or "groove" in name for name in names):
        yield "Dado set or router for rabbets and grooves"
    say = planned.units[0].line.setting.wording.on_drill if planned.units else Length.text
    holes = {cut.outline.diameter for part in parts for cut in part.cuts if isinstance(cut.outline, RoundOutline)}
    made = [unit for unit in planned.units if unit.line.count]
    kinds = {fastener.kind for unit in made for fastener in unit.assembly.fasteners}
    screws = [unit.line.setting.corner_screw for unit in made if unit.line.setting.corner_screw.kind in kinds]
    pilots = {screw.pilot for screw in screws if screw.pilot is not None}
    clear = {screw.clearance for screw in screws if screw.clearance is not None}
    bits = [f"{say(size)} {'Forstner or spade' if size >= _WIDE else '(holes)'}" for size in sorted(holes)]
    bits += [f"{say(size)} (pilot holes)" for size in sorted(pilots)]
    bits += [f"{say(size)} (clearance holes)" for size in sorted(clear)]
    bits += stop_bits(planned)
    if bits:
        press = "drill press" if any(size not in (*pilots, *clear) for size in holes) else "drill"
        yield f"{press.capitalize()}, with bits {_listed(bits)}{', countersink' if clear else ''}"
    hand: list[str] = [
        each for each in dict.fromkeys(part.material.kind.cut_with for part in parts) if each not in ("", "saw")
    ]
    hand += ["staple gun"] if any("staple" in kind for kind in kinds) else []
    hand += ["screwdriver, clamps, square"] if pilots else []
    hand += _named_in(chapters)
    if hand:
        yield _listed(hand)
    if saws:
        yield "Eye and ear protection" + ("; gloves for mesh and sheet metal" if "tin snips" in hand else "")
    gauge = any(" gauge" in step for unit in made for step in unit.assembly.steps)
    yield "Tape, rule, calipers, pencil" + ("; bee-space gauge or drill bits" if gauge else "")


def _listed(words: Iterable[str]) -> str:
    text = ", ".join(words)
    return text[:1].upper() + text[1:]


_STAGES = (
    ("resawing and planing", ("resaw", "plane")),
    ("sawing", ("crosscut", "rip", "saw", "fence")),
    ("machining", ("rabbet", "groove", "finger", "notch", "drill", "punch", "cutter")),
    ("snipping and stapling", ("snip", "passage", "fold", "staple")),
    ("assembly", ("corner", "glue_up", "paint", "bag", "label", "wrap")),
    ("mixing, packing, filling", ("mix", "pack", "fill")),
)


def _time(planned: PlannedBatch, has_days: bool) -> list[Block]:
    """The time needed, from the table of time standards; if there is a schedule, what that counts besides."""
    minutes: dict[str, Fraction] = {}
    unit = planned.batch.unit
    for work in work_of(planned, cost_rows(planned.batch, planned.units)) if planned.plans else ():
        stage = next((name for name, keys in _STAGES if work.key in keys), "the rest")
        count = work.count * planned.batch.work.coats if work.key == "paint" else work.count
        if count:
            minutes[stage] = minutes.get(stage, Fraction(0)) + count * BY_KEY[work.table, work.key].minutes
    if not minutes:
        return []
    words = [
        f"{name} {_hours(minutes[name], unit)}"
        for name in (*(name for name, _ in _STAGES), "the rest")
        if name in minutes
    ]
    text = f"About {_hours(sum(minutes.values(), Fraction(0)), unit)} hours for one person: {', '.join(words)}."
    more = " days.pdf adds trips and work on the hives." if has_days else " Your pace will differ."
    return [Paragraph(f"{text}{more}", lead="Time.")]


def _hours(minutes: Fraction, unit: str = "in") -> str:
    """Hours to the nearest half, at least a half.

    >>> _hours(Fraction(100)), _hours(Fraction(5)), _hours(Fraction(600)), _hours(Fraction(100), "mm")
    ('1 1/2', '1/2', '10', '1.5')
    """
    halves = max(1, round(minutes / 30))
    if unit == "mm":
        return f"{halves / 2:g}"
    return " ".join(filter(None, (str(halves // 2) if halves > 1 else "", "1/2" if halves % 2 else "")))
