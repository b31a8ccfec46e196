"""Fields that show and change values of an open file. Each has its label, its help with the default, and its error."""

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import replace
from datetime import date, datetime
from functools import cache, partial
from typing import Any
from weakref import WeakKeyDictionary

from nicegui import Client, ui

from woodshop.design.keys import DesignKey, keys_of, table_names
from woodshop.design.schema import path_text, toml_tables
from woodshop.documents.answers.listings import parameter_row, span
from woodshop.documents.plan_design import settled_design
from woodshop.errors import Problem, WoodshopError
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.catalogue import items
from woodshop.hardware.registry import Parameter, fields_as_parameters
from woodshop.page.controls import choice, field, group, list_input, text_input, tick, words
from woodshop.page.labels import key_label, named_values, page_words, said
from woodshop.page.opened.editing import Place, remove_value, set_value, value_at
from woodshop.page.opened.opened import OpenDesign, OpenLumberyard
from woodshop.page.rebuild import kept_up
from woodshop.reference.materials import mesh_name, mesh_names
from woodshop.units.lengths import NUMBER, Length, lengths_in, unit_of_lengths
from woodshop.units.wording import LengthUnit, in_short, wording_of

_open_folds: WeakKeyDictionary[Client, set[str]] = WeakKeyDictionary()
_LIST = re.compile(r"\s*[,;]\s*")
_HOURS = re.compile(r"\s*;\s*|(?<=\d)\s*,\s*")  # a comma may also be between two days of the week
_DAYS = re.compile(r"\s*;\s*|\s*,(?!\s*\d{4}(?![\d-]))\s*")  # a comma may also be before the year of a day
_ISO_DAY = re.compile(r"\b\d{4}-\d\d-\d\d\b")
_WAYS_OF_DAYS = ("%Y-%m-%d", "%b %d, %Y", "%B %d, %Y", "%b %d %Y", "%B %d %Y", "%d %b %Y", "%d %B %Y")
_AHEAD = ("on_by", "due")  # days that should be still to come
_TICKED = {("crew.person", "skills")}  # lists whose order does not matter, and which have all when left out
YES_NO = {"": "as by default", "yes": "yes", "no": "no"}


