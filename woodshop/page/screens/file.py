"""The file: the settings that no other screen has, and its text, for people who also use the command line."""

from functools import partial

from nicegui import ui

from woodshop.design.keys import DesignKey, keys_of, table_names
from woodshop.errors import InputError
from woodshop.page.controls import show_problems, words
from woodshop.page.fields import FileFields, fold, shown_form
from woodshop.page.frame import screen, screen_with
from woodshop.page.labels import key_label
from woodshop.page.opened.editing import Place
from woodshop.page.opened.opened import OpenDesign
from woodshop.units.wording import LengthUnit

_FILE = "file"
_FIXED = ("format", "batch")  # another name for the batch would leave its written plan behind


@screen(_FILE, "The file", 90)
def file(opened: OpenDesign, unit: LengthUnit) -> None:
    """Shows the settings that are changed only here, and the name and the text of the file."""
    try:
        with shown_form(opened, unit) as form:
            _rest(form)
    except InputError as error:
        show_problems(error.problems)
    words("h2", "The text of the file")
    words("p", f"The page keeps this design in {opened.path.name}. The commands of woodshop read the same file.")
    with ui.element("pre").props('tabindex=0 aria-label="Text of the design file"').classes("file-text"):
        ui.label(opened.text)


def _rest(form: FileFields) -> None:
    """A fold for each table that has no other screen, and one for the keys at the top of the file."""
    words("p", "These settings are seldom needed. Each has a default.")
    for table, written in table_names().items():
        if table and (written != f"[{table}]" or screen_with(table).route != _FILE):
            continue
        if not isinstance(form.tables.get(table, {}), dict):
            continue  # named in another file
        keys: dict[Place, DesignKey] = {(table, key.name) if table else (key.name,): key for key in keys_of(table)}
        if not table:
            alone = (place for place in keys if place[0] not in (*_FIXED, *table_names()))
            keys = {place: keys[place] for place in alone if screen_with(str(place[0])).route == _FILE}
        keys = {place: key for place, key in keys.items() if not key.kind.startswith("[")}
        title = key_label(table) if table else "The batch: paper, units, title and other files"
        fold(f"table {table}", title, partial(_fields, form, keys), keys)


def _fields(form: FileFields, keys: dict[Place, DesignKey]) -> None:
    with form.section(f"table {next(iter(keys))[0]}"):
        for place, key in keys.items():
            form.key(place, key, what=str(place[0]) if len(place) > 1 else "")
