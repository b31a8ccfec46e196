"""The screen "your hives": groups of hives, their boxes from the makers' list or measured, and where to measure."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from nicegui import ui

from woodshop.design.keys import find_key
from woodshop.design.orders.lines import read_orders
from woodshop.design.orders.orders import with_orders
from woodshop.documents.answers.hives import orders_section
from woodshop.documents.answers.measure_hive import maker_widths, measuring_section
from woodshop.documents.answers.patterns import tape_section
from woodshop.drawing.pens.html import section_html
from woodshop.drawing.values.model import Section
from woodshop.errors import Problem, WoodshopError
from woodshop.page.controls import choice, group, press, words
from woodshop.page.fields import FileFields, fold, shown_form
from woodshop.page.frame import screen
from woodshop.page.labels import in_unit, key_label
from woodshop.page.opened import changes
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.rows import OWN_PATTERNS, own_names, plain_keys, show_order_rows, show_own_patterns
from woodshop.plan.book.reading import with_inventory
from woodshop.units.lengths import Length, read_length
from woodshop.units.wording import LengthUnit

_FIRST = ("name", "apiary", "pattern", "frames", "count", "width", "gap")
_MEASURED = "measured"
_GAP = (
    "Type one value if all your hives are alike, such as {one}. If they differ, type two or three with commas between, "
    "such as {three}: each of them is checked."
)


@screen("hives", "Your hives", 10, ("hives", "pattern", "order", "box", "set"))
def hives(opened: OpenDesign, unit: LengthUnit) -> None:
    """Builds the screen."""
    ordered, faults = _ordered(opened)
    with shown_form(opened, unit, faults) as form:
        words("p", "A group is hives that are alike: the same boxes in the same place. Write one group for each kind.")
        ways = "413, 41.3 cm or 1.2 m" if form.own == "mm" else "16 1/4, 413 mm or 1 ft 4 1/4 in"
        words("p", f"{form.unit_words()} You can write {ways}.")
        fold("measure", "Where to put the tape: measure yours", _show_measuring)
        groups = changes.tables_at(opened.text, "hives")
        for n, values in enumerate(groups):
            _group(form, n, values, is_only=len(groups) == 1)
        press("Add a group of hives", lambda: opened.edit(changes.add_group, "add a group of hives"))
        show_own_patterns(form)
        words("h2", "Hives from orders")
        words("p", "If you build for others, write what each of them ordered. A spreadsheet of orders does as well.")
        show_order_rows(form)
        if ordered is not None:
            _from_orders(opened, ordered)


def _ordered(opened: OpenDesign) -> tuple[Section | None, tuple[Problem, ...]]:
    """The hives that come from orders, and what is wrong with the orders. There are none without orders."""
    try:
        design = opened.design()
        if opened.problems or design.ordering is None:
            return None, ()
        booked = with_inventory(design)
        found = read_orders(design.ordering, booked.inventory)
        with_orders(booked, found)
    except WoodshopError as error:
        return None, error.problems
    return orders_section(found, booked), ()


def _from_orders(opened: OpenDesign, ordered: Section) -> None:
    """The hives that come from orders, with the files of the orders."""
    design = opened.design()
    if design.ordering is not None and design.ordering.files:
        files = " and ".join(each.name for each in design.ordering.files)
        words("p", f"Orders come from {files} too. Change them there, then reload this page.")
    if design.book is not None:
        words("p", f"Only the orders that are accepted in the book {design.book.name} are planned.")
    with ui.element("div").classes("scroll").props('tabindex=0 role=region aria-label="Hives from orders"'):
        ui.html(section_html(ordered, level=3, prefix="orders-"), sanitize=False)


def _show_measuring() -> None:
    where = f'type the sizes under "{OWN_PATTERNS}"'
    ui.html(section_html(measuring_section(), level=2, prefix="measure-"), sanitize=False)
    tape = tape_section(where, partial(key_label, table="pattern"))
    ui.html(section_html(tape, level=2, prefix="tape-"), sanitize=False)


def _group(form: FileFields, n: int, values: dict[str, Any], *, is_only: bool) -> None:
    opened, name = form.opened, str(values.get("name", ""))
    what = name or f"group {n + 1}"
    pattern = str(values.get("pattern", "Langstroth"))
    frames = values["frames"] if isinstance(values.get("frames"), int) else 0
    has_makers = False
    with group(f"Group {n + 1}{f': {name}' if name else ''}"):
        with form.section(f"hives {n}"):
            _name(form, n, what)
            for name_of_key in _FIRST[1:]:
                if name_of_key == "width":
                    has_makers = _maker(form, n, what, pattern, frames)
                key, place = find_key("hives", name_of_key), ("hives", n, name_of_key)
                if name_of_key == "pattern":
                    key = replace(key, choices=(*key.choices, *own_names(form)))
                form.key(
                    place, key, what=what, pattern=pattern, frames=frames, more=_more(form, name_of_key, has_makers)
                )

        rest = {("hives", n, key.name): key for key in plain_keys("hives") if key.name not in _FIRST}

        def other() -> None:
            with form.section(f"more hives {n}"):
                for place, key in rest.items():
                    form.key(place, key, what=what, pattern=pattern, frames=frames)

        fold(f"more {n}", f"More about {what}: other sizes, cover, sugar, customer", other, rest)
        with ui.element("div").classes("tools"):
            for verb, change in (("Copy", changes.copy_group), ("Remove", changes.remove_group)):
                if verb == "Copy" or not is_only:
                    do = partial(opened.edit, partial(_changed, change, n), f"{verb.lower()} {what}")
                    press(f"{verb} {what}", do).props["data-name"] = verb


def _changed(change: Callable[[str, int], str], n: int, text: str) -> str:
    return change(text, n)


def _name(form: FileFields, n: int, what: str) -> None:
    form.text(
        ("hives", n, "name"),
        key_label("name", "hives"),
        what=what,
        hint=find_key("hives", "name").meaning,
        change=lambda typed: form.opened.edit(
            lambda text: changes.rename_group(text, n, typed.strip()), f"name, {what}"
        ),
    )


def _more(form: FileFields, key: str, has_makers: bool) -> str:
    """What is to be said of a field of a group besides what its key means."""
    if key == "gap":
        one, three = ("7", "7, 7.5, 7") if form.own == "mm" else ("1/4", "1/4, 5/16, 1/4")
        return _GAP.format(one=one, three=three)
    return "This width is what counts. A maker's box fills it in." if key == "width" and has_makers else ""


def _maker(form: FileFields, n: int, what: str, pattern: str, frames: int) -> bool:
    """The list of widths that makers sell, and whether there is one."""
    place = ("hives", n, "width")
    rows = maker_widths(pattern, frames)
    if not rows:
        return False
    given = form.shown(place)
    options = {"": f"as by default: {in_unit(rows[0].value, form.unit)}"}
    for row in rows:
        kind = row.what.partition(", ")[2].rstrip(".")
        options[row.value] = in_unit(row.value, form.unit) + (f" ({kind})" if kind else "")
    options[_MEASURED] = "another width, which I measured"
    same = [row.value for row in rows if given and _is_same(row.length, given, form)]
    chosen = same[0] if same else _MEASURED if given else ""

    def change(value: str) -> None:
        if value != _MEASURED:
            form.put(place, value or None, f"width, {what}")

    hint = (
        "Choose a maker, or type the width in the next field: one of the two is enough. A choice here fills in that "
        "field. If you are not sure, measure."
    )
    choice("Maker's box", options, chosen, change, hint=hint)
    return True


def _is_same(length: Length, typed: str, form: FileFields) -> bool:
    try:
        return length == read_length(typed, form.own)
    except ValueError:
        return False
