"""The screen *does it fit*: the verdict, what was found and its remedies, each hive in 3-D, and its bee space."""

import re
from asyncio import to_thread
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any
from weakref import WeakKeyDictionary

from nicegui import Client, ui

from woodshop.checks.check_batch import Fit
from woodshop.design.batch import Batch
from woodshop.design.named_keys import named_places
from woodshop.design.remedy import BOARD, DesignChange, concerned, design_changes
from woodshop.design.schema import toml_tables
from woodshop.documents.bee_map.bee_map import hive_map_sections
from woodshop.documents.hive_parts import HivePart, HiveParts, hive_parts, part_section
from woodshop.documents.report.report import FoundAt, found_at, rule_of, verdict_line
from woodshop.drawing.pens.html import section_html
from woodshop.drawing.values.model import Paragraph, Section
from woodshop.errors import WoodshopError
from woodshop.findings import Finding, Report, Severity, gather
from woodshop.page.background import BackgroundTask
from woodshop.page.batch_work import work_on
from woodshop.page.controls import choice, press, show_problems, words
from woodshop.page.fields import row_name
from woodshop.page.fitting import fitting_of
from woodshop.page.frame import count_again, screen, undo_latest
from woodshop.page.hive_3d import Hive3D, HiveView
from woodshop.page.labels import in_unit, key_label
from woodshop.page.opened.editing import Place, value_at
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.opened.remedied import remedied
from woodshop.page.rebuild import kept_up
from woodshop.page.work_panel import link_to, note_if_passed, show_with_links, spoken_change
from woodshop.units.lengths import NUMBER, lengths_in
from woodshop.units.wording import LengthUnit

_HEADINGS = {
    Severity.ERROR: "Errors: fix these before you cut",
    Severity.WARNING: "Warnings: think before you cut",
    Severity.NOTE: "Notes: good to know",
}
_VARYING = "How sizes vary is still being worked out. You can go on."


ui.add_css((Path(__file__).parents[1] / "fit.css").read_text("utf-8"), shared=True)


class _Seen:
    """What a tab looks at, which a change of the design leaves as it is."""

    def __init__(self) -> None:
        self.hive = ""
        self.sight = HiveView()
        self.is_changed = False
        self.done = -1, ""  # the revision of the design, and what was done to get there
        self.is_dark: bool | None = None


_seen: WeakKeyDictionary[Client, _Seen] = WeakKeyDictionary()


@screen("fit", "Does it fit", 40)
def fit(opened: OpenDesign, unit: LengthUnit) -> None:
    """Checks the design in the background, and shows what was found."""
    _FitScreen(opened, unit)