def fold(
    key: str, summary: str, build: Callable[[], None], holds: Iterable[Place] = (), *, begins_open: bool = False
) -> ui.element:
    """A part of a screen that is folded away under `summary`. `build` makes its inside when it is opened.

    It stays open in its tab while the screen is built again. `key` is its name on the screen. `holds` are the places of
    the fields in it: a link to one of them opens it. One that `begins_open` stays closed once it was closed.
    """
    opened, unit = _open_folds.setdefault(ui.context.client, set()), unit_of_lengths()
    if begins_open and (begun := f"begun: {key}") not in opened:
        opened.update((key, begun))

    def inside() -> None:
        if key in opened:
            with lengths_in(unit):
                build()

    details = ui.element("details").classes("fold")
    details.props["open"] = key in opened
    details.props["data-holds"] = "|".join(map(anchor, holds))
    details.props["data-name"] = key
    with details:
        words("summary", summary)
        again = kept_up(inside, "fold-inside")

    def toggled(is_open: bool) -> None:
        if is_open == (key in opened):
            return
        details.props["open"] = is_open  # the browser has done so, unless the fold was built again meanwhile
        details.update()
        if is_open:
            opened.add(key)
        else:
            opened.discard(key)
        again()

    details.on("toggle", lambda e: toggled(bool(e.args)), js_handler="(e) => sendInOrder(emit, e.target.open)")
    return details


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
def shown_form(opened: OpenDesign, unit: LengthUnit, more: tuple[Problem, ...] = ()) -> Iterator["FileFields"]:
    """The form of a design for the inside of `with`. Above it are problems that are beside no field."""
    form = FileFields(opened, unit, contradictions(opened) + more)
    above = ui.element("div")
    yield form
    if left := [each for each in form.problems if each not in form.beside and each not in opened.problems]:
        with above, ui.element("div").classes("problems").props("role=alert"), ui.element("ul"):
            for each in left:
                words("li", spoken_problem(each, form.tables, opened.path.name))


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
        self.own: LengthUnit = "mm" if self.tables.get("unit") == "mm" else "in"
        self.beside: set[Problem] = set()
        self._sources: dict[str, list[str]] = {}

    @contextmanager
    def section(self, key: str) -> Iterator[None]:
        """A grid of fields for the inside of `with`. Under it, folded away, is where the defaults in it come from.

        `key` is its name on the screen.
        """
        outer, self._sources = self._sources, {}
        with ui.element("div").classes("fields"):
            yield
        found, self._sources = self._sources, outer
        if found:
            fold(
                f"sources {key}", "Where do these defaults come from?", partial(_show_sources, self.own, found)
            ).classes("quiet")

    def shown(self, place: Place, kind: str = "text") -> str:
        """The value at `place`, of a `kind` of `from_typed`, as people type it, or "" if it is left out."""
        return shown_as(value_at(self.tables, place), kind)

    def unit_words(self) -> str:
        """In what unit lengths are read that have none, and that fields keep it if another unit is shown."""
        typed = "millimeters" if self.own == "mm" else "inches"
        if self.unit == self.own:
            return f"A length without a unit is in {typed}."
        return f"Fields stay as they were typed. What you type without a unit is in {typed}."

    def _unit_alone(self) -> str:
        """The unit of a length typed as a number alone, or "" if that is the unit that is shown."""
        return "" if self.own == self.unit else {"mm": "millimeters", "in": "inches"}[self.own]

    def said(self, text: str) -> str:
        """What the page says, in the units of the file, with lengths in the unit that is shown."""
        return said(text, self.own, self.unit)

    def problem(self, place: Place, whose: str = "") -> str:
        """What is wrong with the value at `place`, or "". Some problems name the hives `whose` value it is."""
        where = f"{self.opened.path.name}, {path_text(place)}"
        named = {where, f"{whose}, {place[-1]}"} if whose else {where}
        found = [each for each in self.problems if each.where in named or each.where.startswith(f"{where} number ")]
        self.beside.update(found)
        return " ".join(_without_quotes(f"Given {each.given}; wanted {each.wanted}. {each.do}") for each in found)

    def put(self, place: Place, value: Any, what: str) -> None:
        """Sets the value at `place`, or removes it if it is None. `what` says in words what is changed."""
        if value is None:
            self.opened.edit(lambda text: remove_value(text, place), what)
        else:
            self.opened.edit(lambda text: set_value(text, place, value), what)

    def text(self, place: Place, label: str, *, what: str, kind: str = "text", hint: str = "",
             change: Callable[[str], None] | None = None, is_length: bool = False) -> None:  # fmt: skip
        """A field with its `label` for a value of a `kind` of `from_typed`; `what` says whose it is, for undo.

        `hint` is its help. If `is_length` is true, its label says the unit of a number alone where another is shown.
        `change`, if given, makes the change with what was typed, in place of `put`.
        """
        shown = self.shown(place, kind)

        def put(typed: str) -> None:
            self.put(place, from_typed(typed, kind), f"{label}, {what}" if what else label)

        is_day = kind == "date" and (not shown or _is_day(shown))
        of_html = "date" if is_day else "text"
        problem = self.problem(place, what) or (passed_day(shown) if place[-1] in _AHEAD else "")
        alone = self._unit_alone() if is_length else ""
        if alone and problem:
            problem = f"{problem} {read_as(shown, alone, self.opened.kind)}".strip()
        unit = f"a number alone: {alone}" if alone else ""
        made = field(label, shown, change or put, hint=hint, problem=problem, kind=of_html, unit=unit)
        made.props["data-at"] = anchor(place)
        if kind == "hours" and made.parent_slot is not None:
            made.parent_slot.parent.classes("wide")

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

    def several(self, place: Place, label: str, options: Iterable[str], *, what: str, hint: str = "") -> None:
        """Ticks under `label` for a list of some of `options`; without a list all are ticked.

        `what` and `hint` are as in `text`.
        """
        names, given = list(options), value_at(self.tables, place)
        chosen = [each for each in names if not isinstance(given, list) or each in given]

        def changed(name: str, is_on: bool) -> None:
            wanted = [each for each in names if (is_on if each == name else each in chosen)]
            self.put(place, None if wanted == names else wanted, f"{label}, {what}")

        with group(f"{label}: {what}").classes("several wide") as made:
            made.props["data-at"] = anchor(place)
            for name in names:
                tick(name, name in chosen, partial(changed, name))
            words("p", hint).classes("hint")
            if problem := self.problem(place):
                words("p", problem).classes("problem").props["role"] = "alert"

    def cell(self, place: Place, label: str, *, what: str, kind: str = "text", note: str = "") -> ui.element:
        """A field for a table, named `label` for those who do not see it. `what` and `kind` are as in `text`.

        `note` is a word below it.
        """
        problem = self.problem(place)

        def change(typed: str) -> None:
            self.put(place, from_typed(typed, kind), f"{label}, {what}" if what else label)

        shown = text_input(self.shown(place), change).classes("cell with-problem" if problem else "cell")
        shown.props["aria-label"] = label
        shown.props["data-at"] = anchor(place)
        if problem:
            error = words("p", problem).classes("problem")
            shown.props["aria-invalid"] = "true"
            shown.props["aria-describedby"] = error.html_id
        elif note:
            shown.props["aria-describedby"] = words("span", note).classes("under").html_id
        return shown

    def choice_cell(self, place: Place, label: str, options: Mapping[str, str], *, kind: str = "text",
                    value: str | None = None, change: Callable[[str], None] | None = None) -> ui.element:  # fmt: skip
        """A list for a table, named `label`, to choose one of `options` from. `kind` is as in `text`.

        `value` and `change` replace the value at `place` and the way to change it.
        """
        chosen = self.shown(place) if value is None else value
        listed = options if chosen in options else {**options, chosen: chosen or "choose"}

        def put(typed: str) -> None:
            self.put(place, from_typed(typed, kind), label)

        shown = list_input(listed, chosen, change or put).classes("cell")
        shown.props["aria-label"] = label
        shown.props["data-at"] = anchor(place)
        if problem := self.problem(place):
            shown.classes("with-problem")
            shown.props["aria-invalid"] = "true"
            shown.props["aria-describedby"] = words("p", problem).classes("problem").html_id
        return shown

    def key(
        self, place: Place, key: DesignKey, *, what: str, pattern: str = "", frames: int = 0, more: str = ""
    ) -> None:
        """A field for a key of a design, at `place`.

        `what` is as in `text`. `pattern` and `frames` are those of its hives, for the default. `more` follows its help.
        """
        label = key_label(key.name, key.table)
        hint = key_hint(key, self.unit, self.own, pattern, frames).removeprefix(f"{label}. ")
        hint = f"{hint} {self.said(more)}".strip()
        self.note(label, key.default(pattern, frames, self.own)[1])
        if (key.table, key.name) in _TICKED:
            self.several(place, label, _named_in(key.kind), what=what, hint=hint)
        elif named := named_values(key.table, key.name, self.own):
            self.one_of(place, label, {"": "as by default"} | named, what=what, hint=hint)
        elif key.choices:
            options = {"": _by_default(key.otherwise.removeprefix("Left out: "))} | {each: each for each in key.choices}
            if key.is_required:
                del options[""]
            self.one_of(place, label, options, what=what, hint=hint)
        elif key.kind == "true or false":
            self.one_of(place, label, YES_NO, what=what, hint=hint, kind="yes or no")
        else:
            is_length = key.kind.startswith("a length")
            self.text(place, label, what=what, kind=_kind_of(key.kind), hint=hint, is_length=is_length)

    def note(self, label: str, source: str) -> None:
        """Notes where the default of a field comes from."""
        if source:
            self._sources.setdefault(source, []).append(label)

    def setting(self, place: Place, parameter: Parameter, *, what: str) -> None:
        """A field for a setting of an item or of the board. `what` is as in `text`."""
        row = parameter_row(parameter, self.own)
        hint = setting_hint(row, self.own, self.unit)
        label = key_label(row["name"])
        self.note(label, row["source"])
        if row["choices"]:
            choices = [each.strip('"') for each in row["choices"].split(', "')]
            options = {"": _by_default(self.said(row["default"]))}
            given = mesh_name(self.shown(place), self.own)
            for each in choices:  # a mesh may be written in either unit
                is_given = given in mesh_names() and mesh_name(each) == given
                options[self.shown(place) if is_given else each] = self.said(each)
            self.one_of(place, label, options, what=what, hint=hint)
        elif parameter.type is bool:
            self.one_of(place, label, YES_NO, what=what, hint=hint, kind="yes or no")
        else:
            kind = "whole number" if parameter.type is int else "text"
            is_length = parameter.type in (Length, Length | None)
            self.text(place, label, what=what, kind=kind, hint=hint, is_length=is_length)


