"""The screen *days*: who does what and when, due dates with days to spare, and the first day of work."""

from datetime import date

from nicegui import ui

from woodshop.errors import InputError
from woodshop.page.batch_work import BatchWork, work_on
from woodshop.page.frame import address, screen
from woodshop.page.opened.editing import remove_value, set_value, value_at
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.work_panel import note_if_old, show_part, show_work
from woodshop.design.schema import toml_tables
from woodshop.units.wording import LengthUnit

_START = ("crew", "start")


@screen("days", "Days", 60)
def days(opened: OpenDesign, unit: LengthUnit) -> None:
    """Shows the first day of work as a field, and the schedule of the last plan."""
    work = work_on(opened)
    work.read_earlier()
    _first_day(opened)
    show_work(work, lambda: _days(work, opened, unit))


def _first_day(opened: OpenDesign) -> None:
    try:
        held = value_at(toml_tables(opened.text, opened.path.name), _START)
    except InputError:
        held = None
    field = ui.input("First day of work", value=str(held) if isinstance(held, date) else "").props("type=date")
    ui.label(
        "Leave the day empty to work back from the day when everything must be on the hives. "
        "The day is kept in the design, so plan again after you change it."
    ).classes("hint")

    def change() -> None:
        text = str(field.value or "").strip()
        try:
            day = date.fromisoformat(text) if text else None
        except ValueError:
            ui.notify(f"{text} is not a day. Give the year, the month and the day.")
            return
        opened.edit(
            lambda old: remove_value(old, _START) if day is None else set_value(old, _START, day),
            f"first day of work: {day or 'none'}",
        )

    field.on("change", change)


def _days(work: BatchWork, opened: OpenDesign, unit: LengthUnit) -> None:
    shown = work.shown
    if shown is None or not shown.is_planned:
        ui.label("The days follow from the plan of the batch.")
        ui.link("Plan this batch", address(opened.path.stem, "cut"))
        return
    note_if_old(work)
    if not work.is_current:
        button = ui.button("Plan this batch again", on_click=lambda: work.plan("default")).classes("primary large")
        button.set_enabled(not work.is_running)
    if shown.no_days:
        ui.label(shown.no_days).classes("problem")
    if shown.days is not None:
        show_part(shown.days, unit)
