"""Reads TOML into checked values, and reports every error at once, each with its place and what to do.

pydantic checks the values. This module adds lengths, masses, money and densities, and turns its errors into problems.
"""

import re
import tomllib
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Annotated, Any, ClassVar, TypeVar

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, ValidationError, ValidationInfo
from pydantic_core import PydanticCustomError

from woodshop.errors import InputError, Problem, check_format, did_you_mean
from woodshop.files.one_file import read_text_file
from woodshop.hardware.board import LIMITS, Gauge, MeshName
from woodshop.reference.facts import WORDS
from woodshop.reference.materials import is_steel_size, mesh_name, mesh_names, mesh_remedy, size_example
from woodshop.units.lengths import (
    ZERO,
    Density,
    Length,
    Mass,
    exact,
    length_wanted,
    lengths_in,
    mass_wanted,
    millimetre,
    read_length,
    read_mass,
    read_money,
)
from woodshop.units.wording import LengthUnit, Wording

LARGEST_FILE = 2_000_000
LARGEST_NUMBER = 10**12
_MOST_DOTS = 100  # dots outside the values of a line; keys with too many parts would take hours to read
DEEPEST = 12  # tables inside tables; our files have four levels
LONGEST_VALUE = 60  # characters in a length, mass, price or density


@dataclass(frozen=True, slots=True)
class Default:
    """A default value: where it is used, its name, its value, and its source."""

    where: str
    name: str
    value: str
    source: str

    def worded(self, wording: Wording) -> "Default":
        """The default in the units of the design: what a source says keeps its own beside them."""
        is_own = self.source.startswith(WORDS)
        value = wording.said(self.value) if is_own else wording.quoted(self.value)
        return replace(self, value=value, source=wording.quoted(self.source))


class SettingTable(BaseModel):
    """A table of a TOML file, without unknown keys or silent conversions."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, arbitrary_types_allowed=True)
    not_here: ClassVar[dict[str, str]] = {}
    """What to do about keys that this table does not have, although one may expect them."""


T = TypeVar("T", bound=SettingTable)


def design_key(
    meaning: str,
    default: Any = None,
    *,
    usual: str = "",
    otherwise: str = "",
    example: str = "",
    row: str = "",
    national: str = "",
    choices: tuple[str, ...] = (),
    vary: bool = True,
    **limits: Any,
) -> Any:
    """A field of a design-file table with everything about its key; a default of `...` makes the key required.

    `meaning` is a sentence for people. `otherwise` describes the default; `usual` is the default as a value of the
    file, and `example` another value. `row` is the fact that gives the default; `national`, the fact for British
    National hives if different. `choices` are usual values of a text. `vary` says whether `compare` can vary it.
    `limits` are those of pydantic's `Field`.
    """
    remarks = {"usual": usual, "otherwise": otherwise, "example": example, "row": row, "national": national}
    extra: dict[str, Any] = {**remarks, "vary": vary, "choices": list(choices)}
    return Field(default, description=meaning, json_schema_extra=extra, **limits)


@dataclass(frozen=True, slots=True)
class ValueKind:
    """A description of a type's values, attached to the type."""

    words: str


def refuse(wanted: str, do: str) -> PydanticCustomError:
    """An error for a validator to raise about a value: what is wanted, and what to do."""
    return PydanticCustomError("woodshop", "{wanted}", {"wanted": wanted, "do": do})


def _text(value: Any, wanted: str) -> str:
    if isinstance(value, bool) or not isinstance(value, int | str):
        raise refuse(wanted, "Write it as text between quotes.")
    text = str(value)
    if len(text) > LONGEST_VALUE:
        raise refuse(wanted, "Write one value, and nothing else, between the quotes.")
    return text


def _length(value: Any, info: ValidationInfo) -> Length:
    if isinstance(value, Length):
        return value
    unit = (info.context or {}).get("unit", "in")
    wanted = length_wanted(unit)
    text = _text(value, wanted)
    try:
        return read_length(text, unit)
    except ValueError as why:
        raise refuse(wanted, f"{_sentence(str(why))} Correct this value.") from why


def _positive(value: Length) -> Length:
    if value <= ZERO:
        raise refuse("a length of more than 0", "Give the real size.")
    return value