def read_as(typed: str, alone: str, of: str) -> str:
    """How a refused length, as `typed`, was read, and how to write it in the other unit; "" if it has its unit.

    `alone` is the unit of a number alone, "inches" or "millimeters", in a file that is a design or a lumberyard, `of`.

    >>> read_as("413", "inches", "design")
    '413 was read as inches, the unit of this design. Write 413 mm.'
    >>> read_as("413 mm", "inches", "design")
    ''
    """
    parts = _LIST.split(typed.strip())
    if not all(re.fullmatch(NUMBER, each) for each in parts):
        return ""
    other = "mm" if alone == "inches" else "in"
    was, meant = "was" if len(parts) == 1 else "were", ", ".join(f"{each} {other}" for each in parts)
    return f"{typed.strip()} {was} read as {alone}, the unit of this {of}. Write {meant}."


def anchor(place: Place) -> str:
    """The name of a field in an address: ("hives", 0, "gap") is "hives.0.gap"."""
    return ".".join(map(str, place))


def spoken_problem(problem: Problem, tables: Mapping[str, Any], file: str) -> str:
    """A problem of a design `file` with these tables; its place in the words of the page if a field has it."""
    for place, called in _fields_of(tables):
        where = f"{file}, {path_text(place)}"
        if problem.where == where or re.fullmatch(rf"{re.escape(where)} number \d+", problem.where):
            return _without_quotes(str(replace(problem, where=called)))
    return _without_quotes(str(problem))


