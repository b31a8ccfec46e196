"""The screen *cut and buy*: plan the batch, see the shopping list, the boards and the cost, and compare what-ifs."""

from collections.abc import Callable
from functools import partial
from typing import cast

from nicegui import ui

from woodshop.cutting.model.plan import Effort
from woodshop.design.keys import find_key
from woodshop.documents.answers.listings import parameter_row
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import items
from woodshop.hardware.registry import fields_as_parameters
from woodshop.page.batch_work import NOTHING_TICKED, BatchWork, work_on
from woodshop.page.controls import choice, field, group, link, press, tick, words
from woodshop.page.fields import key_hint, setting_hint
from woodshop.page.frame import address, screen, served_folder, yard_not_saved
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.rebuild import kept_up
from woodshop.page.work_panel import EVERY, note_if_old, note_if_passed, show_part, show_work
from woodshop.trade.what_ifs import PRICE
from woodshop.units.wording import LengthUnit

EFFORTS: dict[Effort, str] = {
    "default": "Normal",
    "quick": "Quick: the plan may cost slightly more",
    "long": "Thorough: minutes, or hours for a large order",
}


@screen("cut", "Cut and buy", 50)
def cut(opened: OpenDesign, unit: LengthUnit) -> None:
    """Shows the button that plans, the work in progress, and the last plan of this design."""
    work = work_on(opened)
    work.read_earlier()
    words("p", "The plan chooses the cheapest boards and how to cut them. You can go on with other steps meanwhile.")
    show_work(work, lambda: _cut(work, unit))


def _cut(work: BatchWork, unit: LengthUnit) -> None:
    name = work.opened.path.stem
    for yard in served_folder().lumberyards_not_saved(work.opened):
        said, target = yard_not_saved(name, yard)
        with ui.element("p").classes("stopped").props("role=alert"):
            words("span", f"{said}. A plan made now uses its last version without errors. ")
            link("Correct it first", target)
    if not work.is_running:
        press("Plan this batch" if work.shown is None else "Plan this batch again", work.plan, is_main=True)

        def choose(value: str) -> None:
            work.effort = next((each for each in EFFORTS if each == value), "default")

        choice("How long to search", cast(dict[str, str], EFFORTS), work.effort, choose)
    shown = work.shown
    if shown is None:
        return
    note_if_passed(work)
    note_if_old(work)
    if not shown.is_planned:
        words("p", "Nothing was written. Fix the errors first.").classes("stopped")
        link("Go to Does it fit", address(work.opened.path.stem, "fit"))
        show_part(shown.summary, unit)
        return
    titles = {part.title: f"part-{part.title.lower()}" for part in shown.cut} | {"What if": "part-what-if"}
    with ui.element("nav").props('aria-label="On this screen"'), ui.element("ul").classes("on-this-screen"):
        for title, key in titles.items():
            with ui.element("li"):
                link(title, f"#{key}")
    show_part(shown.summary, unit)
    for part in shown.cut:
        with ui.element("div").props(f"id={titles[part.title]}"):
            show_part(part, unit)
    with (
        ui.element("div").props("id=part-what-if").classes("work-body" if work.comparison else "work-body not-printed")
    ):
        _what_if(work, unit)


def _what_if(work: BatchWork, unit: LengthUnit) -> None:
    words("h2", "What if")
    words("p", "See what other choices would cost, each by itself. The design stays as it is.")

    with group("Choices to compare").classes("what-if-choices"):

        def offered() -> None:
            for each in work.offered:
                said = f"{_capital(each.words)}: {' or '.join(each.values)}"
                tick(said, work.to_compare.get(each.vary, False), partial(work.to_compare.__setitem__, each.vary))

        _another(work, unit, kept_up(offered, "choices"))
    if not work.is_running:

        def choose(value: str) -> None:
            work.compare_effort = next((each for each in EFFORTS if each == value), "quick")

        choice("How long to search for each", cast(dict[str, str], EFFORTS), work.compare_effort, choose)
        press("Compare the costs", work.compare)
        if work.ended == NOTHING_TICKED:
            words("p", NOTHING_TICKED).classes("stopped")
    elif work.is_comparing:  # the top of the screen, which says the same, may be out of sight
        press("Cancel the comparison", work.cancel)  # not where the other button was: a double click would cancel
        line = words("p", work.progress).classes("work-status")
        ui.timer(EVERY, lambda: line.set_text(work.progress))
    if work.comparison is not None:
        if not work.is_compared_now:
            words("p", "The design has changed since these costs were compared. Compare again.").classes("old-plan")
        show_part(work.comparison, unit)


def _another(work: BatchWork, unit: LengthUnit, added: Callable[[], object]) -> None:
    """The fields that add a change of any setting to the choices."""
    known = work.shown.to_change if work.shown is not None else ()

    def value() -> None:
        setting = work.chosen_setting
        if setting is None:
            return
        now = f"Now: {setting.present}." if setting.present else ""
        put = partial(setattr, work, "value")
        if setting.choices:
            options = {"": "Choose"} | dict(setting.choices)
            choice("Its other value", options, work.value, put, hint=now, problem=work.value_problem)
        else:
            hint = f"{now} {_typed_hint(setting.key, work, unit)}".strip()
            field("Its other value", work.value, put, hint=hint, problem=work.value_problem)
        press("Add to the choices", add)

    def turn(key: str) -> None:  # the list itself is not built again, so that the keyboard can go through it
        work.to_change, work.value, work.value_problem = key, "", ""
        value_again()

    def add() -> None:
        work.add_change()
        value_again()
        if not work.value_problem:
            added()

    options = {"": "Choose a setting"} | {each.key: _capital(each.words) for each in known}
    with ui.element("div").classes("fields another"):
        choice("Another setting", options, work.to_change, turn)
        value_again = kept_up(value)


def _typed_hint(key: str, work: BatchWork, unit: LengthUnit) -> str:
    """What can be typed as the value of a setting, in this unit of length."""
    if key.startswith(PRICE):
        return "A price such as 9.95, or a change such as +10 % or -5 %. Several with commas between."
    table, _, name = key.rpartition(".")
    item = next((each for each in items() if each.name == table), None)
    own: LengthUnit = work.opened.design().unit
    for each in item.parameters if item is not None else fields_as_parameters(BoardSettings):
        if each.name == name and (item is not None or table == "board"):
            return f"{setting_hint(parameter_row(each, own), own, unit)} Several with commas between."
    return f"{key_hint(find_key(table, name), unit, own)} Several with commas between."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
