"""The frame of every screen: header, list of screens in the order of the work, undo and redo, unit, and the look."""

import gc
import logging
from asyncio import to_thread
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules
from threading import Lock
from urllib.parse import quote
from weakref import WeakKeyDictionary

from fastapi import Response
from fastapi.responses import PlainTextResponse, RedirectResponse
from nicegui import Client, ui
from nicegui.elements.mixins.text_element import TextElement

from woodshop.design.schema import toml_tables
from woodshop.errors import InputError, Problem, WoodshopError
from woodshop.page.controls import link, press, show_problems, words
from woodshop.page.opened.folder import Folder
from woodshop.page.opened.opened import OpenDesign, OpenFile, OpenLumberyard, file_stamp
from woodshop.page.rebuild import ask_for_lost, kept_up
from woodshop.units.lengths import lengths_in
from woodshop.units.wording import LengthUnit

Body = Callable[[OpenDesign, LengthUnit], None]
"""Builds the inside of a screen. It is called again each time the design or the unit changes."""
_CHECKING = "Checking the fit …"
_HERE = Path(__file__).parent
FIT = "fit"
"""The last part of the address of the screen that lists the findings."""
YARD = "goods"
"""The first part of the place of what a lumberyard file holds, for links to it; its name follows."""
_SAID = {
    "saved": "All changes are saved",
    "not saved": "Not saved",
    "changed on disk": "Not saved: the file changed",
}


@dataclass(frozen=True, slots=True)
class Screen:
    """One screen of a design: the last part of its address, its title, and its place in the order of the work.

    `tables` are the tables, and the keys at the top of the design file, that are changed there.
    """

    route: str
    title: str
    order: int
    body: Body
    tables: tuple[str, ...] = ()


_screens: dict[str, Screen] = {}
_units: dict[str, LengthUnit] = {}
_unit_changed: dict[str, list[Callable[[], None]]] = {}
_folders: list[Folder] = []
_tools: "WeakKeyDictionary[Client, _Tools]" = WeakKeyDictionary()
_loading, _is_loaded = Lock(), list[bool]()


def screen(route: str, title: str, order: int, tables: tuple[str, ...] = ()) -> Callable[[Body], Body]:
    """Registers the decorated function as the body of the screen at /design/<name>/<route>.

    `title` is its name in the list of screens and its heading; `order` and `tables` are those of `Screen`.
    """

    def register(body: Body) -> Body:
        _screens[route] = Screen(route, title, order, body, tables)
        return body

    return register


def load_screens() -> None:
    """Imports every screen, once. It takes a second, so the home screen is shown before."""
    with _loading:
        if not _is_loaded:
            for module in iter_modules([str(_HERE / "screens")]):
                import_module(f"woodshop.page.screens.{module.name}")
            gc.freeze()  # what is loaded now stays: looking through it for garbage would take a sixth of each check
            _is_loaded.append(True)


def screens() -> tuple[Screen, ...]:
    """All screens, in the order of the work."""
    load_screens()
    return tuple(sorted(_screens.values(), key=lambda each: (each.order, each.route)))


def screen_with(table: str) -> Screen:
    """The screen where a table, or a key at the top of the file, is changed; the last one has what no other has."""
    return next((each for each in screens() if table in each.tables), screens()[-1])


def address(name: str, route: str = "") -> str:
    """The address of a screen of the design `name`, with the last part `route`; "" leads to the first screen."""
    return f"/design/{quote(name, safe='')}" + (f"/{route}" if route else "")


async def count_again() -> None:
    """Shows in the header of this tab how many findings there are, now that more are known."""
    if (tools := _tools.get(ui.context.client)) is not None:
        await tools.count_again()


def undo_latest() -> None:
    """Takes back the latest change, as Undo in the header of this tab does."""
    if (tools := _tools.get(ui.context.client)) is not None:
        tools.take_back()


def served_folder() -> Folder:
    """The folder that the page was started in."""
    return _folders[-1]


def yard_not_saved(design: str, yard: OpenLumberyard) -> tuple[str, str]:
    """What is wrong with a lumberyard file that is not saved, and the address of its fields."""
    has = "has an error and" if yard.problems else "was changed elsewhere and" if yard.save_state != "not saved" else ""
    said = f"Your lumberyard {yard.path.name} {has} is not saved".replace("  ", " ")
    return said, f"{address(design, screen_with('lumberyard').route)}#{YARD}.{quote(yard.path.stem)}"