def _fields_of(tables: Mapping[str, Any]) -> Iterator[tuple[Place, str]]:
    """The place of each field of a design with these tables, and what it is called on the page."""
    for table in table_names():
        path: Place = tuple(table.split(".")) if table else ()
        held = value_at(tables, path)
        for n, row in enumerate(held) if isinstance(held, list) else [(None, held)]:
            named = row if isinstance(row, dict) else {}
            at = path if n is None else (*path, n)
            whose = "" if n is None else row_name(table, named, n)
            keys = (key for key in keys_of(table) if not key.kind.startswith("["))
            yield from (((*at, key.name), _called(whose, key_label(key.name, table))) for key in keys)
            if table in ("make", "board"):
                whose = whose or "fondant board"
                yield from (((*at, name), _called(whose, key_label(name))) for name in _setting_names())
            if at:
                yield at, whose or key_label(table)


def row_name(table: str, row: Mapping[str, Any], n: int) -> str:
    """What row number `n`, counted from 0, of an array of tables is called on the page: "group 2", or by its name."""
    wished = row.get("item")
    names = [each for each in (wished if isinstance(wished, list) else [wished]) if isinstance(each, str)]
    if table == "make" and names:
        return ", ".join(names)
    if table == "shed" and names:
        return f"{names[0]} in the shed"
    name = row.get("name") or row.get("customer")
    kind = {"hives": "group", "crew.person": "person"}.get(table, table)
    return f"order {n + 1}, {name}" if table == "order" and name else str(name or f"{kind} {n + 1}")


