"""All files of a result, as bytes keyed by their path in its folder, and its report. Nothing is written here."""

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TypeVar

from woodshop.design.batch import BatchLine, due_dates
from woodshop.documents.bee_map.bee_map import bee_map_files, bee_maps, map_chapter
from woodshop.documents.bee_map.sheets import DrawnMap
from woodshop.documents.days.days import DAYS_NAMES, days_files
from woodshop.documents.fullsize.drawings import drawing_files, machine_files
from woodshop.documents.fullsize.labels import labels_pdf
from woodshop.documents.fullsize.story_stick import story_stick_pdf
from woodshop.documents.fullsize.templates import templates_pdf
from woodshop.documents.lists import buy_csv, cuts_csv, parts_csv, workbook
from woodshop.documents.packet.assembly import item_figures_section
from woodshop.documents.packet.due import batch_dates, date_texts
from woodshop.documents.packet.first_article import limits_section
from woodshop.documents.packet.layouts import needs_of, numbered_layouts
from woodshop.documents.packet.packet import packet
from woodshop.documents.packet.shopping import certainty_text, choice_text
from woodshop.documents.packet.what_changed import what_changed_section
from woodshop.documents.report.bounds import bound_chapter
from woodshop.documents.report.cold_top import cold_chapter
from woodshop.documents.report.report import default_chapter, findings_chapter, grouped
from woodshop.documents.report.variation import variation_chapter
from woodshop.documents.saw.saw_page import saw_html, with_pages_of_packet
from woodshop.drawing.pens.pdf import pdf_and_pages, write_pdf
from woodshop.drawing.values.model import Align, Block, Column, Document, Heading, KeyValues, Paragraph, Section, Table
from woodshop.drawing.values.style import register
from woodshop.files.one_file import json_bytes
from woodshop.findings import Severity
from woodshop.plan.cost import CostRow, cost_rows, is_without_price
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.prove_batch import proof_files
from woodshop.plan.rest.plan_rest import PlanOfRest, rest_to_json
from woodshop.plan.values import PlannedBatch, UnitCost
from woodshop.schedule.schedule_json import WrittenSchedule
from woodshop.schedule.scheduled import ScheduledBatch
from woodshop.units.lengths import lengths_in
from woodshop.units.wording import date_text
from woodshop.workers import in_order, steps_left, workers

_COUNTS = (
    Column("what", weight=5),
    Column("for", weight=7),
    Column("how the number is calculated", weight=7),
    Column("make", Align.RIGHT, weight=1),
)
_COSTS = (
    Column("what", weight=8),
    Column("how many", Align.RIGHT, weight=2),
    Column("each", Align.RIGHT, weight=2),
    Column("total", Align.RIGHT, weight=2),
)


def line_chapter(planned: PlannedBatch) -> Section:
    """A table of every line of the batch: its hives, how its count is calculated, and the material cost of one unit."""
    batch = planned.batch
    customers = list(dict.fromkeys(h.customer for h in batch.hives if h.customer))
    blocks: list[Block] = [Paragraph(certainty_text(planned))] if planned.purchases else []
    shared = [line for line in batch.lines if not line.item.is_per_hive or not line.hives.customer]
    if shared:
        blocks.append(_table(shared))
    for customer in customers:
        lines = [x for x in batch.lines if x.hives.customer == customer and x.item.is_per_hive]
        hives = sum(group.count for group in batch.hives if group.customer == customer)
        days = due_dates(x.hives for x in lines)
        due = ", due " + " and ".join(date_text(each.day) for each in days) if days else ""
        blocks += [Heading(f"{customer}, {hives} hives{due}", 2), _table(lines)]
    rows = cost_rows(batch, planned.units)
    costs = tuple(_cost(planned, row, cost) for row, cost in zip(rows, planned.costs, strict=False) if cost.count)
    total = ("Total", "", "", str(planned.total))
    basis = (
        "Material only, as bought: whole boards, rolls, bags and boxes, with what is left over of them. Boards, rolls "
        "and sheets are shared by the area that each item uses, other goods by the amount. Your own offcuts are not "
        "charged."
    )
    if planned.unpriced:
        basis += f" No price in the lumberyard file, so not in these costs: {planned.unpriced_goods}."
    blocks += [
        Heading("Cost of each line", 2),
        Paragraph(basis, small=True),
        Table(_COSTS, (*costs, total), (len(costs),), small=True),
    ]
    return Section("Number and cost of each item", tuple(blocks))


