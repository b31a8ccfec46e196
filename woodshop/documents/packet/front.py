"""The front page, the buy list and the costs."""

from woodshop.design.batch import Line, due_dates
from woodshop.documents.days import in_short, in_words
from woodshop.documents.packet.bought_strips import bought_strip_blocks
from woodshop.documents.packet.buying import bill_blocks, choice_blocks, seen_words
from woodshop.documents.packet.due import due_blocks
from woodshop.documents.packet.layouts import numbered_layouts
from woodshop.documents.packet.measure_first import widths_to_buy
from woodshop.documents.packet.thin_rip_stop import stop_hardware
from woodshop.documents.report.bounds import dearer, standing_blocks
from woodshop.documents.report.report import WORDS, grouped
from woodshop.drawing.values.model import (
    Align,
    Block,
    Bullets,
    Column,
    Heading,
    KeepTogether,
    KeyFigures,
    Paragraph,
    Section,
    Table,
    page_of,
)
from woodshop.findings import Severity
from woodshop.plan.values import PlannedBatch, Purchase
from woodshop.units.lengths import Money


def front_chapter(planned: PlannedBatch, chapters: tuple[Section, ...]) -> Section:
    """What is made, how many, what it costs, and what the checks say, on one page; and where each chapter is."""
    batch = planned.batch
    hives = sum(group.count for group in batch.hives)
    pieces = sum(need.count for each in planned.plans for need in each.job.needs)
    boards = sum(lay.times for lay in numbered_layouts(planned) if lay.is_sawn)
    figures = [
        ("hives", str(hives)),
        ("pieces to cut", str(pieces)),
        ("boards", str(boards)),
        ("to pay" if planned.to_pay != planned.total else "to buy", str(planned.to_pay)),
    ]
    days = due_dates(batch.hives)
    if days:
        word = "first due" if len(days) > 1 else "on the hives by" if days[0].day == batch.on_by else "due"
        figures.append((word, in_short(days[0].day)))
    rows = _made(batch.lines, _MOST_LINES if len(days) < 2 else _MOST_BESIDE_DATES)
    columns = (
        Column("what", weight=4),
        Column("for", weight=6),
        Column("how the number comes about", weight=8),
        Column("make", Align.RIGHT, weight=1),
    )
    contents = tuple((chapter.title, page_of(chapter.anchor)) for chapter in chapters if chapter.title)
    blocks = (
        KeyFigures(tuple(figures)),
        *due_blocks(batch, planned.units),
        Heading("What is made", 2),
        Table(columns, rows),
        Heading("What the checks say", 2),
        *_found(planned),
        Heading("Contents", 2),
        Table((Column("", weight=8), Column("", weight=2)), contents),
    )
    return Section(batch.title, blocks)


_MOST_LINES = 18  # more than this and the front page sums up; the customers' pages have every line
_MOST_BESIDE_DATES = 10  # the same where a table of due dates is on the page


def _made(lines: tuple[Line, ...], most: int) -> tuple[tuple[str, str, str, str], ...]:
    """What is made, line by line, or summed up by item and box where there are many."""
    if len(lines) <= most:
        return tuple((line.item.title, _whose(line), line.arithmetic, str(line.count)) for line in lines)
    groups: dict[str, list[Line]] = {}
    for line in lines:
        groups.setdefault(line.item.title, []).append(line)
    rows = []
    for title, alike in groups.items():
        formats = dict.fromkeys(line.fits for line in alike)
        where = "the whole batch" if not alike[0].item.is_per_hive else ", ".join(formats)
        words = alike[0].arithmetic if len(alike) == 1 else " + ".join(str(line.count) for line in alike)
        rows.append((title, where, words, str(sum(line.count for line in alike))))
    return tuple(rows)


def customer_chapter(planned: PlannedBatch) -> Section:
    """What each customer gets, and how the numbers come about; nothing where no customer is named."""
    customers = [c for c in dict.fromkeys(h.customer for h in planned.batch.hives) if c]
    blocks: list[Block] = []
    columns = (
        Column("what", weight=5),
        Column("for", weight=7),
        Column("how the number comes about", weight=7),
        Column("make", Align.RIGHT, weight=1),
    )
    for customer in customers:
        lines = [x for x in planned.batch.lines if x.hives.customer == customer and x.item.is_per_hive]
        hives = sum(group.count for group in planned.batch.hives if group.customer == customer)
        rows = tuple((x.item.title, _whose(x), x.arithmetic, str(x.count)) for x in lines)
        days = due_dates(x.hives for x in lines)
        due = ", due " + " and ".join(in_words(each.day) for each in days) if days else ""
        blocks += [Heading(f"{customer}, {hives} hives{due}", 2), Table(columns, rows)]
    return Section("By customer", tuple(blocks))


def _whose(line: Line) -> str:
    if not line.item.is_per_hive:
        return "the whole batch"
    form = "" if line.hives.is_packed or line.hives.form in line.hives.name else line.hives.form
    order = f"order {line.hives.order}" if line.hives.order and line.hives.order not in line.hives.name else ""
    fits = "" if line.hives.name.endswith(line.fits) else line.fits
    return ", ".join(filter(None, (order, line.hives.name, fits, form)))


