"""Rows of a design file that have fields: people, orders, boxes and sets named in orders, each with Add and Remove."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Any

from nicegui import ui

from woodshop.design.keys import DesignKey, keys_of
from woodshop.design.tables import FORMS
from woodshop.page.controls import group, press, words
from woodshop.page.fields import FileFields, anchor, fold, row_name
from woodshop.page.opened.editing import Place, add_table, remove_table, value_at
from woodshop.page.opened.opened import OpenDesign
from woodshop.reference.patterns import MEASURES
from woodshop.units.wording import LengthUnit, with_article


@dataclass(frozen=True, slots=True)
class Rows:
    """An array of tables as people edit it: its `table` as in the list of keys, and `one` of its rows in words.

    `start` are values of a new row; its other required keys begin with their examples. `named` is the key that gets
    another value in each new row. `first` are the keys that are always in sight; none means all.
    """

    table: str
    one: str
    named: str = "name"
    start: Mapping[str, Any] = field(default_factory=dict)
    first: tuple[str, ...] = ()

    @property
    def place(self) -> Place:
        """The place of the array in the file."""
        return tuple(self.table.split("."))


PEOPLE = Rows("crew.person", "person", start={"hours": ["Sat, Sun 9:00-12:00", "Sat, Sun 13:00-17:00"]})
ORDERS = Rows(
    "order", "order", "customer", {"count": 1, "form": "packed"}, ("customer", "item", "box", "count", "form", "due")
)
ORDER_BOXES = Rows("box", "box", first=("name", "pattern", "frames", "width", "gap"))
SETS = Rows("set", "set")
OWN_PATTERNS = "Hives of another pattern, which I measured"
PATTERNS = Rows("pattern", "pattern", first=("name", "like", *MEASURES))


_ORDER_KINDS = {"due": "a date", "count": "a whole number", "priority": "a whole number"}


def plain_keys(table: str) -> tuple[DesignKey, ...]:
    """The keys of a table without the arrays of tables in it, which have no fields."""
    return tuple(key for key in keys_of(table) if not key.kind.startswith("["))


def own_names(form: FileFields) -> list[str]:
    """The names of the patterns that the design describes."""
    held = form.tables.get("pattern")
    rows = held if isinstance(held, list) else []
    return [str(row["name"]) for row in rows if isinstance(row, dict) and row.get("name")]


def show_own_patterns(form: FileFields) -> None:
    """The patterns that the design describes, as measured: folded away until they are opened."""
    title = f"{OWN_PATTERNS} ({len(own_names(form))})"
    fold("rows pattern", title, partial(_explained, form, PATTERNS), [PATTERNS.place])


def _keys(table: str) -> tuple[DesignKey, ...]:
    """The keys of a table. Those of an order are cells of a spreadsheet, in which all is text; fields know more."""
    if table != "order":
        return plain_keys(table)
    found = (replace(key, kind=_ORDER_KINDS.get(key.name, key.kind)) for key in keys_of(table))
    return tuple(replace(key, choices=FORMS, meaning="") if key.name == "form" else key for key in found)


def show_rows(form: FileFields, rows: Rows) -> None:
    """The rows of an array, each a group of fields with a button to remove it, and a button to add one."""
    held = value_at(form.tables, rows.place)
    tables = [each if isinstance(each, dict) else {} for each in held] if isinstance(held, list) else []
    for n, values in enumerate(tables):
        _row(form, rows, n, values)
    title = f"Add {with_article(rows.one)}"
    values = _new(rows, tables)
    press(title, lambda: form.opened.edit(lambda text: add_table(text, rows.place, values), title))


def _row(form: FileFields, rows: Rows, n: int, values: Mapping[str, Any]) -> None:
    place: Place = (*rows.place, n)
    what = row_name(rows.table, values, n)
    known = {key.name: key for key in _keys(rows.table)}
    first = rows.first or tuple(known)
    rest: dict[Place, DesignKey] = {(*place, name): key for name, key in known.items() if name not in first}
    called = what if what.startswith(rows.one) else f"{rows.one} {n + 1}: {what}"
    with group(called[:1].upper() + called[1:]) as made:
        made.props["data-at"] = anchor(place)
        if problem := form.problem(place):
            words("p", problem).classes("problem").props["role"] = "alert"
        _fields(form, {(*place, name): known[name] for name in first}, what, values, anchor(place))
        if rest:
            inside = partial(_fields, form, rest, what, values, f"more {anchor(place)}")
            fold(f"more {anchor(place)}", f"More about {what}", inside, rest)
        remove = press("Remove", lambda: form.opened.edit(lambda text: remove_table(text, place), f"remove {what}"))
        remove.props["aria-label"] = f"Remove {rows.one} {n + 1}, {what}"
        remove.props["data-name"] = "remove"


def _fields(form: FileFields, keys: Mapping[Place, DesignKey], what: str, values: Mapping[str, Any], name: str) -> None:
    pattern = str(values.get("pattern", "Langstroth"))
    frames = values["frames"] if isinstance(values.get("frames"), int) else 0
    with form.section(name):
        for place, key in keys.items():
            form.key(place, key, what=what, pattern=pattern, frames=frames)


def _new(rows: Rows, tables: Sequence[Mapping[str, Any]]) -> dict[str, Any]:
    """The values of a new row: those that it needs, and a name that no other row has."""
    needed = {key.name: key.example_value for key in keys_of(rows.table) if key.is_required}
    held = {str(each.get(rows.named)) for each in tables}
    names = (f"{rows.named if rows.named != 'name' else rows.one} {n}".capitalize() for n in range(1, len(tables) + 2))
    return needed | {rows.named: next(name for name in names if name not in held)} | dict(rows.start)


def show_crew(form: FileFields) -> None:
    """Who works when, and what the shop has for it, for the screen of the days: folded away until it is opened."""
    crew = form.tables.get("crew", {})
    if not isinstance(crew, dict):
        words("p", f"The first day of work, the people and their hours are in the file {crew}. Change them there.")
        return

    def people() -> None:
        words("p", "Without a person here, one works every Saturday and Sunday, 9:00-12:00 and 13:00-17:00.")
        show_rows(form, PEOPLE)

    here = [key for key in keys_of("crew") if key.name != "start" and not key.kind.startswith("[")]
    keys: dict[Place, DesignKey] = {("crew", key.name): key for key in here}
    count = len(crew.get("person", ())) if isinstance(crew.get("person"), list) else 0
    fold("crew people", f"People and hours: {count or 'one person, as usual'}", people, [PEOPLE.place])
    fold("crew shop", "Tables, tools, car and drying times", partial(_fields, form, keys, "crew", {}, "crew"), keys)


def show_order_rows(form: FileFields) -> None:
    """Orders of the design itself, with the boxes and sets that orders name: folded away until they are opened."""
    for rows, title in ((ORDERS, "Orders of others"), (ORDER_BOXES, "Boxes that orders name"),
                        (SETS, "Sets that orders name")):  # fmt: skip
        held = value_at(form.tables, rows.place)
        count = len(held) if isinstance(held, list) else 0
        fold(f"rows {rows.table}", f"{title} ({count})", partial(_explained, form, rows), [rows.place])


def _explained(form: FileFields, rows: Rows) -> None:
    meaning = next(key.meaning for key in keys_of("") if key.name == rows.table)
    words("p", meaning.replace("and the keys of [[hives]] that describe boxes and frames", "and its sizes"))
    show_rows(form, rows)


def crew_fields(opened: OpenDesign, unit: LengthUnit) -> None:
    """The crew of an open design in a form of its own, with lengths shown in `unit`."""
    with ui.element("div").classes("built"):
        show_crew(FileFields(opened, unit))
