"""The part of a screen that shows work in the background: what is being done, a button to cancel, how it ended.

Problems are shown there with links to the fields that solve them.
"""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from datetime import date
from functools import partial
from pathlib import Path
from urllib.parse import quote

from nicegui import ui

from woodshop.design.keys import design_keys, table_names
from woodshop.design.named_keys import named_places
from woodshop.design.schema import toml_tables
from woodshop.drawing.pens.html import STYLE_SHEET
from woodshop.errors import InputError, Problem, WoodshopError
from woodshop.findings import Finding, Severity
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import items
from woodshop.hardware.registry import fields_as_parameters
from woodshop.page.batch_work import BatchWork
from woodshop.page.controls import link, press, show_problems, words
from woodshop.page.fields import anchor, fold, today
from woodshop.page.frame import address, count_again, screen_with
from woodshop.page.labels import key_label
from woodshop.page.opened.editing import Place, set_value, value_at
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.rebuild import kept_up
from woodshop.page.shown import ScreenPart
from woodshop.units.lengths import NUMBER
from woodshop.units.wording import LengthUnit, weekday_text

_IN_FILE = re.compile(
    rf'(?P<before>\b(?:[Ss]et|with|and) )?(?P<key>\b[a-z]+(?:_[a-z]+)*) = (?P<value>"[^"]*"|\[[^\]]*\]|true\b|false\b)'
    rf"|\b(?P<named>[a-z]+(?:_[a-z]+)+)\b|(?<=\b[Ss]et )(?P<one>[a-z]+)(?= to )"
    rf'|\b(?P<how>under|in this) \[\[?(?P<table>[a-z.]+)\]\]?|"(?P<size>(?:{NUMBER})(?: in| mm)?)"'
)

START: Place = ("crew", "start")
"""The place of the first day of work in a design without a crew file."""
EVERY = 0.5  # seconds between two looks at the work

ui.add_css(STYLE_SHEET + Path(__file__).with_name("work.css").read_text("utf-8"), shared=True)


def show_work(work: BatchWork, inside: Callable[[], None]) -> None:
    """Shows the work, and below it what `inside` builds, which is built again when work has begun or ended."""
    status = words("p", work.progress or work.ended).classes("work-status").props("role=status")
    status.classes("stopped" if work.is_bad else "")
    known: list[tuple[int, bool, int]] = []

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

    def body() -> None:
        if work.problems:
            show_with_links(work.problems, work.opened)
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
                body_again()
            bar_again()
            is_ended = found[0] != known[0][0]
            known[0] = found
            if is_ended:
                await count_again()

    known.append(now())
    bar_again, body_again = kept_up(bar), kept_up(body, "work-body")
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


def show_with_links(problems: Iterable[Problem], opened: OpenDesign) -> None:
    """Lists problems in the words of the page, each with links to the fields that solve it."""
    tables = toml_tables(opened.readable, opened.path.name)
    with ui.element("div").classes("problems").props("role=alert"), ui.element("ul"):
        for each in problems:
            as_finding = Finding("", Severity.ERROR, each.where, each.given, each.wanted, "", each.do)
            named = named_places(as_finding, tables)
            places = [place for place in named if not any(len(place) < len(p) and p[0] == place[0] for p in named)]
            with ui.element("li"):
                words("span", str(replace(each, do=spoken_change(each.do))))
                if places:
                    with ui.element("p").classes("change-it"):
                        words("span", "Change it:")
                        for place in places:
                            link_to(opened.path.stem, place)


def link_to(name: str, place: Place) -> None:
    """A link to the screen of the design `name` with this place, and to its field."""
    at = screen_with(str(place[0]))
    *above, key = place
    is_whole = isinstance(key, int) or (key in at.tables and key in table_names())
    shown = at.title if is_whole else f"{at.title}, {key_label(str(key), str(above[0]) if above else '')}"
    link(shown, f"{address(name, at.route)}#{quote(anchor(place))}")


def spoken_change(text: str) -> str:
    """What a finding says to do, in the words of the page: the labels of its fields for the keys of the file.

    >>> spoken_change('Drive every staple home, or set mounting = "flush rabbet".')
    'Drive every staple home, or set "Mounting" to "flush rabbet".'
    >>> spoken_change("Or set ripped = true.")
    'Or set "Ripped" to "yes".'
    """
    known = {each.name: each.table for each in reversed(design_keys())} | dict.fromkeys(_made_with(), "")

    def spoken(match: re.Match[str]) -> str:
        key = match["key"] or match["named"] or match["one"]
        if match["size"]:
            return match["size"]
        if match["table"]:
            table = match["table"].partition(".")[0]
            is_here = table in table_names()
            return f'on the screen "{screen_with(table).title}"' if is_here else f'under "{table.capitalize()}"'
        if key not in known:
            return match[0]
        label = f'"{key_label(key, known[key])}"'
        if not match["value"]:
            return label
        value = match["value"].strip("[]").replace('"', "")
        value = {"true": "yes", "false": "no"}.get(value, value)
        value = value if re.match(rf"(?:{NUMBER})\b", value) else f'"{value}"'
        before = match["before"] or "set "
        return f"{before}{label} {'' if before == 'with ' else 'to '}{value}"

    return _IN_FILE.sub(spoken, text)


def _made_with() -> Iterator[str]:
    """The names of all settings of boards and of items."""
    yield from (each.name for each in fields_as_parameters(BoardSettings))
    yield from (each.name for item in items() for each in item.parameters)