def _called(whose: str, label: str) -> str:
    return f"{whose[:1].upper()}{whose[1:]}: {label[:1].lower()}{label[1:]}" if whose else label


@cache
def _setting_names() -> tuple[str, ...]:
    """The names of all settings of the board and of the items."""
    every = (*fields_as_parameters(BoardSettings), *(one for item in items() for one in item.parameters))
    return tuple(dict.fromkeys(each.name for each in every))


def _without_quotes(text: str) -> str:
    """The text without advice that is only for those who write the file themselves."""
    return text.replace(", without quotes", "").replace(" Write it in quotes.", "")


def key_hint(key: DesignKey, unit: LengthUnit, own: LengthUnit = "in", pattern: str = "", frames: int = 0) -> str:
    """What a key means, and its default, in a design with the unit `own`, with lengths in `unit`.

    The default is that of hives of this `pattern` and `frames`.
    """
    value, _ = key.default(pattern, frames, own)
    key = key.in_unit(own)
    meaning = page_words(key.meaning)
    if " in a list" in key.kind and key.example_value is not None and (key.table, key.name) not in _TICKED:
        meaning += f" Such as: {shown_as(key.example_value, _kind_of(key.kind))}."
    meaning = said(meaning, own, unit)
    if key.is_required:
        return f"{meaning} Needed."
    otherwise = page_words(key.otherwise.removeprefix("Left out: ").rstrip("."))
    otherwise = {"true": "yes", "false": "no"}.get(otherwise, re.sub(r'^"([^"]*)"$', r"\1", otherwise))
    otherwise, value = said(otherwise, own, unit), said(value, own, unit)
    if not otherwise and not value:
        return meaning
    usual = otherwise or value
    if value and otherwise and not set(value.replace(",", "").split()) <= set(otherwise.replace(",", "").split()):
        usual = f"{otherwise} ({value})"
    return f"{meaning} Default: {usual}."


def _show_sources(own: LengthUnit, sources: Mapping[str, list[str]]) -> None:
    """Lists where defaults come from: the labels of fields, and their source."""
    with ui.element("dl").classes("sources"):
        for source, labels in sources.items():
            words("dt", "; ".join(dict.fromkeys(labels)))
            words("dd", wording_of(own).quoted(_sourced(source)))


def _sourced(cite: str) -> str:
    """The source of a default. A default that follows from other sizes is calculated."""
    how, _, of = cite.partition(": ")
    return f"Calculated: {of}" if how == "computed" else f"{cite[:1].upper()}{cite[1:]}"


def setting_hint(row: Mapping[str, str], own: LengthUnit, unit: LengthUnit) -> str:
    """What a setting means, its limits, and its default, in `unit`. `row` is that of `parameter_row` for `own`."""
    limits = "" if row["choices"] else span(dict(row))
    words_of = [f"{row['help'][:1].upper()}{row['help'][1:]}{f': {said(limits, own, unit)}' if limits else ''}."]
    default = row["source"] if row["default"] == "worked out" else said(row["default"], own, unit)
    words_of.append(f"Default: {default}.")
    if row["only"]:
        name, _, value = row["only"].partition(" = ")
        words_of.append(f'Counts only if "{key_label(name)}" is {value}.')
    return " ".join(words_of)


