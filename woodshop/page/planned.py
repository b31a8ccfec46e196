"""Plans a batch and compares its costs in a background process, and makes what the screens show of it."""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import replace
from datetime import date
from pathlib import Path

from woodshop.cutting.model.plan import Effort
from woodshop.design.lumberyard.lumberyard_file import read_lumberyard
from woodshop.documents.answers.boards import boards_sections
from woodshop.documents.answers.comparison import BARS_WORDS, bars, comparison_section
from woodshop.documents.days.days import days_on_screen, durations_table
from woodshop.documents.days.goals import late_words
from woodshop.documents.packet.shopping import certainty_text, shopping_chapter, unused_offcuts
from woodshop.documents.plan_design import Say, plan_design, planned_before, schedule_beside
from woodshop.documents.report.report import findings_section, verdict_line
from woodshop.documents.result import line_chapter, result_section
from woodshop.drawing.pens.html import section_html
from woodshop.drawing.values.model import Bullets, KeyFigures, KeyValues, Paragraph, Section, SetOut, joined
from woodshop.errors import InputError
from woodshop.page.opened.folder import Folder
from woodshop.page.shown import UNITS, ScreenPart, ShownBatch, inputs_digest, results_beside
from woodshop.plan.book.reading import read_with_book
from woodshop.plan.values import PlannedBatch
from woodshop.schedule.calendar import day_of
from woodshop.schedule.late_orders import ImpossibleDatesError
from woodshop.schedule.operations import KINDS
from woodshop.schedule.schedule_batch import schedule_batch
from woodshop.schedule.scheduled import ScheduledBatch
from woodshop.schedule.values import Schedule
from woodshop.trade.compare import compare, read_varies
from woodshop.trade.what_ifs import settings_to_change, settings_to_try
from woodshop.units.lengths import lengths_in
from woodshop.units.wording import LengthUnit


def plan_and_show(design: Path, effort: Effort, say: Say) -> ShownBatch:
    """Plans the design as `woodshop plan` does, into its folder among the results, and returns what to show.

    `say` takes lines of progress. Raises what `plan_design` raises.
    """
    inputs = inputs_digest(design)
    found = plan_design(design, results=results_beside(design), effort=effort, say=say)
    if found.planned is None:
        errors = ScreenPart("Errors", {unit: _html(findings_section(found.report), unit) for unit in UNITS})
        return ShownBatch(inputs, found.folder, False, errors)
    say("preparing the screens")
    summary = result_section(found.planned, found.folder, found.scheduled, found.impossible)
    none = f"No schedule. {found.impossible}" if found.impossible else ""
    return _shown(design, inputs, found.folder, found.planned, summary, *_days(found.scheduled, none))


def show_planned(design: Path, say: Say) -> ShownBatch:
    """What to show of the plan that is already in the folder of the design's results.

    `say` takes lines of progress. Raises InputError if there is none, or if the design has changed since.
    """
    inputs = inputs_digest(design)
    planned, where = planned_before(design, results=results_beside(design), say=say)
    written = schedule_beside(where, say)
    days = (
        (schedule_part(written), "", late_words(written), _begins(written))
        if written is not None
        else _days(*_scheduled(planned, say))
    )
    say("preparing the screens")
    return _shown(design, inputs, where.parent, planned, result_section(planned, where.parent), *days)


def _scheduled(planned: PlannedBatch, say: Say) -> tuple[ScheduledBatch | None, str]:
    try:
        return schedule_batch(planned, say=say), ""
    except ImpossibleDatesError as why:
        return None, f"No schedule. {why.problems[0]}"


def compare_and_show(
    design: Path, varies: tuple[str, ...], said: Mapping[str, str], effort: Effort, say: Say
) -> ScreenPart:
    """The costs of the design and of each change by itself, side by side, as `woodshop compare` shows them.

    `varies` are keys with their values, KEY=V1,V2; `said` has plain words for keys. `say` takes lines of progress.
    Raises InputError for an unknown key or a value that cannot be read.
    """
    wanted = read_with_book(design)
    outcomes = compare(
        design,
        read_varies(varies, is_each_alone=True),
        effort,
        say,
        book=wanted.book,
        inventory=wanted.inventory,
        is_each_alone=True,
    )
    table = comparison_section(outcomes, said)
    section = Section("", (*table.blocks, Paragraph(BARS_WORDS), SetOut(bars(outcomes, said), "Costs compared")))
    return ScreenPart("What if", dict.fromkeys(UNITS, section_html(section, 3, "what-if-")))