def serve_screens(folder: Folder) -> None:
    """Serves every registered screen for each design of the folder."""
    _folders.append(folder)
    look, script = ((_HERE / name).read_text("utf-8") for name in ("look.css", "frame.js"))
    ui.add_head_html(f"<style>{look}</style><script>{script}</script>", shared=True)

    @ui.page("/design/{name}", response_timeout=30)
    async def begin(name: str) -> Response:
        return RedirectResponse(address(name, (await to_thread(screens))[0].route), 303)

    @ui.page("/design/{name}/{route}", response_timeout=30)
    async def show(name: str, route: str) -> Response | None:
        await to_thread(load_screens)
        shown = _screens.get(route)
        if shown is None:
            return PlainTextResponse("There is no such screen.\n", 404)
        if name not in folder.designs():
            return PlainTextResponse("There is no such design in this folder.\n", 404)
        try:
            opened = folder.open(name)
        except InputError as error:
            return PlainTextResponse(f"{error.problems[0]}\n", 404)
        _show(name, shown, opened)
        return None


@contextmanager
def framed(title: str, design: str = "", route: str = "") -> Iterator[None]:
    """The frame of a screen with its `title`, around what `with` makes; `design` and `route` are "" at home."""
    ui.page_title(f"{title} – {design or 'woodshop'}")
    ui.on_exception(_report)
    client = ui.context.client
    ask_for_lost(client)
    slot = client.content.parent_slot
    assert slot is not None
    slot.parent.props('id="work" tabindex="-1"')
    with client.layout:
        made: list[ui.element] = [link("Skip to the work", "#work").classes("skip")]
        with ui.element("header").classes("top") as top:
            link("woodshop", "/").classes("brand").props["aria-label"] = "woodshop: your designs"
            if design:
                words("span", design).classes("design-name")
        made.append(top)
        if design:
            client.layout.classes("with-steps")
            made.append(_steps(design, route))
    for n, each in enumerate(made):
        each.move(client.layout, n)
    words("h1", title)
    yield
    if design:
        _onward(design, route)


def _steps(design: str, route: str) -> ui.element:
    order = screens()
    place = next((n for n, each in enumerate(order, 1) if each.route == route), 1)

    def listed() -> None:
        with ui.element("ol"):
            for n, each in enumerate(order, 1):
                with ui.element("li"):
                    item = link(f"{n}. {each.title}", address(design, each.route))
                    if each.route == route:
                        item.props["aria-current"] = "page"

    with ui.element("nav").classes("steps").props('aria-label="Steps of the work"') as made:
        with ui.element("details").classes("narrow"):
            words("summary", f"Step {place} of {len(order)}: {order[place - 1].title}. Show all steps")
            listed()
        with ui.element("div").classes("wide"):
            listed()
    return made


def _onward(design: str, route: str) -> None:
    order = screens()
    place = next(n for n, each in enumerate(order) if each.route == route)
    with ui.element("nav").classes("onward").props('aria-label="Step before and after"'):
        if place:
            link(f"Back: {order[place - 1].title}", address(design, order[place - 1].route))
        if place + 1 < len(order):
            link(f"Next: {order[place + 1].title}", address(design, order[place + 1].route)).classes("press next-press")


def _show(name: str, shown: Screen, opened: OpenDesign) -> None:
    with framed(shown.title, name, shown.route):
        tools = _tools[ui.context.client] = _Tools(name, opened)

        def body() -> None:
            unit = tools.unit()
            with lengths_in(unit):
                _say_unit(opened, unit)
                try:
                    shown.body(opened, unit)
                except WoodshopError as error:
                    show_problems(error.problems)

        client = ui.context.client
        parts = kept_up(lambda: _notice(opened)), kept_up(body, "built")

        def again() -> None:
            try:
                for show_again in (tools.show, *parts):
                    show_again()
            except Exception as error:  # this tab shows it, and the others are built all the same
                client.handle_exception(error)

        watchers = _unit_changed.setdefault(name, [])
        watchers.append(again)
        unsubscribe = opened.subscribe(again)

        def closed() -> None:
            unsubscribe()
            watchers.remove(again)

        client.on_delete(closed)
        seen = [file_stamp(opened.path)]

        def look() -> None:
            if (stamp := file_stamp(opened.path)) != seen[0]:
                seen[0] = stamp
                opened.look_at_file()

        ui.timer(2.0, look)