def outside(value: Any, what: str, least: str | None, most: str | None, unit: LengthUnit = "in") -> str:
    """The limits as text if a value is outside them, or "" if it is inside or has no limits.

    `what` describes the value. `least` and `most` are text in the value's own unit, inches for a length; see
    `limit_texts` for what they are in millimeters.
    """
    low, high = _limits(type(value), least, most, unit)
    if (low is None or value >= low) and (high is None or value <= high):
        return ""
    first, last = limit_texts(type(value), least, most, unit)
    return f"{what}, {first or None} to {last or None}"


def limit_texts(kind: type, least: str | None, most: str | None, unit: LengthUnit = "in") -> tuple[str, str]:
    """The least and the most of a value of this kind, each as text, or "" if it has none.

    If `unit`, the unit of the design, is millimeters, limits are rounded outward to whole millimeters, and small limits
    to tenths; masses to a tenth of a kilogram.

    >>> limit_texts(Length, "1/8", "5/8"), limit_texts(Length, "1/8", "5/8", "mm")
    (('1/8 in', '5/8 in'), ('3.1 mm', '16 mm'))
    >>> limit_texts(Mass, "1 lb", None, "mm")
    ('0.4 kg', '')
    """
    found = []
    for end, text in zip(_limits(kind, least, most, unit), (least, most), strict=True):
        is_metric_mass = isinstance(end, Mass) and unit == "mm"
        shown = end.text(unit) if isinstance(end, Length) else end.text("kg") if is_metric_mass else text
        found.append("" if end is None else str(shown))
    return found[0], found[1]


