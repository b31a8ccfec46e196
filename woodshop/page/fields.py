"""Fields that show and change values of an open file. Each has its label, its help with the default, and its error."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import replace
from datetime import date
from typing import Any
from weakref import WeakKeyDictionary

from nicegui import Client, ui

from woodshop.design.keys import DesignKey, keys_of
from woodshop.design.schema import path_text, toml_tables
from woodshop.documents.answers.listings import parameter_row, span
from woodshop.documents.plan_design import settled_design
from woodshop.errors import Problem, WoodshopError
from woodshop.hardware.registry import Parameter
from woodshop.page.controls import choice, field, show_problems, words
from woodshop.page.opened.editing import Place, remove_value, set_value, value_at
from woodshop.page.opened.opened import OpenDesign, OpenLumberyard
from woodshop.units.lengths import read_length
from woodshop.units.wording import LengthUnit

_open_folds: WeakKeyDictionary[Client, set[str]] = WeakKeyDictionary()
_LIST = re.compile(r"\s*,\s*")
_LENGTH = re.compile(r"\d[\d /.-]*(?:in|ft|mm)\b")
_AHEAD = ("on_by", "due")  # days that should be still to come
_HIVE_LABELS = {
    "name": "Name of these hives",
    "apiary": "Where they stand",
    "pattern": "Pattern of the boxes",
    "frames": "Frames in a box",
    "count": "How many hives",
    "width": "Width of a box, outside",
    "gap": "Gap over the top bars",
    "length": "Length of a box, outside",
    "height": "Height of the box under the board",
    "wall": "Thickness of the walls",
    "boxes": "All boxes of a hive",
    "due": "Day promised",
    "order": "Order number",
    "form": "How far finished",
    "cover": "Kind of cover",
    "measured": "Measured-box file",
    "box": "Box in that file",
}
_LABELS = {("hives", key): label for key, label in _HIVE_LABELS.items()} | {
    ("", "on_by"): "Day the boards must go on",
    ("make", "spare"): "Spares",
}
YES_NO = {"": "as by default", "yes": "yes", "no": "no"}


def fold(key: str, summary: str, build: Callable[[], None], holds: Iterable[Place] = ()) -> None:
    """A part of a screen that is folded away under `summary`. `build` makes its inside when it is opened.

    It stays open in its tab while the screen is built again. `key` is its name on the screen. `holds` are the places of
    the fields in it: a link to one of them opens it.
    """
    opened = _open_folds.setdefault(ui.context.client, set())
    details = ui.element("details").classes("fold")
    details.props["open"] = key in opened
    details.props["data-holds"] = "|".join(map(anchor, holds))
    details.props["data-name"] = key
    with details:
        words("summary", summary)
        inside = ui.element("div").classes("fold-inside")
    if key in opened:
        with inside:
            build()

    def toggled(is_open: bool) -> None:
        if is_open == (key in opened):
            return
        details.props["open"] = is_open  # the browser has done so, unless the fold was built again meanwhile
        details.update()
        if is_open:
            opened.add(key)
            with inside:
                build()
        else:
            opened.discard(key)
            inside.clear()

    details.on("toggle", lambda e: toggled(bool(e.args)), js_handler="(e) => emit(e.target.open)")


def contradictions(opened: OpenDesign) -> tuple[Problem, ...]:
    """What keeps a readable design from being settled: settings that contradict each other, or a lumberyard's errors.

    A design whose hives come from orders or whose book is read first is not settled here: the other screens do that.
    """
    try:
        design = opened.design()
        if not opened.problems and design.ordering is None and design.book is None:
            settled_design(design)
    except WoodshopError as bad:
        return bad.problems
    return ()


@contextmanager
def shown_form(opened: OpenDesign, unit: LengthUnit) -> Iterator["FileFields"]:
    """The form of a design for the inside of `with`. Above it are the contradictions that are beside no field."""
    form = FileFields(opened, unit, contradictions(opened))
    above = ui.element("div")
    yield form
    if left := [each for each in form.problems if each not in form.beside and each not in opened.problems]:
        with above:
            show_problems(left)


class FileFields:
    """The fields of one open file, as its text is when the screen is built.

    `problems` are those that are shown beside fields; the problems that have a field are noted in `beside`. Raises
    InputError if the text is not TOML.
    """

    def __init__(self, opened: OpenDesign | OpenLumberyard, unit: LengthUnit, more: tuple[Problem, ...] = ()) -> None:
        self.opened = opened
        self.unit = unit
        self.tables = toml_tables(opened.text, opened.path.name)
        self.problems = (*opened.problems, *more)
        self.beside: set[Problem] = set()

    def shown(self, place: Place) -> str:
        """The value at `place` as people type it, or "" if it is left out."""
        return as_typed(value_at(self.tables, place))

    def unit_words(self) -> str:
        """In what unit lengths are read that have none, and in what unit sizes are shown if that is another."""
        typed, other = ("millimeters", "inches") if self.tables.get("unit") == "mm" else ("inches", "millimeters")
        if (self.unit == "mm") == (typed == "millimeters"):
            return f"A length without a unit is in {typed}."
        return f"Sizes are shown in {other}, fields as they were typed. What you type without a unit is in {typed}."

    def problem(self, place: Place, whose: str = "") -> str:
        """What is wrong with the value at `place`, or "". Some problems name the hives `whose` value it is."""
        where = f"{self.opened.path.name}, {path_text(place)}"
        named = {where, f"{whose}, {place[-1]}"} if whose else {where}
        found = [each for each in self.problems if each.where in named or each.where.startswith(f"{where} number ")]
        self.beside.update(found)
        return " ".join(f"Given {each.given}; wanted {each.wanted}. {each.do}" for each in found)

    def put(self, place: Place, value: Any, what: str) -> None:
        """Sets the value at `place`, or removes it if it is None. `what` says in words what is changed."""
        if value is None:
            self.opened.edit(lambda text: remove_value(text, place), what)
        else:
            self.opened.edit(lambda text: set_value(text, place, value), what)

    def text(self, place: Place, label: str, *, what: str, kind: str = "text", hint: str = "",
             change: Callable[[str], None] | None = None) -> None:  # fmt: skip
        """A field with its `label` for a value of a `kind` of `from_typed`; `what` says whose it is, for undo.

        `hint` is its help. `change`, if given, makes the change with what was typed, in place of `put`.
        """
        shown = self.shown(place)

        def put(typed: str) -> None:
            self.put(place, from_typed(typed, kind), f"{label}, {what}" if what else label)

        is_day = kind == "date" and (not shown or _is_day(shown))
        of_html = "date" if is_day else "text"
        problem = self.problem(place, what) or (passed_day(shown) if place[-1] in _AHEAD else "")
        made = field(label, shown, change or put, hint=hint, problem=problem, kind=of_html)
        made.props["data-at"] = anchor(place)

    def one_of(self, place: Place, label: str, options: Mapping[str, str], *, what: str, hint: str = "",
               kind: str = "text") -> None:  # fmt: skip
        """A list with its `label`, to choose one of `options` from; the choice "" leaves the value out.

        `what`, `hint` and `kind` are as in `text`. A value that is none of the options is listed too.
        """
        shown = self.shown(place)
        listed = dict(options) if shown in options else {**options, shown: shown or "choose"}

        def change(typed: str) -> None:
            self.put(place, from_typed(typed, kind), f"{label}, {what}" if what else label)

        made = choice(label, listed, shown, change, hint=hint, problem=self.problem(place, what))
        made.props["data-at"] = anchor(place)

    def cell(self, place: Place, label: str, *, what: str, kind: str = "text") -> None:
        """A field for a table, named `label` for those who do not see it. `what` and `kind` are as in `text`."""
        problem = self.problem(place)
        shown = ui.element("input").classes("cell with-problem" if problem else "cell")
        shown.props["type"] = "text"
        shown.props["value"] = self.shown(place)
        shown.props["autocomplete"] = "off"
        shown.props["aria-label"] = label
        shown.props["data-at"] = anchor(place)
        if problem:
            told = words("p", problem).classes("problem")
            shown.props["aria-invalid"] = "true"
            shown.props["aria-describedby"] = told.html_id

        def change(typed: str) -> None:
            self.put(place, from_typed(typed, kind), f"{label}, {what}" if what else label)

        shown.on("change", lambda e: change(str(e.args)), js_handler="(e) => emit(e.target.value)")

    def choice_cell(self, place: Place, label: str, options: Mapping[str, str], *, kind: str = "text",
                    value: str | None = None, change: Callable[[str], None] | None = None) -> None:  # fmt: skip
        """A list for a table, named `label`, to choose one of `options` from. `kind` is as in `text`.

        `value` and `change` replace the value at `place` and the way to change it.
        """
        chosen = self.shown(place) if value is None else value
        shown = ui.element("select").classes("cell")
        shown.props["aria-label"] = label
        shown.props["data-at"] = anchor(place)
        if problem := self.problem(place):
            shown.classes("with-problem")
            shown.props["aria-invalid"] = "true"
            shown.props["aria-describedby"] = words("p", problem).classes("problem").html_id
        with shown:
            for key, text in (options if chosen in options else {**options, chosen: chosen or "choose"}).items():
                option = words("option", text)
                option.props["value"] = key
                if key == chosen:
                    option.props["selected"] = True

        def put(typed: str) -> None:
            self.put(place, from_typed(typed, kind), label)

        turn = change or put
        shown.on("change", lambda e: turn(str(e.args)), js_handler="(e) => emit(e.target.value)")

    def key(self, place: Place, key: DesignKey, *, what: str, pattern: str = "", frames: int = 0) -> None:
        """A field for a key of a design, at `place`.

        `what` is as in `text`. `pattern` and `frames` are those of its hives, for the default.
        """
        label = key_label(key.name, key.table)
        hint = key_hint(key, self.unit, pattern, frames).removeprefix(f"{label}. ")
        if key.choices:
            options = {"": _by_default(key.otherwise.removeprefix("Left out: "))} | {each: each for each in key.choices}
            if key.is_required:
                del options[""]
            self.one_of(place, label, options, what=what, hint=hint)
        elif key.kind == "true or false":
            self.one_of(place, label, YES_NO, what=what, hint=hint, kind="yes or no")
        else:
            self.text(place, label, what=what, kind=_kind_of(key.kind), hint=hint)

    def setting(self, place: Place, parameter: Parameter, design_unit: LengthUnit, *, what: str) -> None:
        """A field for a setting of an item or of the board, in a design with this unit. `what` is as in `text`."""
        row = parameter_row(parameter, design_unit)
        hint = setting_hint(row, self.unit)
        label = key_label(row["name"])
        if row["choices"]:
            choices = [each.strip('"') for each in row["choices"].split(', "')]
            options = {"": _by_default(row["default"])} | {each: each for each in choices}
            self.one_of(place, label, options, what=what, hint=hint)
        elif parameter.type is bool:
            self.one_of(place, label, YES_NO, what=what, hint=hint, kind="yes or no")
        else:
            kind = "whole number" if parameter.type is int else "text"
            self.text(place, label, what=what, kind=kind, hint=hint)


def anchor(place: Place) -> str:
    """The name of a field in an address: ("hives", 0, "gap") is "hives.0.gap"."""
    return ".".join(map(str, place))


def spoken_problem(problem: Problem, tables: Mapping[str, Any], file: str) -> str:
    """A problem of a design `file` with these tables; its place in the words of the page if a field has it."""
    rows = tables.get("hives")
    for n, row in enumerate(rows if isinstance(rows, list) else ()):
        for key in keys_of("hives"):
            if problem.where == f"{file}, {path_text(('hives', n, key.name))}":
                whose = (row.get("name") if isinstance(row, dict) else None) or f"Group {n + 1}"
                return str(replace(problem, where=f"{whose}, {key_label(key.name, 'hives')}"))
    for table, name in [("", "on_by"), *((t, key.name) for t in ("saw", "tools") for key in keys_of(t))]:
        place = (table, name) if table else (name,)
        if problem.where == f"{file}, {path_text(place)}":
            return str(replace(problem, where=key_label(name, table)))
    return str(problem)


def key_label(name: str, table: str = "") -> str:
    """The label of a key of a table: "frame_depth" is "Frame depth", unless the page has better words for it."""
    return _LABELS.get((table, name)) or name.replace("_", " ").capitalize()


def key_hint(key: DesignKey, unit: LengthUnit, pattern: str = "", frames: int = 0) -> str:
    """What a key means, and its default with its source, in `unit`, for hives of this `pattern` and `frames`."""
    value, cite = key.default(pattern, frames)
    meaning = key.meaning.replace(", year first, without quotes", "")
    if key.is_required:
        return f"{meaning} Needed."
    otherwise = key.otherwise.removeprefix("Left out: ").rstrip(".")
    if not otherwise and not value:
        return meaning
    usual = otherwise or in_unit(value, unit)
    if value and otherwise and not set(value.replace(",", "").split()) <= set(otherwise.replace(",", "").split()):
        usual = f"{otherwise} ({in_unit(value, unit)})"
    return f"{meaning} Default: {usual}.{f' {_sourced(cite)}' if value else ''}"


def _sourced(cite: str) -> str:
    """The source of a default as a sentence. A default that follows from other sizes is calculated."""
    how, _, of = cite.partition(": ")
    return f"Calculated: {of}." if how == "computed" else f"Source: {cite}."


def setting_hint(row: Mapping[str, str], unit: LengthUnit) -> str:
    """What a setting means, its limits, and its default with its source, in `unit`. `row` is from `parameter_row`."""
    limits = "" if row["choices"] else span(dict(row))
    words_of = [f"{row['help'][:1].upper()}{row['help'][1:]}{f': {in_unit(limits, unit)}' if limits else ''}."]
    words_of.append(f"Default: {in_unit(row['default'], unit)}. {_sourced(row['source'])}")
    if row["only"]:
        words_of.append(f"Counts only if {row['only'].replace(' = ', ' is ')}.")
    return " ".join(words_of)


def in_unit(text: str, unit: LengthUnit) -> str:
    """The text with each length in it written in `unit`.

    >>> in_unit("1/8 in to 5/8 in", "mm"), in_unit("16 lb", "mm")
    ('3.18 mm to 15.88 mm', '16 lb')
    """

    def turned(found: re.Match[str]) -> str:
        try:
            return read_length(found[0]).text(unit)
        except ValueError:
            return found[0]

    return _LENGTH.sub(turned, text)


def as_typed(value: Any) -> str:
    """A value of a TOML file as people type it: a list with commas, a stretch of a board with "to"."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        if value and all(isinstance(each, list) for each in value):
            return ", ".join(" to ".join(as_typed(end) for end in each) for each in value)
        return ", ".join(as_typed(each) for each in value)
    return value.isoformat() if isinstance(value, date) else str(value)