class _FitScreen:
    """One showing of the screen. A change of the design makes another."""

    def __init__(self, opened: OpenDesign, unit: LengthUnit) -> None:
        self._opened, self._unit = opened, unit
        self._fitting = fitting_of(opened)
        self._seen = _seen.setdefault(ui.context.client, _Seen())
        self._tables = toml_tables(opened.readable, opened.path.name)
        self._lacks = False
        self._say_what_was_done()
        self._verdict = words("p", "Checking …").classes("verdict").props('role=status tabindex="-1" id="verdict"')
        self._varying = words("p", "").classes("hint").props("role=status")
        with ui.element("div"):
            note_if_passed(work_on(opened))
        self._found = ui.element("div").classes("found")
        self._varied = ui.element("div").classes("found")
        self._hives = ui.element("section").props('aria-label="The hives"')
        ui.timer(0.01, self._check, once=True)

    async def _check(self) -> None:
        try:
            batch, fit = await to_thread(self._fitting.fit, self._unit)
        except WoodshopError as error:
            if not self._found.is_deleted:
                self._verdict.set_text("The fit cannot be checked yet: something must be corrected first.")
                with self._found:
                    show_problems(error.problems)
            return
        if self._found.is_deleted:
            return
        self._say(fit.report)
        with self._found:
            lacking = ui.element("div").classes("found")
            for severity, heading in _HEADINGS.items():
                self._list(heading, fit.report, batch, (severity,))
        if self._seen.is_changed:
            self._seen.is_changed = False
            ui.run_javascript('document.getElementById("verdict")?.focus()')
        if refused := await to_thread(self._fitting.refused, batch, fit, self._unit):
            if self._found.is_deleted:
                return
            self._lacks = True
            self._say(fit.report)
            with lacking:
                words("h2", "This keeps it from being planned")
                show_with_links(refused, self._opened)
        hives = await to_thread(hive_parts, batch, fit.units)
        if self._seen.is_dark is None and not self._hives.is_deleted:
            asked = 'matchMedia("(prefers-color-scheme: dark)").matches'
            with suppress(TimeoutError):  # the browser has left
                self._seen.is_dark = bool(await ui.run_javascript(asked, timeout=30))
        if self._hives.is_deleted:
            return
        with self._hives:
            _Hives(self._seen, batch, fit, hives, self._unit)
        await self._vary(batch, fit)

    async def _vary(self, batch: Batch, fit: Fit) -> None:
        """Adds the findings about how sizes vary, when they are there."""
        if batch.conditions.tolerances is None:
            return
        self._varying.set_text(_VARYING)
        task: BackgroundTask = self._fitting.variation(self._unit)
        await to_thread(task.wait)
        if self._found.is_deleted or task.is_canceled:
            return
        self._varying.set_text("")
        with self._varied:
            if task.problems:
                show_problems(task.problems)
                return
            self._list("How sizes vary", gather(task.result), batch, tuple(_HEADINGS))
        self._say(gather(fit.report.findings, task.result))
        await count_again()

    def _say(self, report: Report) -> None:
        said = verdict_line(report)
        lead = "It cannot be planned yet: see below what the lumberyard lacks. Apart from that: "
        self._verdict.set_text(f"{lead}{said[0].lower()}{said[1:]}" if self._lacks else said)
        self._verdict.classes(remove="is-bad")
        if report.has_errors or self._lacks:
            self._verdict.classes("is-bad")

    def _say_what_was_done(self) -> None:
        """What a press on this screen changed, with undo, until the next change."""
        revision, done = self._seen.done
        if revision != self._opened.revision:
            return
        with ui.element("div").classes("done").props("role=status"):
            words("p", done)
            press("Undo this change", self._take_back)

    def _list(self, heading: str, report: Report, batch: Batch, severities: tuple[Severity, ...]) -> None:
        """The findings of a report with these severities, under a heading if there are any."""
        tables = self._tables
        found = [each for each in found_at(report, batch) if each.finding.severity in severities]
        if found:
            words("h2", heading)
        for each in found:
            self._finding(each, design_changes(each.finding.remedy, tables), named_places(each.finding, tables))

    def _finding(self, found: FoundAt, changes: tuple[DesignChange, ...], places: tuple[Place, ...]) -> None:
        finding = found.finding
        with ui.element("article").classes(f"finding finding-{finding.severity.value}") as article:
            article.props["data-code"] = finding.code
            words("h3", f"{finding.value[:1].upper()}{finding.value[1:]}")
            words("p", f"Where: {found.where}.").classes("hint")
            if limits := found.found.removeprefix(finding.value).lstrip("; "):
                words("p", f"{limits[:1].upper()}{limits[1:]}.")
            words("p", spoken_change(finding.change))
            if changes:
                lines = change_lines(changes, self._tables, self._unit)
                with ui.element("div").classes("remedy"):
                    press("Make this change", lambda: self._apply(finding, changes, lines)).props["aria-label"] = (
                        f"Make this change: {'; '.join(lines)}"
                    )
                    with ui.element("ul"):
                        for line in (*lines, *reach_lines(changes, self._tables)):
                            words("li", line)
            if places:
                with ui.element("p").classes("change-it"):
                    words("span", "Change it:")
                    for place in places:
                        link_to(self._opened.path.stem, place)
            with ui.element("details") as more:
                words("summary", "Why, and sources")
            more.on("toggle", lambda: _explain(more, finding, self._unit), [])

    def _apply(self, finding: Finding, changes: tuple[DesignChange, ...], lines: tuple[str, ...]) -> None:
        self._seen.is_changed = True
        was = change_lines(changes, self._tables, self._unit, "was")
        self._seen.done = self._opened.revision + 1, f"Done. {' '.join(f'{each}.' for each in was)}"
        self._opened.edit(lambda text: remedied(text, changes), lines[0].partition(" (now ")[0])

    def _take_back(self) -> None:
        self._seen.is_changed = True
        undo_latest()


