"""The frame of every screen: header, list of screens in the order of the work, undo and redo, unit, and the look."""

from collections.abc import Callable
from dataclasses import dataclass
from urllib.parse import quote

from fastapi import Response
from fastapi.responses import PlainTextResponse
from nicegui import ui

from woodshop.errors import InputError
from woodshop.page.opened.folder import Folder
from woodshop.page.opened.opened import OpenDesign
from woodshop.units.lengths import lengths_in
from woodshop.units.wording import LengthUnit

Body = Callable[[OpenDesign, LengthUnit], None]
"""Builds the inside of a screen. It is called again each time the design or the unit changes."""


@dataclass(frozen=True, slots=True)
class Screen:
    """One screen of a design: the last part of its address, its title, and its place in the order of the work."""

    route: str
    title: str
    order: int
    body: Body


_screens: dict[str, Screen] = {}
_units: dict[str, LengthUnit] = {}


def screen(route: str, title: str, order: int) -> Callable[[Body], Body]:
    """Registers the decorated function as the body of the screen at /design/<name>/<route>.

    `title` is its name in the list of screens and its heading; `order` is its place in the order of the work.
    """

    def register(body: Body) -> Body:
        _screens[route] = Screen(route, title, order, body)
        return body

    return register


def screens() -> tuple[Screen, ...]:
    """All registered screens, in the order of the work."""
    return tuple(sorted(_screens.values(), key=lambda each: (each.order, each.route)))


def address(name: str, route: str) -> str:
    """The address of a screen of the design `name`, with the last part `route`."""
    return f"/design/{quote(name, safe='')}/{route}"


def serve_screens(folder: Folder) -> None:
    """Serves every registered screen for each design of the folder."""

    @ui.page("/design/{name}/{route}")
    def show(name: str, route: str) -> Response | None:
        shown = _screens.get(route)
        try:
            opened = folder.open(name)
        except InputError as error:
            return PlainTextResponse(f"{error.problems[0]}\n", 404)
        if shown is None:
            return PlainTextResponse("There is no such screen.\n", 404)
        _framed(name, shown, opened)
        return None


def _framed(name: str, shown: Screen, opened: OpenDesign) -> None:
    ui.page_title(f"{shown.title} – {name}")
    with ui.element("nav").props('aria-label="Screens in the order of the work"'):
        for each in screens():
            ui.link(each.title, address(name, each.route))
    ui.label(shown.title).props("role=heading aria-level=1")

    @ui.refreshable
    def body() -> None:
        unit = _units.get(name, "in")
        with lengths_in(unit):
            shown.body(opened, unit)

    body()

    def again() -> None:
        body.refresh()

    ui.context.client.on_delete(opened.subscribe(again))
