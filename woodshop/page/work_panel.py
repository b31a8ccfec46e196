"""The part of a screen that shows work in the background: what is being done, a button to cancel, how it ended."""

from collections.abc import Callable
from datetime import date
from functools import partial
from pathlib import Path

from nicegui import ui

from woodshop.design.schema import toml_tables
from woodshop.drawing.pens.html import STYLE_SHEET
from woodshop.errors import InputError, WoodshopError
from woodshop.page.batch_work import BatchWork
from woodshop.page.controls import press, show_problems, words
from woodshop.page.fields import fold, today
from woodshop.page.frame import count_again
from woodshop.page.opened.editing import Place, set_value, value_at
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.shown import ScreenPart
from woodshop.units.wording import LengthUnit, weekday_text

START: Place = ("crew", "start")
"""The place of the first day of work in a design without a crew file."""
EVERY = 0.5  # seconds between two looks at the work

ui.add_css(STYLE_SHEET + Path(__file__).with_name("work.css").read_text("utf-8"), shared=True)


def show_work(work: BatchWork, inside: Callable[[], None]) -> None:
    """Shows the work, and below it what `inside` builds, which is built again when work has begun or ended."""
    status = words("p", work.progress or work.ended).classes("work-status").props("role=status")
    status.classes("stopped" if work.is_bad else "")
    known: list[tuple[int, bool, int]] = []

    @ui.refreshable
    def bar() -> None:
        if not work.is_running:
            return
        with ui.element("div").classes("work"):
            ui.element("progress").props('aria-label="Work in progress"')
            press("Cancel", work.cancel)
            with ui.element("details"):
                words("summary", "Steps so far")
                with ui.element("ol"):
                    for line in work.lines:
                        words("li", line)

    @ui.refreshable
    def body() -> None:
        with ui.element("div").classes("work-body"):
            if work.problems:
                show_problems(work.problems)
            try:
                inside()
            except WoodshopError as error:
                show_problems(error.problems)

    def now() -> tuple[int, bool, int]:
        is_running = work.is_running
        return work.version, is_running, len(work.lines)

    async def look() -> None:
        found = now()
        status.set_text(work.progress or work.ended)
        status.classes("stopped") if work.is_bad else status.classes(remove="stopped")
        if found != known[0]:
            if found[:2] != known[0][:2]:
                body.refresh()
            bar.refresh()
            is_ended = found[0] != known[0][0]
            known[0] = found
            if is_ended:
                await count_again()

    known.append(now())
    bar()
    body()
    ui.timer(EVERY, look)


def show_part(part: ScreenPart, unit: LengthUnit) -> None:
    """Shows a part of a screen in this unit of length. Its HTML comes from the HTML pen, which escapes all text."""
    ui.html(part.html[unit], sanitize=False)
    for each in part.folded:
        fold(each.title, each.title, partial(show_part, each, unit))
    if part.last is not None:
        show_part(part.last, unit)


def note_if_old(work: BatchWork) -> None:
    """Says so if the design was changed after the plan that is shown."""
    if work.shown is not None and not work.is_current:
        text = "The design has changed since this plan. What you see below is the old plan. Plan again."
        words("p", text).classes("old-plan")


def note_if_passed(work: BatchWork) -> None:
    """Says so if the work of the plan that is shown begins before today, with a button that makes it begin today.

    It is for the screen alone: no result has a clock. Nothing is said if the design's first day of work is still to
    come, because the plan is then an old one.
    """
    begins, day = work.shown.begins if work.shown is not None else None, today()
    held, crew_file = _first_day(work.opened)
    if begins is None or begins >= day or (held is not None and held >= day):
        return
    of_year = f" {begins.year}," if begins.year != day.year else ""
    first = f"first day of work in {crew_file}" if crew_file else "first day of work"
    with ui.element("section").classes("problems").props('role=alert aria-label="The plan begins in the past"'):
        words(
            "p",
            f"This plan begins on {weekday_text(begins)},{of_year} which has passed. Set the {first} to today or "
            "later, and plan again.",
        )
        if not crew_file:
            press(f"Start today ({weekday_text(day).partition(', ')[2]})", lambda: _start(work.opened))


def _start(opened: OpenDesign) -> None:
    day = today()
    opened.edit(lambda text: set_value(text, START, day), f"first day of work: {day}")


def _first_day(opened: OpenDesign) -> tuple[date | None, str]:
    """The first day of work in the design, and the name of its crew file; None and "" if it has none."""
    try:
        tables = toml_tables(opened.text, opened.path.name)
    except InputError:
        return None, ""
    crew = tables.get("crew")
    if isinstance(crew, str):
        return None, crew
    held = value_at(tables, START)
    return (held if type(held) is date else None), ""