def change_lines(
    changes: tuple[DesignChange, ...], tables: Mapping[str, Any], unit: LengthUnit, before: str = "now"
) -> tuple[str, ...]:
    """What changes of a design with these tables do, in the words of the page, with lengths in `unit`.

    `before` is the word for the present value.
    """
    own = "mm" if tables.get("unit") == "mm" else "in"

    def shown(value: Any) -> str:
        if value is None:
            return "left to woodshop"
        if isinstance(value, list | tuple):
            return ", ".join(map(shown, value))
        return (
            in_unit(f"{value} {own}", unit)
            if re.fullmatch(NUMBER, str(value)) and isinstance(value, str)
            else str(value)
        )

    found = []
    for each in changes:
        *above, key = each.place
        if isinstance(each.value, dict):
            item, hives = each.value["item"], each.value.get("hives") or "all hives"
            settings = [(k, v) for k, v in each.value.items() if k not in ("item", "hives", "spare")]
            what = f"{item}, for {hives if isinstance(hives, str) else ', '.join(hives)}"
            made = "".join(f"; {key_label(k)}: {shown(v)}" for k, v in settings)
            found.append(f"{'Make' if not settings else 'Settings of'} {what}{made}")
        elif key != "item":
            label = key_label(str(key), str(above[0]) if above else "")
            held = shown(value_at(tables, each.place))
            found.append(f"{_of_what(above, tables)}, {label}: {shown(each.value)} ({before} {held})")
    return tuple(found)


def _of_what(above: list[str | int], tables: Mapping[str, Any]) -> str:
    """Whose setting it is: of all fondant boards, of an item, or of some hives."""
    if above[:1] == [BOARD]:
        return "All fondant boards"
    text = row_name(str(above[0]), value_at(tables, tuple(above)), int(above[1]))
    return f"{text[:1].upper()}{text[1:]}"


def reach_lines(changes: tuple[DesignChange, ...], tables: Mapping[str, Any]) -> list[str]:
    """Which hives share what these changes alter, and what the shed has for them."""
    reach = concerned(changes, tables)
    found = []
    if len(reach.hives) > 1:
        found.append(f"This changes what is made for {', '.join(reach.hives)}.")
    held: dict[str, list[str]] = {}
    for row in reach.shed:
        held.setdefault(str(row.get("hives", "")), []).append(f"{row.get('item', '')} ({row.get('have', 0)})")
    for hives, things in held.items():
        has = f"The shed has for {hives}: {', '.join(things)}"
        found.append(f"{has}. They stay as they are. Check that they fit with the change.")
    return found


def _explain(more: ui.element, finding: Finding, unit: LengthUnit) -> None:
    if len(more.default_slot.children) == 1:
        with more, lengths_in(unit):
            source = Paragraph(f"Source: {finding.source}. The rule is called {finding.code}.")
            _html(Section("", (*rule_of(finding.code), source)), 4, f"{finding.code}-")


def _html(section: Section, level: int, prefix: str) -> ui.html:
    """A section in markup from the pen, which escapes what users wrote."""
    return ui.html(section_html(section, level, prefix), sanitize=False)


class _Hives:
    """The choice of a hive, the hive in 3-D, the part that is chosen, and the bee space of the hive."""

    def __init__(self, seen: _Seen, batch: Batch, fit: Fit, hives: tuple[HiveParts, ...], unit: LengthUnit) -> None:
        self._seen, self._batch, self._fit, self._unit = seen, batch, fit, unit
        self._hives = {each.name: each for each in hives}
        words("h2", "The hive, ready for winter")
        if not hives:
            words("p", "Nothing in this batch goes on a hive.")
            return
        if seen.hive not in self._hives:
            seen.hive = next(iter(self._hives))
        if len(hives) > 1:
            choice("Hive", {name: name for name in self._hives}, seen.hive, self._choose)
        self._again = kept_up(self._show, "built")

    def _choose(self, name: str) -> None:
        self._seen.hive, self._seen.sight.chosen = name, None
        self._again()

    def _show(self) -> None:
        hive = self._hives[self._seen.hive]
        place = ui.element("div").classes("hive-place")
        self._part = ui.element("section").classes("part-shown").props('aria-label="The part you chose"')
        with self._part:
            words("p", "Tap a part of the hive, or choose one from the list: its size and drawing come here.")
        with place:
            Hive3D(hive, self._seen.sight, bool(self._seen.is_dark), self._show_part, self._unit)
        words("h2", "Bee space in this hive")
        self._map = ui.element("div").classes("bee-map")
        with self._map:
            words("p", "Drawing …").props("role=status")
        ui.timer(0.05, lambda: self._draw_map(hive), once=True)

    def _show_part(self, part: HivePart) -> None:
        self._part.clear()
        with self._part:
            _html(part_section(part, self._unit), 3, "part-")

    async def _draw_map(self, hive: HiveParts) -> None:
        place = self._map
        drawn, numbers = await to_thread(
            hive_map_sections, self._batch, self._fit.units, hive.group, hive.name, self._unit
        )
        if place.is_deleted:
            return
        place.clear()
        with place:
            _html(drawn, 3, "map-")
            if numbers.blocks:
                with ui.element("details"):
                    words("summary", "Every gap in numbers, with passages and airflow")
                    _html(numbers, 3, "gaps-")