def from_typed(typed: str, kind: str) -> Any:
    """What people typed as a value of a TOML file, or None if they typed nothing.

    `kind` is "text", "whole number", "date", "list", "numbers", "stretches" or "yes or no". What is not of that kind
    stays text, so that the reader of the file can say what is wrong with it.
    """
    text = typed.strip()
    if not text:
        return None
    if kind == "whole number":
        return _whole(text)
    if kind == "date":
        with suppress(ValueError):
            return date.fromisoformat(text)
    if kind == "yes or no" and text in ("yes", "no"):
        return text == "yes"
    if kind == "stretches":
        return [[end.strip() for end in each.split(" to ")] for each in _LIST.split(text) if each]
    if kind in ("list", "numbers") and "," in text:
        return [_whole(each) if kind == "numbers" else each for each in _LIST.split(text) if each]
    if kind == "only list":
        return [each for each in _LIST.split(text) if each]
    return _whole(text) if kind == "numbers" else text


def _by_default(value: str) -> str:
    """The choice that leaves a value out: it names the default if that is one of few words."""
    value = value.strip('".')
    return f"{value} (default)" if value and len(value) <= 24 and '"' not in value else "as by default"


def _whole(text: str) -> int | str:
    return int(text) if re.fullmatch(r"-?[0-9]{1,12}", text) else text


def _is_day(text: str) -> bool:
    return re.fullmatch(r"\d{4}-\d\d-\d\d", text) is not None


def passed_day(text: str) -> str:
    """A remark if this day, year first, is before today, else "". It is for the screen alone: no result has a clock."""
    with suppress(ValueError):
        return "That day has passed." if date.fromisoformat(text) < date.today() else ""
    return ""


def _kind_of(kind: str) -> str:
    """The kind of `from_typed` for the kind of a design key."""
    if kind in ("a whole number", "a date"):
        return {"a whole number": "whole number", "a date": "date"}[kind]
    if "several in a list" in kind:
        return "list"
    return "only list" if "in a list" in kind else "text"
