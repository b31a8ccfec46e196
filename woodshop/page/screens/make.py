"""The screen "what to make": a picture of each item, what it is for, and its settings with limits and defaults."""

from collections.abc import Callable
from functools import lru_cache
from typing import Any
from urllib.parse import quote

from fastapi import Response
from nicegui import app, ui

from woodshop.design.keys import find_key
from woodshop.documents.answers.explain import purpose_of
from woodshop.documents.answers.listings import item_sketch
from woodshop.errors import InputError
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import items
from woodshop.hardware.registry import BoardPart, Item, Parameter, fields_as_parameters
from woodshop.page.controls import group, press, tick, words
from woodshop.page.fields import FileFields, anchor, fold, shown_form
from woodshop.page.frame import screen
from woodshop.page.opened import changes
from woodshop.page.opened.opened import OpenDesign
from woodshop.units.wording import LengthUnit

_FIRST = ("mounting", "sugar", "density")
_sketch = lru_cache(maxsize=64)(item_sketch)


@app.get("/picture/item/{name}")
def picture(name: str) -> Response:
    """The drawing of an item as an SVG file, or a sentence if there is no such item."""
    try:
        return Response(_sketch(name), media_type="image/svg+xml")
    except InputError as error:
        return Response(f"{error.problems[0]}\n", 404, media_type="text/plain")


@screen("make", "What to make", 20, ("make", "board"))
def make(opened: OpenDesign, unit: LengthUnit) -> None:
    """Builds the screen."""
    with shown_form(opened, unit) as form:
        words("p", "Tick what you want to make. Each hive gets one of each, less what hangs in your shed.")
        tables = changes.tables_at(opened.text, "make")
        parts = list(BoardPart)
        for each in sorted(items(), key=lambda item: parts.index(item.board_part) if item.board_part else len(parts)):
            _item(form, each, [(n, table) for n, table in enumerate(tables) if each.name in changes.item_names(table)])
        words("h2", "The fondant board")
        words("p", "These settings are shared by its rim, wire bottom, strips and packing blocks.")
        parameters = {each.name: each for each in fields_as_parameters(BoardSettings)}
        with form.section("board"):
            _settings(form, ("board",), [parameters[name] for name in _FIRST], "fondant board")
        rest = [each for name, each in parameters.items() if name not in _FIRST]

        def more() -> None:
            with form.section("more board"):
                _settings(form, ("board",), rest, "fondant board")

        fold("board", f"More about the board: {len(rest)} settings, each with a default", more,
             [("board", each.name) for each in rest])  # fmt: skip


def _item(form: FileFields, item: Item, wishes: list[tuple[int, dict[str, Any]]]) -> None:
    opened = form.opened
    title = item.title
    with _card(title):
        shown = ui.element("img")
        shown.props["src"] = f"/picture/item/{quote(item.name)}"
        shown.props["alt"] = f"Drawing: {title}"
        shown.props["loading"] = "lazy"
        with ui.element("div"):
            words("h2", title)
            words("p", purpose_of(item))
            if not item.is_per_hive:
                words("p", f"Counted by {item.per}, not by hives.").classes("hint")

            def change(is_on: bool) -> None:
                if is_on:
                    opened.edit(lambda text: changes.make_item(text, item.name), f"make {item.name}")
                else:
                    opened.edit(lambda text: changes.leave_out_item(text, item.name), f"do not make {item.name}")

            box = tick(f"Make: {item.name}", bool(wishes), change)
            box.props["data-at"] = anchor(("make", wishes[0][0] if wishes else item.name))
        for n, table in wishes:
            _wish(form, item, n, table, is_only=len(wishes) == 1)


def _card(title: str) -> ui.element:
    card = ui.element("section").classes("card item")
    card.props["aria-label"] = title
    return card


def _wish(form: FileFields, item: Item, n: int, table: dict[str, Any], *, is_only: bool) -> None:
    """What is set in [[make]] table number `n` for the item: spares, hives, settings."""
    opened = form.opened
    place = ("make", n)
    what = item.name if is_only else f"{item.name}, number {n + 1}"
    others = [name for name in changes.item_names(table) if name != item.name]
    problem = form.problem(place)
    if problem:
        words("p", problem).classes("problem").props["role"] = "alert"

    def inside() -> None:
        if others:
            words("p", f"These settings also apply to: {', '.join(others)}.")
            press(
                f"Set {item.name} apart",
                lambda: opened.edit(lambda text: changes.make_apart(text, item.name, n), f"set {item.name} apart"),
            )
        _for_hives(form, n, what)
        with form.section(f"item {item.name} {n}"):
            for key in _SHARED:
                form.key((*place, key), find_key("make", key), what=what)
            _settings(form, place, list(item.parameters), what)
        if not is_only:
            press(
                f"Remove {what}",
                lambda: opened.edit(lambda text: changes.leave_out_item(text, item.name, n), f"remove {what}"),
            )

    count = len(item.parameters)
    more = f", {count} settings" if count else ""
    holds = [(*place, key) for key in (*_SHARED, *(each.name for each in item.parameters))]
    fold(f"item {item.name} {n}", f"Set for {what}: spares, wood, which hives{more}", inside, holds)


_SHARED = ("spare", "wood")


def _settings(form: FileFields, place: tuple[str | int, ...], parameters: list[Parameter], what: str) -> None:
    for each in parameters:
        form.setting((*place, each.name), each, what=what)


def _for_hives(form: FileFields, n: int, what: str) -> None:
    """Ticks for the groups of hives, if there are several with names."""
    opened = form.opened
    names = [str(each.get("name", "")) for each in changes.tables_at(opened.text, "hives")]
    if len(names) < 2 or not all(names):
        return
    given = changes.hives_of(changes.tables_at(opened.text, "make")[n])
    chosen = given or names

    def changed(name: str) -> Callable[[bool], None]:
        def change(is_on: bool) -> None:
            wanted = [each for each in names if (is_on if each == name else each in chosen)]
            opened.edit(lambda text: changes.make_for(text, n, wanted), f"hives for {what}")

        return change

    with group(f"For which hives: {what}"):
        for name in names:
            tick(name, name in chosen, changed(name))
        if problem := form.problem(("make", n, "hives")):
            words("p", problem).classes("problem")
