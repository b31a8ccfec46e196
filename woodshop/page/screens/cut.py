"""The screen *cut and buy*: plan the batch, see the shopping list, the boards and the cost, and compare what-ifs."""

from functools import partial
from typing import cast

from nicegui import ui

from woodshop.cutting.model.plan import Effort
from woodshop.page.batch_work import BatchWork, work_on
from woodshop.page.controls import choice, field, group, link, press, tick, words
from woodshop.page.frame import address, screen
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.work_panel import note_if_old, show_part, show_work
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
    if not work.is_running:
        press("Plan this batch" if work.shown is None else "Plan this batch again", work.plan, is_main=True)

        def choose(value: str) -> None:
            work.effort = next((each for each in EFFORTS if each == value), "default")

        choice("How long to search", cast(dict[str, str], EFFORTS), work.effort, choose)
    shown = work.shown
    if shown is None:
        return
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
    with ui.element("div").props("id=part-what-if").classes("work-body"):
        _what_if(work, unit)


def _what_if(work: BatchWork, unit: LengthUnit) -> None:
    words("h2", "What if")
    words("p", "See what other choices would cost, each by itself. The design stays as it is.")
    with group("Choices to compare").classes("what-if-choices"):
        with ui.element("div").classes("choices"):
            for each in work.shown.to_try if work.shown is not None else ():
                said = f"{each.words[:1].upper()}{each.words[1:]}: {' or '.join(each.values)}"
                tick(said, work.to_compare.get(each.vary, False), partial(work.to_compare.__setitem__, each.vary))
        hint = "A key, an equals sign and values: price.1x6=+10 % or hives.sugar=12 lb,20 lb."
        field("Another setting", work.own_setting, partial(setattr, work, "own_setting"), hint=hint)
    if not work.is_running:
        press("Compare the costs", work.compare)
    if work.comparison is not None:
        if not work.is_compared_now:
            words("p", "The design has changed since these costs were compared. Compare again.").classes("old-plan")
        show_part(work.comparison, unit)
