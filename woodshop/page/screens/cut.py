"""The screen *cut and buy*: plan the batch, see the shopping list, the boards and the cost, and compare what-ifs."""

from typing import get_args

from nicegui import ui

from woodshop.cutting.model.plan import Effort
from woodshop.drawing.pens.html import STYLE_SHEET
from woodshop.page.batch_work import BatchWork, work_on
from woodshop.page.frame import screen
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.work_panel import note_if_old, show_part, show_work
from woodshop.units.wording import LengthUnit

EFFORTS: dict[Effort, str] = {
    "default": "Normal: takes some seconds for a few hives, up to some minutes for a shop.",
    "quick": "Quick: the plan may cost slightly more.",
    "long": "Thorough: searches longer, minutes or hours for a large order.",
}
if set(EFFORTS) != set(get_args(Effort)):
    raise AssertionError("an effort without words")

ui.add_css(STYLE_SHEET, shared=True)


@screen("cut", "Cut and buy", 50)
def cut(opened: OpenDesign, unit: LengthUnit) -> None:
    """Shows the button that plans, the work in progress, and the last plan of this design."""
    work = work_on(opened)
    work.read_earlier()
    ui.label("The plan finds the cheapest boards and how to cut them. It takes a while; you can go on meanwhile.")
    show_work(work, lambda: _cut(work, unit))


def _cut(work: BatchWork, unit: LengthUnit) -> None:
    is_running = work.is_running
    with ui.element("fieldset").classes("efforts"):
        with ui.element("legend"):
            ui.label("How long to search")
        effort = ui.radio(EFFORTS, value="default").props('aria-label="How long to search"')
    words = "Plan this batch again" if work.shown is not None else "Plan this batch"
    button = ui.button(words, on_click=lambda: work.plan(effort.value)).classes("primary large")
    button.set_enabled(not is_running)
    shown = work.shown
    if shown is None:
        return
    note_if_old(work)
    if not shown.is_planned:
        ui.label("Nothing was written. Fix the errors first.").classes("problem")
        show_part(shown.summary, unit)
        return
    with ui.element("nav").props('aria-label="On this screen"'), ui.element("ul").classes("on-this-screen"):
        for part in shown.cut:
            with ui.element("li"):
                ui.link(part.title, f"#part-{part.title.lower()}")
        with ui.element("li"):
            ui.link("What if", "#part-what-if")
    show_part(shown.summary, unit)
    for part in shown.cut:
        with ui.element("section").props(f'id="part-{part.title.lower()}" aria-label="{part.title}"'):
            show_part(part, unit)
    with ui.element("section").props('id="part-what-if" aria-label="What if"'):
        _what_if(work, unit)


def _what_if(work: BatchWork, unit: LengthUnit) -> None:
    ui.label("What if").props("role=heading aria-level=2")
    ui.label("See what other choices would cost. The design stays as it is.")
    shown = work.shown
    to_try = () if shown is None else shown.to_try
    boxes = [
        (each, ui.checkbox(f"{each.words[:1].upper()}{each.words[1:]}: {' or '.join(each.values)}")) for each in to_try
    ]
    own = ui.input("Another setting and its values").props(
        'hint="As in: price.1x6=+10 %, or hives.sugar=12 lb,20 lb" autocomplete=off'
    )

    def compare() -> None:
        own_text = (own.value or "").strip()
        work.compare([*(each.vary for each, box in boxes if box.value), *([own_text] if own_text else [])])

    ui.button("Compare the costs", on_click=compare).set_enabled(not work.is_running)
    if work.comparison is not None:
        if not work.is_compared_now:
            ui.label("The design has changed since these costs were compared. Compare again.").classes("old-plan")
        show_part(work.comparison, unit)