def _found(planned: PlannedBatch) -> list[Block]:
    report = planned.report
    counts = {severity: report.count(severity) for severity in Severity}
    if not report.findings:
        return [Paragraph("Everything that is checked fits.")]
    lines = [
        f"{WORDS[f.severity]}: {f.value} ({'; '.join(places)})."
        for places, f in grouped(report.findings)
        if f.severity is not Severity.NOTE
    ]
    notes = [f.value for _, f in grouped(report.findings) if f.severity is Severity.NOTE]
    if not lines:
        lead = "Nothing stands in the way of cutting."
    elif counts[Severity.ERROR]:
        lead = "Do not cut."
    else:
        lead = "It can be cut; read this first."
    where = f"{len(notes)} notes are in report.pdf." if notes else ""
    blocks: list[Block] = [Paragraph(where, lead=lead), *weigh_first(planned)]
    if lines:
        blocks.append(Bullets(tuple(lines)))
    return blocks


_BELOW = "below "


def weigh_first(planned: PlannedBatch) -> list[Block]:
    """For each rim, the density under which it must be taller; nothing where the density decides no rim."""
    least, change = [], ""
    for places, finding in grouped(planned.report.findings):
        if finding.code == "density-decides-lumber" and finding.limits.startswith(_BELOW):
            boxes = ", ".join(place.partition(" / ")[2] for place in places)
            least.append(f"{finding.limits.removeprefix(_BELOW).partition(' you')[0]} ({boxes})")
            change = finding.change
    if not least:
        return []
    text = f"You need a taller rim if your sugar packs below {', '.join(least)}. {change}"
    return [Paragraph(text, lead="Weigh your sugar before you buy wood.")]


def standing(planned: PlannedBatch) -> str:
    """In one sentence, how near the sawn stock is to the least it could cost."""
    by_choice = sum(dearer(each) for each in planned.plans)
    over = sum(each.plan.gap for each in planned.plans)
    open_plans = [each for each in planned.plans if each.plan.gap]
    currency = planned.batch.yard.currency
    if by_choice:
        told = f"By choice this plan costs {Money(by_choice, currency)} more than the cheapest found, for less work"
        told += " and better offcuts" if planned.batch.worth is not None and planned.batch.worth.offcut.minor else ""
        return f"{told}; the cheapest this yard allows is at most {Money(over, currency)} below it."
    if any(each.plan.assurance == "first_fit" for each in planned.plans):
        return f"Laid by rule of thumb: at most {Money(over, currency)} above the least possible."
    if open_plans:
        return f"This plan costs at most {Money(over, currency)} more than the cheapest that this yard allows."
    return "No cutting plan from this yard and this rack can cost less."


def shopping_chapter(planned: PlannedBatch) -> Section:
    """What to buy, from the rack, without a price, and what each unit costs."""
    batch = planned.batch
    blocks: list[Block] = [
        Paragraph(f"{seen_words(batch.yard)} {standing(planned)}"),
        *bill_blocks(planned, lambda purchases: _to_layouts(planned, purchases)),
        *widths_to_buy(planned),
        *choice_blocks(planned),
        *standing_blocks(planned),
    ]
    rack: dict[str, list[str]] = {}
    for lay in numbered_layouts(planned):
        if lay.is_rack:
            rack.setdefault(lay.what, []).extend([lay.name.removeprefix("Layout ")] * lay.times)
    if rack:
        lines = tuple(
            f"{what}: {len(names)} for {_layouts_named(tuple(dict.fromkeys(names)))}" for what, names in rack.items()
        )
        blocks += [Heading("From the rack", 2), Bullets(lines)]
    blocks += bought_strip_blocks(planned)
    lines = (*(f"{u.what}: {u.amount}" for u in planned.unpriced), *stop_hardware(planned))
    if lines:
        blocks += [Heading("Needed, without a price in the yard file", 2), Bullets(lines)]
    if batch.yard.left_out:
        blocks += [Heading("Left out", 2), Bullets(batch.yard.left_out)]
    return Section("Shopping", (*blocks, *_cost_blocks(planned)))


def _layouts_named(numbers: tuple[str, ...]) -> str:
    return f"layout{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}"


def _to_layouts(planned: PlannedBatch, purchases: tuple[Purchase, ...]) -> tuple[tuple[int, int, str], ...]:
    """From what is bought to the first layout that is cut from it."""
    first: dict[str, str] = {}
    for layout in numbered_layouts(planned):
        first.setdefault(layout.what, layout.anchor)
    return tuple((n, 2, first[p.what]) for n, p in enumerate(purchases) if p.what in first)


def _cost_blocks(planned: PlannedBatch) -> list[Block]:
    rows = [(c.address, str(c.count), c.each, str(c.total)) for c in planned.costs if c.count]
    rows.append(("Together", "", "", str(planned.total)))
    columns = (
        Column("what", weight=8),
        Column("how many", Align.RIGHT, weight=2),
        Column("each", Align.RIGHT, weight=2),
        Column("in all", Align.RIGHT, weight=2),
    )
    words = (
        Heading("What one costs", 2),
        Paragraph(
            "Material only: boards and sheets by the area that each takes, waste in proportion; wood from the rack "
            "and what is left over in bags and boxes are not counted off.",
            small=True,
        ),
        Table(columns, tuple(rows), (len(rows) - 1,)),
    )
    return [KeepTogether(words)]