def shown_as(value: Any, kind: str) -> str:
    """A value of a `kind` of `from_typed`, as people type it; days have the names of their months.

    >>> shown_as([date(2026, 10, 31), "2026-12-20 to 2027-01-03"], "days")
    'Oct 31, 2026; Dec 20, 2026 to Jan 3, 2027'
    """
    text = as_typed(value, "; " if kind in ("hours", "days") else ", ")
    if kind != "days":
        return text
    return _ISO_DAY.sub(lambda found: in_short(day) if (day := read_day(found[0])) else found[0], text)


def read_day(text: str) -> date | None:
    """The day that people typed, year first or with the name of its month, or None.

    >>> read_day("Oct 31, 2026") == read_day("31 october 2026") == read_day("2026-10-31") == date(2026, 10, 31)
    True
    """
    for way in _WAYS_OF_DAYS:
        with suppress(ValueError):
            return datetime.strptime(text.strip(), way).date()
    return None


def _with_days(text: str) -> Any:
    """A day, a range of days, or a day with its hours, as the file has it; anything else stays as it was typed."""
    if day := read_day(text):
        return day
    first, between, last = text.partition(" to ")
    ends = read_day(first), read_day(last)
    if between and ends[0] and ends[1]:
        return f"{ends[0]} to {ends[1]}"
    hours = re.fullmatch(r"(.*\d)\s+(\d{1,2}(?::\d\d)?\s*-.*)", text)
    day = read_day(hours[1]) if hours else None
    return f"{day} {hours[2]}" if hours and day else text


def as_typed(value: Any, between: str = ", ") -> str:
    """A value of a TOML file as people type it: a list with `between`, a stretch of a board with "to"."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        if value and all(isinstance(each, list) for each in value):
            return between.join(" to ".join(as_typed(end) for end in each) for each in value)
        return between.join(as_typed(each) for each in value)
    return value.isoformat() if isinstance(value, date) else str(value)


def from_typed(typed: str, kind: str) -> Any:
    """What people typed as a value of a TOML file, or None if they typed nothing.

    `kind` is "text", "whole number", "date", "list", "only list", "days", "hours", "numbers", "stretches" or "yes or
    no". What is not of that kind stays text, so that the reader of the file can say what is wrong with it.
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
    if kind in ("only list", "days", "hours"):
        found = [each for each in {"hours": _HOURS, "days": _DAYS}.get(kind, _LIST).split(text) if each]
        return [_with_days(each) for each in found] if kind == "days" else found
    return _whole(text) if kind == "numbers" else text


def _by_default(value: str) -> str:
    """The choice that leaves a value out: it names the default if that is one of few words."""
    value = value.strip('".')
    return f"{value} (default)" if value and len(value) <= 24 and '"' not in value else "as by default"


def _named_in(kind: str) -> list[str]:
    """The values that the kind of a design key names.

    >>> _named_in("saw, drill or pack in a list")
    ['saw', 'drill', 'pack']
    """
    return re.split(r", | or ", kind.removesuffix(" in a list"))


def _whole(text: str) -> int | str:
    return int(text) if re.fullmatch(r"-?[0-9]{1,12}", text) else text


def _is_day(text: str) -> bool:
    return re.fullmatch(r"\d{4}-\d\d-\d\d", text) is not None


def passed_day(text: str) -> str:
    """A remark if this day, year first, is before today, else "". It is for the screen alone: no result has a clock."""
    with suppress(ValueError):
        return "That day has passed." if date.fromisoformat(text) < today() else ""
    return ""


def today() -> date:
    """Today, for what the screen alone says: no result has a clock."""
    return date.today()


def _kind_of(kind: str) -> str:
    """The kind of `from_typed` for the kind of a design key."""
    if kind in ("a whole number", "a date"):
        return {"a whole number": "whole number", "a date": "date"}[kind]
    if kind.startswith("days of the week"):
        return "hours"
    if kind.startswith(("a date or", "a date and")):
        return "days"
    if "several in a list" in kind:
        return "list"
    return "only list" if "in a list" in kind else "text"