def _say_unit(opened: OpenDesign, unit: LengthUnit) -> None:
    """Says what is shown where that is not the unit of the design, and how exact it is."""
    try:
        own = opened.design().unit
    except WoodshopError:
        return
    if own != unit:
        names: dict[LengthUnit, str] = {"in": "inches", "mm": "millimeters"}
        exactly = ", rounded to 0.1 mm. Cut by the inches" if unit == "mm" else ""
        words("p", f"This design is in {names[own]}. Sizes are shown in {names[unit]}{exactly}.").classes("hint")


def _notice(opened: OpenDesign) -> None:
    """What keeps the design from being saved, with what can be done."""
    if opened.save_state == "changed on disk":
        with ui.element("section").classes("problems").props('role=alert aria-label="The file changed"'):
            words("p", f"Another program changed or removed {opened.path.name} after the page read it.")
            words("p", "Nothing is written until you choose which text to keep. Undo takes the choice back.")
            with ui.element("div").classes("tools"):
                press("Keep what is on this page", opened.keep_mine)
                press("Take what is in the file", opened.take_file)
            with ui.element("details"):
                words("summary", "Show both")
                for title, text in (("On this page", opened.text), ("In the file", _file_text(opened))):
                    words("h3", title)
                    words("pre", text).classes("file-text").props["tabindex"] = 0
    elif opened.problems:
        with ui.element("section").classes("problems").props('role=alert aria-label="Not saved"'):
            words(
                "p", "The last change is not saved yet. The file keeps the text from before it. Correct this, or undo:"
            )
            with ui.element("ul"):
                for each in opened.problems:
                    words("li", _spoken(each, opened))
    elif opened.not_written:
        show_problems(opened.not_written)


def _spoken(problem: Problem, opened: OpenDesign) -> str:
    from woodshop.page.fields import spoken_problem

    try:
        return spoken_problem(problem, toml_tables(opened.text, opened.path.name), opened.path.name)
    except InputError:
        return str(problem)


def _file_text(opened: OpenDesign) -> str:
    try:
        text = opened.file_text()
    except InputError as error:
        return str(error.problems[0])
    return "The file is gone." if text is None else text


class _Tools:
    """The tools in the header of a design: saved or not, undo, redo, unit. They stay when the screen is built again."""

    def __init__(self, name: str, opened: OpenDesign) -> None:
        self._name, self._opened = name, opened
        self._is_counting = self._is_outdated = False
        client = ui.context.client
        (top,) = (each for each in client.layout.default_slot.children if each.tag == "header")
        with top:
            self._state = words("p", "").classes("state").props("role=status")
            with ui.element("p").classes("yard-state").props("role=alert hidden") as self._yards:
                self._yard = link("", "#")
            self._done = words("p", "").classes("done-line").props("role=status")
            with ui.element("p").classes("verdict-line").props("role=status"):
                self._verdict = link("", address(name, FIT))
            self._timers = ui.element("div").props("hidden")
            with ui.element("div").classes("tools"):
                self._undo = press("Undo", self.take_back).props("id=undo aria-keyshortcuts=Control+Z")
                self._redo = press("Redo", self._make_again).props("id=redo aria-keyshortcuts=Control+Shift+Z")
                with ui.element("div").classes("unit").props('role=group aria-label="Unit of lengths"'):
                    self._inches = press("in", lambda: self._choose("in")).props('aria-label="inches, in"')
                    self._millimeters = press("mm", lambda: self._choose("mm")).props('aria-label="millimeters, mm"')
        self.show()

    def unit(self) -> LengthUnit:
        """The unit that is shown: as chosen, or that of the design."""
        if self._name not in _units:
            try:
                _units[self._name] = self._opened.design().unit
            except WoodshopError:
                return "in"
        return _units[self._name]

    def show(self) -> None:
        """Shows the present state of the design."""
        self._done.set_text("")
        state = self._opened.save_state
        self._state.set_text(_SAID[state])
        self._state.classes(remove="not-saved") if state == "saved" else self._state.classes("not-saved")
        yards = served_folder().lumberyards_not_saved(self._opened)
        self._yards.props["hidden"] = not yards
        self._yards.update()
        if yards:
            if state == "saved":
                self._state.set_text("The design is saved")
            said, target = yard_not_saved(self._name, yards[0])
            self._yard.set_text(said)
            self._yard.props["href"] = target
            self._yard.update()
        undo, redo = served_folder().to_undo(self._opened), served_folder().to_redo(self._opened)
        _enable(self._undo, undo is not None, "Undo", self._in_file(undo, undo.undo_what if undo else ""))
        _enable(self._redo, redo is not None, "Redo", self._in_file(redo, redo.redo_what if redo else ""))
        for button, unit in ((self._inches, "in"), (self._millimeters, "mm")):
            button.props(f"aria-pressed={'true' if self.unit() == unit else 'false'}")
        self._is_outdated = True
        self._verdict.set_text(_CHECKING)
        if not self._is_counting:
            with self._timers:
                ui.timer(0.2, self._count, once=True)

    async def _count(self) -> None:
        """Shows how many findings there are, as soon as they are known; a change meanwhile is counted after."""
        if self._is_counting:
            return
        self._is_counting = True
        try:
            while self._is_outdated and not self._verdict.is_deleted:
                self._is_outdated = False
                self._verdict.set_text(_CHECKING)
                for work_out in (_verdict, _verdict_of_plan):
                    found = await to_thread(work_out, self._opened, self.unit())
                    if found and not self._verdict.is_deleted:
                        self._verdict.set_text(found)
        finally:
            self._is_counting = False

    async def count_again(self) -> None:
        """Shows how many findings there are, now that more are known."""
        self._is_outdated = True
        await self._count()

    def take_back(self) -> None:
        """Takes back the latest change, of the design or of a lumberyard that it names."""
        if (changed := served_folder().to_undo(self._opened)) is not None:
            what = self._in_file(changed, changed.undo_what)
            changed.undo()
            self._done.set_text(f"Undone: {what}")

    def _make_again(self) -> None:
        if (changed := served_folder().to_redo(self._opened)) is not None:
            what = self._in_file(changed, changed.redo_what)
            changed.redo()
            self._done.set_text(f"Done again: {what}")

    def _in_file(self, changed: OpenFile[object] | None, what: str) -> str:
        """What a change changes, with the name of its file if that is not the design."""
        if changed is None or changed is self._opened:
            return what
        return f"{what.removesuffix(f', {changed.path.name}')}, in {changed.path.stem}"

    def _choose(self, unit: LengthUnit) -> None:
        _units[self._name] = unit
        for each in tuple(_unit_changed.get(self._name, ())):
            each()


