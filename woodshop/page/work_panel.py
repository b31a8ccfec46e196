"""The part of a screen that shows work in the background: what is being done, a button to cancel, how it ended."""

from collections.abc import Callable

from nicegui import ui

from woodshop.page.batch_work import BatchWork
from woodshop.page.shown import Part
from woodshop.units.wording import LengthUnit

_EVERY = 0.5  # seconds between two looks at the work


def show_work(work: BatchWork, inside: Callable[[], None]) -> None:
    """Shows the work, and below it what `inside` builds, which is built again when work has begun or ended."""
    status = ui.label(work.progress or work.ended).props("role=status aria-live=polite").classes("work-status")
    known = [(-1, False)]

    @ui.refreshable
    def body() -> None:
        known[0] = (work.version, work.is_running)
        if work.is_running:
            with ui.element("div").classes("work"):
                ui.element("progress").props('aria-label="Work in progress"')
                ui.button("Cancel", on_click=work.cancel).classes("quiet")
                with ui.element("details"):
                    with ui.element("summary"):
                        ui.label("Steps so far")
                    lines()
        for problem in work.problems:
            ui.label(f"Error: {problem}").props("role=alert").classes("problem")
        inside()

    @ui.refreshable
    def lines() -> None:
        with ui.element("ol"):
            for line in work.lines:
                with ui.element("li"):
                    ui.label(line)

    body()
    counted = [len(work.lines)]

    def look() -> None:
        status.set_text(work.progress or work.ended)
        if known[0] != (work.version, work.is_running):
            body.refresh()
        elif work.is_running and counted[0] != len(work.lines):
            lines.refresh()
        counted[0] = len(work.lines)

    ui.timer(_EVERY, look)


def show_part(part: Part, unit: LengthUnit) -> None:
    """Shows a part of a screen in this unit of length. Its HTML comes from the HTML pen, which escapes all text."""
    ui.html(part.html[unit], sanitize=False)


def note_if_old(work: BatchWork) -> None:
    """Says so if the design was changed after the plan that is shown."""
    if work.shown is not None and not work.is_current:
        words = "The design has changed since this plan. What you see below is the old plan. Plan again."
        ui.label(words).props("role=note").classes("old-plan")