def _limits(kind: type, least: str | None, most: str | None, unit: LengthUnit) -> tuple[Any, Any]:
    """The quantities of the limits, as `limit_texts` has them."""
    low, high = (None if text is None else _like(kind, text) for text in (least, most))
    if unit == "mm" and kind is Length:
        low = None if low is None else low.down_to(_fine(low))
        high = None if high is None else high.up_to(_fine(high))
    if unit == "mm" and kind is Mass:
        low = None if low is None else Mass(low.grams // _MASS_STEP * _MASS_STEP)
        high = None if high is None else Mass(-(-high.grams // _MASS_STEP) * _MASS_STEP)
    return low, high


_MASS_STEP = Fraction(100)  # grams


def _fine(limit: Length) -> Length:
    return millimetre(1) if limit >= millimetre(5) else millimetre("0.1")


def _like(kind: type, text: str) -> Any:
    """The text converted to a quantity of this type."""
    if kind is Length:
        return read_length(text)
    if kind is Mass:
        return read_mass(text)
    if kind is Density:
        return Density(exact(text.removesuffix(" kg/L")))
    return int(text)


def within(key: str) -> AfterValidator:
    """A check that a value is within the limits of the setting `key`."""
    limits = LIMITS[key]

    def check(value: Any, info: ValidationInfo) -> Any:
        wanted = outside(value, limits.what, limits.least, limits.most, (info.context or {}).get("unit", "in"))
        if wanted:
            raise refuse(wanted, "Give a value in that range.")
        return value

    return AfterValidator(check)


def _mass(value: Any, info: ValidationInfo) -> Mass:
    if isinstance(value, Mass):
        return value
    wanted = mass_wanted((info.context or {}).get("unit", "in"))
    text = _text(value, wanted)
    try:
        return read_mass(text)
    except ValueError as why:
        raise refuse(wanted, "Write it in quotes.") from why


def _some(value: Mass) -> Mass:
    if value.grams <= 0:
        raise refuse("a mass of more than 0", "Give the real mass.")
    return value


def _printable(value: str) -> str:
    if not value.isprintable():
        raise refuse("text on one line, without control characters", "Type it again.")
    return value


def _money(value: Any, info: ValidationInfo) -> int:
    text = _text(value, "a price such as 6.20")
    try:
        return read_money(text).minor
    except ValueError as why:
        raise refuse(
            "a price in whole cents, such as 6.20", "Write it with two decimals, without a minus sign."
        ) from why


def _density(value: Any) -> Density:
    if isinstance(value, Density):
        return value
    text = _text(value, "a density such as 0.85 kg/L").removesuffix("kg/L").strip()
    if not re.fullmatch(r"[0-9]+(\.[0-9]+)?", text):
        raise refuse("a density such as 0.85 kg/L", "Give dry sugar in kilograms per liter.")
    density = Density(exact(text))
    if density.kg_per_litre <= 0:
        raise refuse("a density of more than 0", "Weigh one packed box of known size.")
    return density


def _mesh(value: Any, info: ValidationInfo) -> Any:
    """The name of the mesh with this pitch, which can be written in either unit."""
    unit = (info.context or {}).get("unit", "in")
    name = mesh_name(value, unit) if isinstance(value, str) and len(value) <= LONGEST_VALUE else value
    if unit == "mm" and name not in mesh_names():
        do = (
            mesh_remedy(value, unit)
            if isinstance(value, str) and len(value) <= LONGEST_VALUE
            else "Choose one of them."
        )
        raise refuse(f"the pitch of a mesh, one of {', '.join(mesh_names(unit))}", do)
    return name


def _steel(value: Any, info: ValidationInfo) -> str:
    is_metric = (info.context or {}).get("unit") == "mm"
    if is_metric and isinstance(value, str) and re.fullmatch(r"[0-9]{1,3}(\.[0-9]{1,9})?", value):
        value = f"{value} mm"
    if not isinstance(value, str) or not is_steel_size(value):
        wanted = "a thickness such as 0.5 mm" if is_metric else size_example("steel")
        raise refuse(wanted, "Give the size it is sold by.")
    return value


def _share(value: Any) -> Fraction:
    if isinstance(value, Fraction):
        return value
    text = _text(value, "a percentage such as 12.5 %").removesuffix("%").strip()
    if not re.fullmatch(r"[0-9]+(\.[0-9]+)?", text):
        raise refuse("a percentage such as 12.5 %", "Give a number, 0 or more, between quotes.")
    return exact(text) / 100


def _amount(value: Any) -> Fraction:
    if isinstance(value, Fraction):
        return value
    text = _text(value, "a number such as 1.5").strip()
    if not re.fullmatch(r"[0-9]+(\.[0-9]+)?", text):
        raise refuse("a number such as 1.5, 0 or more", "Write it plainly, in quotes where it has decimals.")
    return exact(text)


AnyLength = Annotated[Length, BeforeValidator(_length), ValueKind("a length")]
Size = Annotated[Length, BeforeValidator(_positive), BeforeValidator(_length), ValueKind("a length")]
AMass = Annotated[Mass, BeforeValidator(_mass), ValueKind("a mass with its unit")]
SomeMass = Annotated[Mass, BeforeValidator(_some), BeforeValidator(_mass), ValueKind("a mass with its unit")]
Words = Annotated[str, AfterValidator(_printable)]
Cents = Annotated[int, BeforeValidator(_money), ValueKind("a price")]
Percent = Annotated[Fraction, BeforeValidator(_share), ValueKind("a percentage")]
Amount = Annotated[Fraction, BeforeValidator(_amount), ValueKind("a number")]
ADensity = Annotated[Density, BeforeValidator(_density), ValueKind("a density")]
Gap = Annotated[AnyLength, within("gap")]
BoxLength = Annotated[Size, within("length")]
BoxWidth = Annotated[Size, within("width")]
BoxHeight = Annotated[Size, within("height")]
BoxWall = Annotated[Size, within("wall")]
TYPES: dict[Any, Any] = {
    Length: AnyLength,
    Mass: AMass,
    Density: ADensity,
    MeshName: Annotated[MeshName, BeforeValidator(_mesh)],
    Gauge: Annotated[str, BeforeValidator(_steel)],
}


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:].rstrip(".") + ("" if text.endswith("?") else ".")


def load(path: Path, kind: str) -> dict[str, Any]:
    """Loads a TOML file as plain tables, with decimals as text and its `format` line checked. Raises InputError."""
    return load_text(read_text_file(path, f"a {kind} file", LARGEST_FILE), path.name, kind)


def load_text(text: str, where: str, kind: str) -> dict[str, Any]:
    """Loads the text of a TOML file of this `kind` as `load` does. `where` names it in messages. Raises InputError."""
    raw = toml_tables(text, where)
    wanted = f"woodshop-{kind}/{2 if kind in ('design', 'shop') else 1}"
    do = f'Write format = "{wanted}" as the first line of the file.'
    check_format(where, raw.get("format"), wanted, do)
    tables: dict[str, Any] = _tuples(raw, where, 0)
    return tables


def toml_tables(text: str, where: str) -> dict[str, Any]:
    """The tables of a TOML text as they are written, with decimals as text. Raises InputError if it is not TOML."""
    if any(part.count(".") > _MOST_DOTS for line in text.splitlines() for part in line.split("=")):
        given, do = "a key nested too deep, or a text of very many dots", "Check that this is the right file."
        raise InputError(Problem(where, given, f"at most {_MOST_DOTS} dots in a line", do))
    try:
        return tomllib.loads(text, parse_float=str)
    except tomllib.TOMLDecodeError as why:
        raise InputError(
            Problem(
                where, f"text that is not TOML: {why}", "TOML (toml.io)", "Correct the line named. Text goes in quotes."
            )
        ) from None
    except RecursionError:
        raise InputError(_too_deep(where)) from None
    except ValueError:  # an integer with more digits than Python reads
        raise InputError(_too_large(where, *_place_of_digits(text))) from None


def _too_deep(where: str) -> Problem:
    return Problem(
        where, "tables or lists nested too deep", f"at most {DEEPEST} deep", "Check that this is the right file."
    )


def _too_large(where: str, *loc: Any) -> Problem:
    place = f"{where}, {path_text(loc)}" if loc else where
    return Problem(place, "a number with too many digits", f"numbers below {LARGEST_NUMBER}", "Correct that number.")


def _place_of_digits(text: str) -> tuple[str, ...]:
    """The line number and key of the first whole number that is too long to read."""
    number = re.search(r"[0-9_]{4000,}", text)
    if number is None:
        return ()
    before = text[: number.start()]
    key = re.search(r"([A-Za-z0-9_.-]{1,60})[ \t]*=[^=\n]*$", before)
    line = f"line {before.count(chr(10)) + 1}"
    return (line,) if key is None else (line, key[1])


def _tuples(value: Any, where: str, depth: int, loc: tuple[Any, ...] = ()) -> Any:
    """Converts lists to tuples, because values are frozen and strict checking accepts only tuples."""
    if depth > DEEPEST:
        raise InputError(_too_deep(where))
    if isinstance(value, list):
        return tuple(_tuples(each, where, depth + 1, (*loc, n)) for n, each in enumerate(value))
    if isinstance(value, dict):
        return {key: _tuples(each, where, depth + 1, (*loc, key)) for key, each in value.items()}
    if isinstance(value, int) and abs(value) >= LARGEST_NUMBER:
        raise InputError(_too_large(where, *loc))
    return value


def validate(model: type[T], raw: dict[str, Any], where: str, unit: LengthUnit) -> T:
    """The tables `raw` of a file as checked values; lengths without a unit are in `unit`.

    Raises InputError with every problem. `where` is put before the place of each problem.
    """
    with lengths_in(unit):
        try:
            return model.model_validate(raw, context={"unit": unit})
        except ValidationError as found:
            raise InputError(*problems(found, model, where)) from None


def problems(found: ValidationError, model: type[BaseModel], where: str) -> list[Problem]:
    """pydantic's errors as problems, in the order of the file's schema. `where` is put before each place."""
    given: dict[tuple[Any, ...], list[Any]] = {}
    for error in found.errors(include_url=False):
        # a list without correct entries counts as too short, but its entries were already reported
        if error["type"] != "too_short" or not error["input"]:
            given.setdefault(_base(error), []).append(error)
    return [problem for base, errors in given.items() for problem in _merged(base, errors, model, where)]


def _is_arm(part: Any) -> bool:
    """Whether part of a place names one of several allowed types, not a key of the file."""
    return isinstance(part, str) and (part == "str" or part.endswith("]"))


def _base(error: Any) -> tuple[Any, ...]:
    """The place of a value that can have several types."""
    loc = error["loc"]
    if error["type"] == "extra_forbidden":
        return tuple(loc)
    return tuple(loc[: next((n for n, part in enumerate(loc) if _is_arm(part)), len(loc))])


def _merged(base: tuple[Any, ...], errors: list[Any], model: type[BaseModel], where: str) -> list[Problem]:
    """One problem for a value that fits none of its types, or the problems inside it for a list."""
    within = [error for error in errors if any(isinstance(part, int) for part in error["loc"][len(base) :])]
    read = [_problem(error, model, where) for error in within or errors]
    if within or len(read) == 1:
        return read
    wanted = ", or ".join(dict.fromkeys(problem.wanted for problem in read))
    do = next((problem.do for problem in read if problem.do.startswith("Did you mean")), read[0].do)
    return [Problem(read[0].where, read[0].given, wanted, do)]


def _problem(error: Any, model: type[BaseModel], where: str) -> Problem:
    known_key = error["type"] != "extra_forbidden"
    loc = tuple(part for part in error["loc"] if not (known_key and _is_arm(part)))
    place = f"{where}, {path_text(loc)}" if loc else where
    kind, context = error["type"], error.get("ctx", {})
    given = _shown(error["input"])
    if kind == "woodshop":
        return Problem(place, given, context["wanted"], context["do"])
    if kind == "extra_forbidden":
        known = _fields_at(model, loc[:-1])
        key = str(loc[-1])
        advised = model.not_here if len(loc) == 1 and issubclass(model, SettingTable) else {}
        do = advised.get(key) or did_you_mean(key, known, f"Known here: {', '.join(known)}.")
        return Problem(place, f"the unknown key {_shown(loc[-1])}", "a known key", do)
    if kind == "missing":
        return Problem(place, "nothing", f"a value for {loc[-1]!r}", "Add the line.")
    if kind in ("literal_error", "enum"):
        choices = context.get("expected", "")
        known = [choice.strip(" '") for choice in choices.replace(" or ", ", ").split("',")]
        do = did_you_mean(str(error["input"]).lower(), known, "Choose one of them.")
        return Problem(place, given, f"one of {choices}", do)
    wanted = {
        "int_type": "a whole number, without quotes",
        "bool_type": "true or false, without quotes",
        "string_type": "text between quotes",
        "list_type": "a list in square brackets",
        "tuple_type": "a list in square brackets",
        "dict_type": "a table",
        "model_type": "a table",
        "date_type": "a date such as 2026-11-15, without quotes",
        "greater_than_equal": f"{context.get('ge')} or more",
        "less_than_equal": f"{context.get('le')} or less",
        "too_short": "a name" if isinstance(error["input"], str) else f"at least {context.get('min_length')} of these",
        "string_too_short": "a name",
        "string_pattern_mismatch": "letters, digits, dot, dash and underscore",
    }.get(kind, str(error["msg"]).lower())
    return Problem(place, given, wanted, "Correct this value.")


def path_text(loc: tuple[Any, ...]) -> str:
    """A place in a TOML file in readable form: the table, counted from one, and the key."""
    words: list[str] = []
    for part in loc:
        if isinstance(part, int) and words:
            words[-1] = f"{words[-1]} number {part + 1}"
        else:
            text = str(part)
            words.append(text if text.isprintable() and len(text) <= 60 else _shown(text))
    return ", ".join(words)


def _shown(value: Any) -> str:
    text = repr(str(value)) if isinstance(value, Length | Mass | Density) else repr(value)
    return text if len(text) <= 80 else text[:77] + "..."


def _fields_at(model: type[BaseModel], loc: tuple[Any, ...]) -> list[str]:
    """The keys of the table at this place, including places in lists and nested tables."""
    current: Any = model
    for part in loc:
        if isinstance(part, int):
            continue
        field = current.model_fields.get(part) if hasattr(current, "model_fields") else None
        if field is None:
            return []
        current = _table_in(field.annotation)
    return [f.alias or name for name, f in getattr(current, "model_fields", {}).items()]


def _table_in(annotation: Any) -> Any:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in getattr(annotation, "__args__", ()):
        found = _table_in(inner)
        if found is not None:
            return found
    return None