def _cost(planned: PlannedBatch, row: CostRow, cost: UnitCost) -> tuple[str, ...]:
    is_open = is_without_price(row, planned.purchases, planned.unpriced)
    money = ("no price", "no price") if is_open else (cost.each, str(cost.total))
    return (cost.address, str(cost.count), *money)


def _table(lines: list[BatchLine]) -> Table:
    return Table(_COUNTS, tuple((x.item.title, _whose(x), x.arithmetic, str(x.count)) for x in lines), small=True)


def _whose(line: BatchLine) -> str:
    if not line.item.is_per_hive:
        return "the whole batch"
    form = "" if line.hives.is_packed or line.hives.form in line.hives.name else line.hives.form
    order = f"order {line.hives.order}" if line.hives.order and line.hives.order not in line.hives.name else ""
    fits = "" if line.hives.name.endswith(line.fits) else line.fits
    return ", ".join(filter(None, (order, line.hives.name, fits, form)))


def proof(planned: PlannedBatch, maps: Sequence[DrawnMap]) -> Document:
    """The report of a batch with the maps of its hives. If there are errors, DO NOT CUT is on every page."""
    chapters = (
        findings_chapter(planned),
        map_chapter(maps),
        cold_chapter(planned),
        variation_chapter(planned),
        limits_section(planned),
        item_figures_section(planned),
        line_chapter(planned),
        bound_chapter(planned),
        default_chapter(planned),
    )
    return Document(
        f"{planned.batch.pages.title}: report",
        "Winter hive hardware: proof of the packet",
        tuple(chapter for chapter in chapters if chapter.blocks),
        footer=planned.batch.name,
        banner="DO NOT CUT" if planned.report.has_errors else None,
    )


_Made = TypeVar("_Made")
_NAMES = (
    "packet.pdf report.pdf plan.json saw.html workbook.xlsx templates.pdf story-stick.pdf labels.pdf buy.csv cuts.csv "
    "parts.csv"
)
RESULT_NAMES = (*_NAMES.split(), *DAYS_NAMES, "drawings/-", "proof/-")  # the last two stand for folders


def result_files(
    planned: PlannedBatch,
    progress: Callable[[str], None],
    rest: PlanOfRest | None = None,
    scheduled: ScheduledBatch | None = None,
    replaced: WrittenSchedule | None = None,
    impossible: str = "",
    files: Mapping[str, str] | None = None,
) -> dict[str, bytes]:
    """The packet, the report, the drawings, the lists, the plan and its days. The manifest is added when they are
    written. With `rest`, `planned` is the rest of an earlier plan, and the packet says what changed. `scheduled` is the
    schedule, if there is one, and `replaced` the schedule that it replaces. If the due dates cannot be kept,
    `impossible` says why. `files` names the design and its book on the saw page. `progress` gets messages.

    The number of processor cores does not change the files. Raises InputError for content that cannot be drawn or
    printed.
    """
    register()  # before the work is shared, so that fonts are read once
    makers = {
        _bound: "the packet",
        _proved: "the report and the bee-space maps",
        _drawn: "drawings and files for machines",
        _listed: "lists, the plan and its days",
        _at_full_size: "templates and labels",
    }
    with workers(len(makers), _set_batch, (_Given(planned, rest, scheduled, replaced, impossible, files),)) as cores:
        made = [cores.submit(_with_batch, each) for each in makers]
        found: dict[str, bytes] = {}
        for each in in_order(made, steps_left("drawing and writing", tuple(makers.values()), progress)):
            found |= each
    pages = json.loads(found.pop(_PAGES, b"{}"))  # none without a packet
    return found | {"saw.html": with_pages_of_packet(found["saw.html"], pages)}


_PAGES = "pages of the packet"  # no file: the page of each anchor, for the saw page, which another process makes