def _shown(
    design: Path,
    inputs: str,
    folder: Path,
    planned: PlannedBatch,
    summary: Section,
    days: ScreenPart | None,
    no_days: str,
    late: str,
    begins: date | None,
) -> ShownBatch:
    of_units: list[tuple[LengthUnit, PlannedBatch]] = []
    for unit in UNITS:
        batch = replace(planned.batch, wording=replace(planned.batch.wording, unit=unit))
        of_units.append((unit, replace(planned, batch=batch)))
    shopping, cost = (
        ScreenPart(name, {unit: _html(make(each), unit, name) for unit, each in of_units})
        for name, make in (("Shopping", shopping_chapter), ("Cost", line_chapter))
    )
    cut = (shopping, _boards(of_units), cost)
    first = ScreenPart("Result", dict.fromkeys(UNITS, _html(_result(planned, summary), planned.batch.unit, "Result")))
    to_change = settings_to_change(planned, _lumberyards(design))
    to_try = settings_to_try(planned.batch)
    return ShownBatch(
        inputs, folder, True, first, cut, days, no_days, to_try, to_change, late, begins, verdict_line(planned.report)
    )


def _lumberyards(design: Path) -> dict[str, str]:
    """The names of the lumberyards beside the design, by their files. Files that cannot be read are left out."""
    found = {}
    for name in Folder(design.parent).lumberyards():
        with suppress(InputError):
            found[f"{name}.toml"] = read_lumberyard(design.parent / f"{name}.toml").terms[0].lumberyard
    return found


_LAYOUTS_AT_ONCE = 12
_MOST_AT_ONCE = 250_000  # characters of a schedule; the calendar and the chart of a longer one are folded away


def _boards(of_units: Sequence[tuple[LengthUnit, PlannedBatch]]) -> ScreenPart:
    """The boards of the plan: the first ones, the others folded, and the sizes of the letters."""
    units = [unit for unit, _ in of_units]
    parts = []
    for n, sections in enumerate(zip(*(boards_sections(each, _LAYOUTS_AT_ONCE) for _, each in of_units), strict=True)):
        html = {unit: _html(section, unit, f"boards-{n}") for unit, section in zip(units, sections, strict=True)}
        parts.append(ScreenPart(sections[0].title, html))
    first, *folded, last = parts
    return replace(first, folded=tuple(folded), last=last)


_FIGURES = {"cost": "material", "to pay": "to pay", "units": "things to make", "pieces": "pieces", "layouts": "layouts"}
_LEFT_OUT = ("batch", "folder", "bound")


def _result(planned: PlannedBatch, summary: Section) -> Section:
    """What the command says at its end: its figures large, what is proved of the cost, and the rest as it is."""
    values = {name: str(value) for name, value in summary.data.items()}
    if "findings" in values:  # counted as on the other screens
        values["findings"] = verdict_line(planned.report).partition(": ")[2].rstrip(".")
    figures = tuple((words, values[name]) for name, words in _FIGURES.items() if name in values)
    rest = tuple((name, text) for name, text in values.items() if name not in (*_FIGURES, *_LEFT_OUT))
    idle = [label for labels in unused_offcuts(planned).values() for label in labels]
    more = f" {len(idle)} of your offcuts {'is' if len(idle) == 1 else 'are'} not used: see why under Shopping."
    said = Paragraph(certainty_text(planned) + (more if idle else ""))
    return Section("", (KeyFigures(figures), said, KeyValues(rest)))


def _days(scheduled: ScheduledBatch | None, none: str) -> tuple[ScreenPart | None, str, str, date | None]:
    """The days to show; why there is no schedule, or "" if there is one; what is late in it, or ""; its first day."""
    if scheduled is None:
        return None, none, "", None
    if scheduled.schedule is not None:
        advice = scheduled.remedies, scheduled.warnings
        found = scheduled.schedule
        return schedule_part(found, *advice), "", late_words(found), _begins(found)
    table = durations_table(scheduled.durations)
    section = Section("Time for the work", (table, *([Bullets(scheduled.warnings)] if scheduled.warnings else [])))
    return ScreenPart("Time", dict.fromkeys(UNITS, section_html(section, 2, "days-"))), scheduled.why_none, "", None


def _begins(schedule: Schedule) -> date | None:
    """The day of the first work of a person, or None if nobody works."""
    starts = [each.start for each in schedule.bookings if each.people]
    return day_of(schedule.project.days, min(starts)).day if starts else None


def schedule_part(schedule: Schedule, remedies: Sequence[str] = (), warnings: Sequence[str] = ()) -> ScreenPart:
    """The schedule for the screen of the days. If it is long, its calendar and its chart are folded away.

    `remedies` and `warnings` are those of the scheduled batch, if known.
    """
    first, *pictures = days_on_screen(schedule, KINDS, remedies, warnings)
    whole = section_html(joined((first, *pictures)), 2, "days-")
    if len(whole) <= _MOST_AT_ONCE:
        return ScreenPart("Days", dict.fromkeys(UNITS, whole))
    folded = (
        ScreenPart(each.title, dict.fromkeys(UNITS, section_html(each, 2, f"{each.title.lower()}-")))
        for each in pictures
    )
    return ScreenPart("Days", dict.fromkeys(UNITS, section_html(first, 2, "days-")), tuple(folded))


def _html(section: Section, unit: LengthUnit, prefix: str = "") -> str:
    with lengths_in(unit):
        return section_html(section, 2, f"{prefix.lower()}-" if prefix else "")