def _verdict(opened: OpenDesign, unit: LengthUnit) -> str:
    """The number of findings of the last text that could be read, in the words of the report."""
    from woodshop.documents.report.report import verdict_line
    from woodshop.findings import gather
    from woodshop.page.batch_work import work_on
    from woodshop.page.fitting import fitting_of

    try:
        fitting = fitting_of(opened)
        batch, fit = fitting.fit(unit)
        varied = () if batch.conditions.tolerances is None else fitting.varied(unit)
        said = verdict_line(gather(fit.report.findings, varied or ()))
        if varied is not None:
            return said
        work = work_on(opened)
        if work.shown is not None and work.shown.verdict and work.is_current:
            return work.shown.verdict
        return f"{said} How sizes vary is not checked yet."
    except WoodshopError:
        return "The fit cannot be checked yet"


def _verdict_of_plan(opened: OpenDesign, unit: LengthUnit) -> str:
    """Why a design without errors cannot be planned yet; "" if it can, or if its errors are said instead."""
    from woodshop.page.fitting import fitting_of

    try:
        fitting = fitting_of(opened)
        batch, fit = fitting.fit(unit)
        is_lacking = not fit.report.has_errors and bool(fitting.refused(batch, fit, unit))
        return "It cannot be planned yet: see what the lumberyard lacks" if is_lacking else ""
    except WoodshopError:
        return ""


def _enable(button: TextElement, is_on: bool, name: str, what: str) -> None:
    """Makes a button usable or not; its tip says what it would do. It keeps the focus either way."""
    button.props["aria-disabled"] = "false" if is_on else "true"
    button.props["title"] = f"{name}: {what}" if is_on else ""
    button.update()


def _report(error: Exception) -> None:
    """Shows what went wrong in a step: in the words of the command line, or as a fault of the program."""
    if isinstance(error, WoodshopError):
        text = "\n".join(str(each) for each in error.problems)
    else:
        logging.getLogger("woodshop.page").error("a step failed", exc_info=error)
        text = (
            "woodshop could not do this step, by a fault of its own. Nothing that was saved is lost. Reload the page."
        )
    ui.notify(text, type="negative", timeout=0, close_button="Close", multi_line=True)