@dataclass(frozen=True, slots=True)
class _Given:
    planned: PlannedBatch
    rest: PlanOfRest | None
    scheduled: ScheduledBatch | None
    replaced: WrittenSchedule | None
    impossible: str
    files: Mapping[str, str] | None


_BATCH: list[_Given] = []  # what a forked process was started with: an item's own function cannot be sent to it


def _set_batch(given: _Given) -> None:
    _BATCH[:] = [given]


def _with_batch(make: Callable[[_Given], _Made]) -> _Made:
    with lengths_in(_BATCH[0].planned.batch.unit):
        return make(_BATCH[0])


def _bound(given: _Given) -> dict[str, bytes]:
    planned = given.planned
    changed = None if given.rest is None else what_changed_section(given.rest, planned.batch.unit)
    dates = batch_dates(planned, None if given.scheduled is None else given.scheduled.schedule)
    document = packet(planned, changed, dates, given.impossible)
    file, pages = pdf_and_pages(document, planned.batch.pages.paper)
    return {"packet.pdf": file, _PAGES: json_bytes(pages)}


def _proved(given: _Given) -> dict[str, bytes]:
    planned = given.planned
    maps = bee_maps(planned.units, planned.batch.unit, planned.batch.conditions.band)
    return {"report.pdf": write_pdf(proof(planned, maps), planned.batch.pages.paper)} | bee_map_files(maps)


def _drawn(given: _Given) -> dict[str, bytes]:
    return drawing_files(given.planned) | machine_files(given.planned)


def _listed(given: _Given) -> dict[str, bytes]:
    planned = given.planned
    plan = batch_to_json(planned) if given.rest is None else rest_to_json(given.rest)
    files = {
        "buy.csv": buy_csv(planned),
        "cuts.csv": cuts_csv(planned),
        "parts.csv": parts_csv(needs_of(planned), planned.batch.unit),
        "workbook.xlsx": workbook(planned),
        "plan.json": json_bytes(plan),
        "saw.html": saw_html(planned, plan["digest"], is_rest=given.rest is not None, files=given.files),
        **proof_files(planned),
    }
    return files if given.scheduled is None else files | days_files(given.scheduled, given.replaced, plan["digest"])


def _at_full_size(given: _Given) -> dict[str, bytes]:
    planned = given.planned
    files = {"templates.pdf": templates_pdf(planned), "story-stick.pdf": story_stick_pdf(planned)}
    labels = None if planned.report.has_errors else labels_pdf(planned)
    return files if labels is None else files | {"labels.pdf": labels}


def result_section(
    planned: PlannedBatch, folder: Path, scheduled: ScheduledBatch | None = None, impossible: str = ""
) -> Section:
    """The message after the packet is written, with the dates of its schedule or why its dates are `impossible`."""
    found = [f.severity for _, f in grouped(planned.report.findings)]  # as the cover counts them
    counts = {word: found.count(word) for word in (Severity.ERROR, Severity.WARNING, Severity.NOTE)}
    summed: dict[str, str | int] = {
        "batch": planned.batch.name,
        "folder": str(folder),
        "units": sum(line.count for line in planned.batch.lines),
        "pieces": sum(need.count for each in planned.plans for need in each.job.needs),
        "layouts": len(numbered_layouts(planned)),
        "cost": str(planned.total),
    }
    if planned.to_pay != planned.total:
        summed |= {f"pay {bill.lumberyard}": str(bill.total) for bill in planned.bills}
        summed["to pay"] = str(planned.to_pay)
    if planned.example_cost.minor:
        summed["example prices"] = (
            f"{planned.example_cost} of the cost, not confirmed: they are marked in the shopping list"
        )
    if planned.choices is not None:
        summed["lumberyards"] = choice_text(planned)
    summed["bound"] = certainty_text(planned)
    dates = batch_dates(planned, None if scheduled is None else scheduled.schedule)
    summed |= {} if dates is None else date_texts(dates)
    summed |= {"days": f"No schedule. {impossible}"} if impossible else {}
    summed["findings"] = ", ".join(f"{n} {word}{'s' if n != 1 else ''}" for word, n in counts.items())
    return Section("", (KeyValues(tuple(summed.items())),), summed)
