"""Every key of a design file with its meaning, taken from the models that read the file."""

import json
import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cache
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

from pydantic.fields import FieldInfo

from woodshop.design.orders.lines import COLUMNS
from woodshop.design.schema import SettingTable, ValueKind
from woodshop.design.tables import DesignTable, MakeTable
from woodshop.reference.boxes import FRAMES
from woodshop.reference.facts import WORDS, fact
from woodshop.reference.patterns import AMERICAN, patterns
from woodshop.units.lengths import millimetre, read_length
from woodshop.units.wording import LengthUnit, Wording, nearest, wording_of

_OF_PATTERN = ("width", "length", "wall", "height", "gap")
_OF_METRIC = re.compile(r"^Left out: .*?,? or (.+?),? in a metric design")
_QUOTED = re.compile(r'"([^"]*)"')
_UNIONS = (Union, UnionType)
_KINDS = {bool: "true or false", int: "a whole number", str: "text", date: "a date"}


@dataclass(frozen=True, slots=True, kw_only=True)
class DesignKey:
    """A key of a design file: its table ("" for the file itself), its meaning, and its default.

    `kind` describes its value; `choices` are its possible or usual values, if it is one of a few texts. `example` is a
    value as written in the file. `row` and `national` are the facts used as defaults for Langstroth boxes and for
    British National boxes.
    """

    table: str
    name: str
    meaning: str
    kind: str
    otherwise: str = ""
    example: str = ""
    row: str = ""
    national: str = ""
    is_required: bool = False
    is_varied: bool = False
    choices: tuple[str, ...] = ()

    @property
    def address(self) -> str:
        """The key as people name it: "saw.mark", or "wood" for a key at the top of the file."""
        return f"{self.table}.{self.name}" if self.table else self.name

    @property
    def example_value(self) -> Any:
        """The example as a value, or None if there is none, or if it only shows where a value is written."""
        return tomllib.loads(f"value = {self.example}")["value"] if self.example and "..." not in self.example else None

    @property
    def rows(self) -> tuple[str, ...]:
        """The keys of all facts that can be its default."""
        langstroth = [self.row.format(frames=n) for n in FRAMES] if "{frames}" in self.row else [self.row]
        return tuple(dict.fromkeys(filter(None, (*langstroth, self.national))))

    def default(self, pattern: str = "", frames: int = 0, unit: LengthUnit = "in") -> tuple[str, str]:
        """The default value in `unit`, and its source; both are "" if no fact gives a default.

        It is that of hives of this `pattern` with this number of `frames`.
        """
        wording = wording_of(unit)
        if pattern not in ("", AMERICAN) and self.table in ("hives", "box") and self.name in _OF_PATTERN:
            value, cite = _of_pattern(self.name, pattern, frames)
            return wording.said(value), _cited(cite, wording)
        key = self.national if unit == "mm" and self.table == "saw" else self.row
        if not key or ("{frames}" in key and frames not in FRAMES):
            return "", ""
        row = fact(key.format(frames=frames))
        return wording.said(row.value_in(unit)), _cited(row.cite, wording)

    def in_unit(self, unit: LengthUnit) -> "DesignKey":
        """The key as explained for a design in this unit: its meaning, its example, and what leaving it out means.

        >>> find_key("hives", "frame_depth").in_unit("mm").example, find_key("saw", "mark").in_unit("mm").otherwise
        ('"232 mm"', 'Left out: 1 mm.')
        """
        if unit == "in":
            return self
        said = wording_of(unit).said
        otherwise = _OF_METRIC.sub(r"Left out: \1", self.otherwise)
        example = said(self.example)
        if "a length" in self.kind:
            example = _QUOTED.sub(lambda found: f'"{_metric_example(found[1])}"', self.example)
        return replace(self, meaning=said(self.meaning), otherwise=said(otherwise), example=example)


def _cited(cite: str, wording: Wording) -> str:
    return wording.said(cite) if cite.startswith(WORDS) else wording.quoted(cite)


def _metric_example(text: str) -> str:
    """An example of a length as a metric shop writes it, or the text if it is none."""
    try:
        length = read_length(text)
    except ValueError:
        return text
    return nearest(length, millimetre("1/2") if length < millimetre(10) else millimetre(1)).text("mm")


@cache
def design_keys() -> tuple[DesignKey, ...]:
    """Every key except settings of the board and the items: first the keys at the top of the file, then by table."""
    return tuple(_all_keys())


def keys_of(table: str) -> tuple[DesignKey, ...]:
    """The keys of one table, in the order of its model; "" is the top of the file."""
    return tuple(key for key in design_keys() if key.table == table)


def find_key(table: str, name: str) -> DesignKey:
    """The key `name` of this table. Raises KeyError if there is none."""
    return {(each.table, each.name): each for each in design_keys()}[table, name]


@cache
def table_names() -> dict[str, str]:
    """The way each table is written in the file, keyed by name: the file itself, "[saw]", "[[hives]]" and so on."""
    found = {"": "the file itself"}
    for name, field in DesignTable.model_fields.items():
        if get_origin(field.annotation) is tuple and name != "other_columns":
            found[name] = f"[[{name}]]"
        elif get_origin(field.annotation) is dict or _is_table(field.annotation):
            found[name] = f"[{name}]"
        found |= {inside: f"[[{inside}]]" for inside in _tables_in(name, field.annotation)}
    return found | {"order": "[[order]], or the headings of a spreadsheet"}


