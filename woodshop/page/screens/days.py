"""The screen *days*: who does what and when, due dates with days to spare, and the first day of work."""

from datetime import date
from typing import Any

from woodshop.design.schema import toml_tables
from woodshop.errors import InputError, Problem
from woodshop.page.batch_work import BatchWork, work_on
from woodshop.page.controls import field, link, press, words
from woodshop.page.fields import passed_day
from woodshop.page.frame import address, screen
from woodshop.page.labels import page_words
from woodshop.page.opened.editing import remove_value, set_value, value_at
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.rows import crew_fields
from woodshop.page.work_panel import START, note_if_old, note_if_passed, show_part, show_work
from woodshop.units.wording import LengthUnit, weekday_text


@screen("days", "Days", 60, ("crew",))
def days(opened: OpenDesign, unit: LengthUnit) -> None:
    """Shows the first day of work as a field, and the schedule of the last plan."""
    work = work_on(opened)
    work.read_earlier()
    _first_day(opened)
    crew_fields(opened, unit)
    show_work(work, lambda: _days(work, opened, unit))


def _first_day(opened: OpenDesign) -> None:
    try:
        tables = toml_tables(opened.text, opened.path.name)
    except InputError:
        tables = {}
    if isinstance(tables.get("crew"), str):  # its file has the day, and what follows names that file
        return
    held = value_at(tables, START)

    def change(text: str) -> None:
        try:
            day = date.fromisoformat(text.strip()) if text.strip() else None
        except ValueError:
            wanted, do = "a day, year first", "Give year, month and day, such as 2026-10-03."
            raise InputError(Problem("first day of work", repr(text)[:40], wanted, do)) from None
        opened.edit(
            lambda old: remove_value(old, START) if day is None else set_value(old, START, day),
            f"first day of work: {day or 'none'}",
        )

    hint = (
        "Left empty, the work is planned back from the day when everything must be on the hives. The design keeps the "
        "day, so plan again after a change."
    )
    shown = str(held) if isinstance(held, date) else ""
    remark = f"{_after_due(tables, held)} {passed_day(shown)}".strip()
    made = field("First day of work", shown, change, hint=hint, problem=remark, kind="date")
    made.props["data-at"] = "crew.start"


def _after_due(tables: dict[str, Any], first: object) -> str:
    """A remark if the first day of work is after a day when boards must be ready, else ""."""
    hives = tables.get("hives")
    rows = [each for each in hives if isinstance(each, dict)] if isinstance(hives, list) else []
    due = [day for day in (tables.get("on_by"), *(row.get("due") for row in rows)) if type(day) is date]
    if type(first) is not date or not due or first <= min(due):
        return ""
    return f"This is after {weekday_text(min(due))}, when boards are due: they will be late."


def _days(work: BatchWork, opened: OpenDesign, unit: LengthUnit) -> None:
    shown = work.shown
    if shown is None or not shown.is_planned:
        if not work.is_running:
            words("p", "The days follow from the plan of the batch, which is not made yet.")
            link("Go to Cut and buy", address(opened.path.stem, "cut"))
        return
    note_if_passed(work)
    note_if_old(work)
    if not work.is_current and not work.is_running:
        press("Plan this batch again", work.plan, is_main=True)
    if shown.no_days:
        words("p", page_words(shown.no_days)).classes("stopped")
    if shown.days is not None:
        show_part(shown.days, unit)