def _of_pattern(name: str, pattern: str, frames: int) -> tuple[str, str]:
    """The default of a size of a published pattern, and its source; both are "" if the pattern does not have it."""
    found = {each.name: each for each in patterns()}.get(pattern)
    if found is None:
        return "", ""
    row = found.row(f"height_{found.bodies[0]}" if name == "height" else name, frames)
    inside = found.row(f"inside_{name}")
    wall = found.row("end_wall" if name == "length" else "wall")
    if row is None and inside is not None and wall is not None and frames in found.frames:
        return (inside.length + wall.length * 2).text("mm"), f"computed: inside {inside.value}, walls {wall.value}"
    return (row.value, row.cite) if row else ("", "")


@cache
def design_models() -> dict[str, Any]:
    """The model of each table of a design file, by the name of the table."""
    models: dict[str, Any] = {"make": MakeTable}
    for name, field in DesignTable.model_fields.items():
        for inner in (field.annotation, *get_args(field.annotation)):
            if _is_table(inner):
                models[name] = inner
                models |= _tables_in(name, inner)
    return models


def _all_keys() -> Iterator[DesignKey]:
    models = design_models()
    yield from model_keys("", DesignTable, table_names(), may_vary=True)
    for name in table_names():
        if name in models:
            top = name.partition(".")[0]
            may_vary = name == top and _said(DesignTable.model_fields[top])["vary"]
            yield from model_keys(name, models[name], table_names(), may_vary=may_vary)
    for column in COLUMNS:
        yield DesignKey(
            table="order",
            name=column.name,
            meaning=column.meaning,
            kind="text",
            otherwise=_left_out(column.otherwise, "", is_required=column.required),
            example=column.example,
            is_required=column.required,
        )


def model_keys(
    table: str, model: type[SettingTable], tables: Mapping[str, str], *, may_vary: bool = False
) -> Iterator[DesignKey]:
    """The keys of the table `table`, in the order of its model. `tables` says how each table is written in the file.

    `may_vary` says whether `compare` can vary keys of this table.
    """
    hints = get_type_hints(model, include_extras=True)
    for name, field in model.model_fields.items():
        said = _said(field)
        value = said["usual"] or _in_file(field)
        yield DesignKey(
            table=table,
            name=name,
            meaning=field.description or "",
            kind=tables.get(f"{table}.{name}" if table else name) or kind_of(hints[name]),
            otherwise=_left_out(said["otherwise"], value, is_required=field.is_required()),
            example=said["example"] or value,
            row=said["row"],
            national=said["national"] or said["row"],
            is_required=field.is_required(),
            is_varied=may_vary and said["vary"] and (bool(table) or name not in tables),
            choices=tuple(said["choices"]) or _choices(hints[name]),
        )


def _choices(hint: Any) -> tuple[str, ...]:
    """The texts that a value of this type must be one of, or none if it can be another value too."""
    arms = [each for each in get_args(hint) if each is not type(None)] if get_origin(hint) in _UNIONS else [hint]
    if not all(get_origin(each) is Literal for each in arms):
        return ()
    return tuple(str(each) for arm in arms for each in get_args(arm))


def _said(field: FieldInfo) -> dict[str, Any]:
    return field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}


def _in_file(field: FieldInfo) -> str:
    """The default as written in the file, or "" if it cannot be written there."""
    value = None if field.is_required() else field.default
    return json.dumps(value) if value != "" and isinstance(value, bool | int | str) else ""


def _left_out(otherwise: str, value: str, *, is_required: bool) -> str:
    if is_required:
        return "Required."
    if otherwise.startswith("Required"):
        return otherwise
    words = otherwise or value
    return f"Left out: {words}." if words else ""


def _is_table(kind: Any) -> bool:
    return isinstance(kind, type) and issubclass(kind, SettingTable)


def _tables_in(name: str, kind: Any) -> dict[str, type[SettingTable]]:
    """The arrays of tables inside the table, or array of tables, `name`, keyed by their names in the file."""
    if get_origin(kind) is tuple:
        kind = get_args(kind)[0]
    if not _is_table(kind):
        return {}
    found = {}
    for key, field in kind.model_fields.items():
        inner = get_args(field.annotation)
        if get_origin(field.annotation) is tuple and _is_table(inner[0]):
            found[f"{name}.{key}"] = inner[0]
    return found


def kind_of(hint: Any) -> str:
    """A description of a value of this type.

    >>> from woodshop.design.schema import Size
    >>> kind_of(Size | tuple[Size, ...] | None), kind_of(Literal["drop", "spare"])
    ('a length, or several in a list', 'drop or spare')
    """
    origin, inner = get_origin(hint), get_args(hint)
    if origin is Annotated:
        named = [each.words for each in inner[1:] if isinstance(each, ValueKind)]
        return named[0] if named else kind_of(inner[0])
    if origin is Literal:
        return " or ".join(filter(None, (", ".join(inner[:-1]), inner[-1])))
    if origin is tuple:
        return f"{kind_of(inner[0])} in a list"
    if origin in _UNIONS:
        arms = [each for each in inner if each is not type(None)]
        lists = [each for each in arms if "in a list" in kind_of(each)]
        words = " or ".join(kind_of(each) for each in arms if each not in lists)
        return f"{words}, or several in a list" if words and lists else words or kind_of(lists[0])
    return _KINDS.get(hint, "a value")
