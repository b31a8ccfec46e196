"""The kinds of events in a book, and their fields: one table, against which every event is checked."""

import re
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from fractions import Fraction
from typing import Any

from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.units.lengths import MM_PER_INCH, ZERO, decimals, length_wanted, read_length, read_money, terms

LONGEST_TEXT, MOST = 200, 1_000_000
_START = "0 in"  # in either unit
Value = str | int | bool | list[str] | list[list[str]]


class FieldType(StrEnum):
    """The type of a field, and how an event holds its value.

    Text, a length ("16 1/4 in", exact), a number ("0.85", exact) and a day ("2026-11-26") are text. A count (1 or more)
    and a whole number (0 or more) are integers, money an integer of minor units. A position is a length or "0 in".
    Lengths are a list, stretches a list of pairs of a position and a length.
    """

    TEXT = "text"
    COUNT = "count"
    WHOLE = "whole number"
    MONEY = "money"
    LENGTH = "length"
    POSITION = "position"
    LENGTHS = "lengths"
    STRETCHES = "stretches"
    NUMBER = "number"
    DAY = "day"
    YES = "yes or no"


@dataclass(frozen=True, slots=True)
class EventField:
    """A field of an event: its name, type and meaning; `choices` are the only texts allowed, if not empty."""

    name: str
    type: FieldType
    meaning: str
    choices: tuple[str, ...] = ()


_TYPE = FieldType
FIELDS = {
    field.name: field
    for field in (
        EventField("order", _TYPE.TEXT, "Order number."),
        EventField("customer", _TYPE.TEXT, "The customer, always spelled the same way."),
        EventField("item", _TYPE.TEXT, "The item, as in a design: quilt box."),
        EventField(
            "box", _TYPE.TEXT, "The boxes that it fits: the hives' name in the design, or the box name in the order."
        ),
        EventField("form", _TYPE.TEXT, "How far it is finished: packed, with mesh, empty, unassembled kit."),
        EventField("line_item", _TYPE.TEXT, "The item in the order, if the units have another name or form: board."),
        EventField("line_box", _TYPE.TEXT, "The box in the order, if it is spelled another way there."),
        EventField("line_form", _TYPE.TEXT, "The form in the order, if the units have another name or form: packed."),
        EventField("count", _TYPE.COUNT, "How many."),
        EventField("price", _TYPE.MONEY, "Price of one."),
        EventField("amount", _TYPE.MONEY, "The sum paid."),
        EventField("due", _TYPE.DAY, "The day promised."),
        EventField("priority", _TYPE.COUNT, "1 is highest; 5 if the order has none."),
        EventField("stock", _TYPE.TEXT, "The board, sheet, roll or pack, in the words of the buy list."),
        EventField("lumberyard", _TYPE.TEXT, "The lumberyard, by its name."),
        EventField("material", _TYPE.TEXT, "The material, as in the packet: board 3/4 in."),
        EventField("length", _TYPE.LENGTH, "Length along the grain; of a box, outside, front to back."),
        EventField("width", _TYPE.LENGTH, "Width across the grain; of a box, outside, across the front."),
        EventField("batch", _TYPE.TEXT, "Name of the batch."),
        EventField("plan", _TYPE.TEXT, "Digest of the plan, as in its manifest."),
        EventField("offcut", _TYPE.TEXT, "Number of the offcut, as written on the wood."),
        EventField("place", _TYPE.TEXT, "Where it is kept. Default: shed."),
        EventField("straight_edges", _TYPE.YES, "Whether both edges are straight."),
        EventField("square_ends", _TYPE.YES, "Whether both ends are square."),
        EventField("bad", _TYPE.STRETCHES, "Bad stretches from the marked end: 22 to 25 1/2; 30 to 31."),
        EventField("layout", _TYPE.COUNT, "Number of the layout in the packet."),
        EventField("times", _TYPE.COUNT, "How many boards were cut to this layout."),
        EventField("step", _TYPE.TEXT, "The step of the saw page at which it happened. The page fills it in."),
        EventField("part", _TYPE.TEXT, "The part, as named on the layouts."),
        EventField("board", _TYPE.TEXT, "The mark that you chalked on this one board."),
        EventField("from", _TYPE.POSITION, "Where the bad stretch begins, from the marked end."),
        EventField("to", _TYPE.LENGTH, "Where the bad stretch ends, from the marked end."),
        EventField("hive", _TYPE.TEXT, "Your name for one hive."),
        EventField("becomes", _TYPE.TEXT, "The form it has from now on. Default: the same form."),
        EventField("frames", _TYPE.COUNT, "Frames in the box."),
        EventField("wall", _TYPE.LENGTH, "Thickness of the box's walls."),
        EventField("height", _TYPE.LENGTH, "Height of the box."),
        EventField("gap", _TYPE.LENGTHS, "Gaps over the top bars, measured on this hive: 1/4, 5/16, 1/4."),
        EventField("density", _TYPE.NUMBER, "Dry sugar in kilograms per liter of the packed box."),
        EventField("cut", _TYPE.TEXT, "The kind of cut.", ("rip", "crosscut")),
        EventField("tool", _TYPE.TEXT, "The saw and blade."),
        EventField("kerf", _TYPE.LENGTH, "Width of the saw cut, measured on a test cut."),
        EventField("operation", _TYPE.TEXT, "The operation, as in the shop file."),
        EventField("minutes", _TYPE.NUMBER, "Total minutes for all the pieces counted, not for each."),
        EventField("state", _TYPE.TEXT, "Whether it can be used. Default: good.", ("good", "needs repair")),
        EventField("counted", _TYPE.WHOLE, "How many there are."),
        EventField("expected", _TYPE.WHOLE, "How many the book had at that moment."),
        EventField("of", _TYPE.TEXT, "Id of the event to correct or undo."),
        EventField("reason", _TYPE.TEXT, "Why."),
        EventField("note", _TYPE.TEXT, "A remark."),
    )
}
"""Every field by its name. A field means the same in every kind of event."""


@dataclass(frozen=True, slots=True)
class EventKind:
    """A kind of event: its name, its meaning, and the names of its required and optional fields.

    `version` is the version of its fields: it grows when the meaning of a field changes, never when a field is added.
    If `has_day` is true, the day must be given.
    """

    name: str
    meaning: str
    required: tuple[str, ...]
    optional: tuple[str, ...]
    version: int = 1
    has_day: bool = False


def _kind(name: str, meaning: str, fields: str, has_day: bool = False) -> EventKind:
    """A kind of event; `fields` lists its fields in one line, the required ones with an asterisk."""
    words = fields.split()
    required = tuple(word[:-1] for word in words if word.endswith("*"))
    return EventKind(name, meaning, required, tuple(word for word in words if not word.endswith("*")), has_day=has_day)


CORRECTION, UNDO = "correction", "undo"
CHANGES = (CORRECTION, UNDO)
"""Kinds of events that correct or undo an earlier event."""
_UNITS = "item* box* count* form"
KINDS = {
    kind.name: kind
    for kind in (
        _kind("order accepted", "A line of an order that you accepted.",
              "order* customer* item* box* count* form price due priority note"),
        _kind("order changed", "A line of an order has a new count, price, day or priority.",
              "order* item* box* form count price due priority note"),
        _kind("order canceled", "An order was canceled, or one line of it, identified by item and box.",
              "order* item box form reason note"),
        _kind("deposit paid", "A customer paid a deposit.", "order* amount* note"),
        _kind("balance paid", "A customer paid the balance.", "order* amount* note"),
        _kind("refund paid", "You paid money back.", "order* amount* reason note"),
        _kind("stock bought", "Boards, sheets, rolls or packs were bought.",
              "stock* count* price lumberyard material length width batch note"),
        _kind("stock used", "Packs or boards were used up outside the layouts.", "stock* count* batch reason note"),
        _kind("offcut put away", "An offcut was numbered and kept.",
              "offcut* material* length* width* place straight_edges square_ends bad batch note"),
        _kind("offcut used", "A kept offcut was used, or thrown away.", "offcut* batch reason note"),
        _kind("layout cut", "Boards were cut to a layout of the plan.",
              "batch* material* layout* times* plan stock offcut board note"),
        _kind("cuts made", "Cuts were ticked on the saw page: boards of a layout, at one step.",
              "batch* material* layout* times* plan* step* note"),
        _kind("plan started", "Work at the saw began with this plan. The saw page enters it.", "batch* plan* note"),
        _kind("pieces made", "Good pieces were made outside the layouts.", "batch* material* part* count* note"),
        _kind("pieces spoiled", "Pieces were cut wrong, or broke.",
              "batch* material* part* count* plan step layout reason note"),
        _kind("pieces lost", "Pieces are gone.", "batch* material* part* count* reason note"),
        _kind("pieces found", "Pieces turned up again, or were left over from earlier work.",
              "batch* material* part* count* reason note"),
        _kind("board unusable", "Boards cannot be used at all.",
              "batch* material* count* stock layout plan step reason note"),
        _kind("board shorter", "A board is shorter than the length it was sold as.",
              "batch* material* board* length* stock layout reason note"),
        _kind("board with bad stretch", "A board has a stretch that must be kept out of every part.",
              "batch* material* board* from* to* stock layout plan step reason note"),
        _kind("units finished", "Units were finished.", f"{_UNITS} place batch note"),
        _kind("units packed", "Finished units were packed with sugar.", f"{_UNITS} place note"),
        _kind("units sold", "Units went to a customer.",
              f"{_UNITS} place order line_item line_box line_form customer price note"),
        _kind("units fitted", "Units were put on a hive.", f"{_UNITS} hive* place note"),
        _kind("units taken off", "Units were taken off a hive.", f"{_UNITS} hive* becomes place note"),
        _kind("units need repair", "Units on hand need repair.", f"{_UNITS} place reason note"),
        _kind("units repaired", "Units were repaired.", f"{_UNITS} place note"),
        _kind("units scrapped", "Units were thrown away.", f"{_UNITS} state place hive reason* note"),
        _kind("box measured", "One hive's box was measured for a customer.",
              "customer* box* frames* length* width* gap* wall height hive note"),
        _kind("price seen", "A price was seen at a lumberyard.", "lumberyard* stock* price* note", has_day=True),
        _kind("density measured", "A packed box of known size was weighed.", "density* note"),
        _kind("kerf measured", "The kerf of a test cut was measured.", "cut* kerf* tool note"),
        _kind("minutes taken", "An operation was timed.", "operation* minutes* count* batch note"),
        _kind("stock counted", "An inventory count of stock did not match the book.",
              "stock* counted* expected* note"),
        _kind("units counted", "An inventory count of units did not match the book.",
              "item* box* counted* expected* form state place note"),
        _kind("offcut counted", "An inventory count did not find an offcut.", "offcut* counted* expected* note"),
        _kind(CORRECTION, "An earlier event was wrong. Give all its fields, corrected.", "of*"),
        _kind(UNDO, "An earlier event did not happen.", "of* reason note"),
    )
}  # fmt: skip
"""Every kind of event by its name."""

_WANTED = {
    FieldType.TEXT: f"text on one line, at most {LONGEST_TEXT} characters, that does not begin like a formula",
    FieldType.COUNT: f"a whole number, 1 to {MOST}",
    FieldType.WHOLE: f"a whole number, 0 to {MOST}",
    FieldType.MONEY: "a price such as 6.20",
    FieldType.LENGTH: length_wanted(),
    FieldType.POSITION: f"{length_wanted()}, or 0",
    FieldType.LENGTHS: "lengths separated by commas, such as 1/4, 5/16, 1/4",
    FieldType.STRETCHES: "stretches such as 22 to 25 1/2; 30 to 31",
    FieldType.NUMBER: "a number above 0, such as 0.85 or 12",
    FieldType.DAY: "a day such as 2026-11-26",
    FieldType.YES: "yes or no",
}
_WANTED_METRIC = {
    FieldType.LENGTH: length_wanted("mm"),
    FieldType.POSITION: f"{length_wanted('mm')}, or 0",
    FieldType.LENGTHS: "lengths separated by commas, such as 6.5, 7, 6.5",
    FieldType.STRETCHES: "stretches such as 560 to 650; 760 to 790",
}


def kind_named(name: str, where: str) -> EventKind:
    """The kind of event with this name. Hyphens count as spaces, and British spelling is accepted.

    Raises InputError at `where`, with a similar name as a suggestion, if there is no such kind.
    """
    plain = " ".join(name.casefold().replace("-", " ").replace("_", " ").split()).replace("cancelled", "canceled")
    if plain not in KINDS:
        hint, do = did_you_mean(plain, KINDS, ""), "See: woodshop guide book."
        wanted = "a kind of event" if hint else f"one of {', '.join(KINDS)}"
        raise InputError(Problem(where, f"the kind of event {name[:60]!r}", wanted, f"{hint} {do}" if hint else do))
    return KINDS[plain]


def read_fields(kind: EventKind, texts: Mapping[str, str], unit: str, currency: str, where: str) -> dict[str, Value]:
    """The fields of an event, read from `texts` (field name to text as people write it) and checked. Skips empty texts.

    `unit` applies to lengths without a unit, `currency` is that of prices, and `where` names the place in error
    messages. Raises InputError with every problem.
    """
    found: list[Problem] = []
    fields: dict[str, Value] = {}
    for name, text in texts.items():
        if not text.strip():
            continue
        if name not in FIELDS:
            do = did_you_mean(name, (*kind.required, *kind.optional), "Leave it out.")
            found.append(Problem(f"{where}, {name[:60]}", "an unknown field", _fields_of(kind), do))
            continue
        try:
            fields[name] = _read(FIELDS[name].type, text, unit, currency)
        except (ValueError, OverflowError):
            found.append(_wrong(where, FIELDS[name], text, unit))
    if found:
        raise InputError(*found)
    found = check_fields(kind, fields, where)
    if found:
        raise InputError(*found)
    return fields


def check_fields(kind: EventKind, fields: Mapping[str, Any], where: str) -> list[Problem]:
    """Every problem with the `fields` of an event, in canonical form; `where` names its place in messages."""
    found = []
    known = (*kind.required, *kind.optional)
    for name in kind.required:
        if name not in fields:
            found.append(Problem(where, f"{kind.name} without {name}", _fields_of(kind), f"Add {name}."))
    for name, value in fields.items():
        if name not in known and not (kind.name == CORRECTION and name in FIELDS):
            do = did_you_mean(name, known, "Leave it out.")
            found.append(Problem(f"{where}, {name[:60]}", f"a field that {kind.name} has not", _fields_of(kind), do))
        elif not is_exact(FIELDS[name], value):
            found.append(_wrong(where, FIELDS[name], shown_value(FIELDS[name], value)))
    return found


def is_exact(field: EventField, value: object) -> bool:
    """Whether a value is in the one canonical form in which events hold this field."""
    if field.choices and value not in field.choices:
        return False
    match field.type:
        case FieldType.COUNT | FieldType.WHOLE | FieldType.MONEY:
            least = 1 if field.type is FieldType.COUNT else 0
            most = 100 * MOST * 100 if field.type is FieldType.MONEY else MOST
            return isinstance(value, int) and not isinstance(value, bool) and least <= value <= most
        case FieldType.YES:
            return isinstance(value, bool)
        case FieldType.LENGTHS:
            return isinstance(value, list) and bool(value) and all(map(_is_length, value))
        case FieldType.STRETCHES:
            return isinstance(value, list) and bool(value) and all(map(_is_stretch, value))
        case FieldType.LENGTH:
            return _is_length(value)
        case FieldType.POSITION:
            return value == _START or _is_length(value)
        case _:
            try:
                return isinstance(value, str) and _read(field.type, value, "in", "USD") == value
            except (ValueError, OverflowError):
                return False


def exact_length(text: str, unit: str) -> str:
    """A length in canonical form: inches as a whole number and fraction, millimeters as a decimal or fraction.

    Feet become inches; centimeters and meters become millimeters. `unit` applies to a length without a unit. Raises
    ValueError.

    >>> exact_length("1 ft 4.25", "in"), exact_length("0.041", "in"), exact_length("41.3 cm", "in")
    ('16 1/4 in', '41/1000 in', '413 mm')
    """
    length = read_length(text, unit)
    if length <= ZERO:
        raise ValueError(f"{text!r} is not longer than 0")
    written = terms(text)[0][1] or unit
    if written in ("mm", "cm", "m"):
        return f"{_number(length.mm)} mm"
    whole, rest = divmod(length.mm / MM_PER_INCH, 1)
    return f"{f'{whole} ' if whole or not rest else ''}{f'{rest} ' if rest else ''}in"


def shown_value(field: EventField, value: Any) -> str:
    """A value of an event as text. `read_fields` reads this text as the same value.

    >>> shown_value(FIELDS["price"], 620), shown_value(FIELDS["bad"], [["22 in", "25 1/2 in"]])
    ('6.20', '22 in to 25 1/2 in')
    """
    match field.type:
        case FieldType.MONEY if isinstance(value, int):
            return f"{value // 100}.{value % 100:02d}"
        case FieldType.YES:
            return "yes" if value else "no"
        case FieldType.LENGTHS if isinstance(value, list):
            return ", ".join(map(str, value))
        case FieldType.STRETCHES if isinstance(value, list):
            return "; ".join(" to ".join(map(str, pair)) for pair in value)
        case _:
            return str(value)


def read_day(text: str, where: str) -> str:
    """A day as text, year first. Raises InputError."""
    try:
        return _day(text.strip())
    except ValueError:
        raise InputError(_wrong(where, EventField("day", FieldType.DAY, ""), text)) from None


def _read(kind: FieldType, text: str, unit: str, currency: str) -> Value:
    """The value of a field, read from text. Raises ValueError."""
    plain = text.strip()
    match kind:
        case FieldType.TEXT:
            return _text(text)
        case FieldType.COUNT | FieldType.WHOLE:
            if not re.fullmatch(r"[0-9]{1,9}", plain):
                raise ValueError(plain)
            return int(plain)
        case FieldType.MONEY:
            return read_money(plain, currency).minor
        case FieldType.LENGTH:
            return exact_length(plain, unit)
        case FieldType.POSITION:
            return _position(plain, unit)
        case FieldType.LENGTHS:
            return [exact_length(each, unit) for each in plain.split(",")]
        case FieldType.STRETCHES:
            return [_stretch(each, unit) for each in plain.split(";")]
        case FieldType.NUMBER:
            if not re.fullmatch(r"[0-9]{1,9}(\.[0-9]{1,9})?", plain) or not Fraction(plain):
                raise ValueError(plain)
            return _number(Fraction(plain))
        case FieldType.DAY:
            return _day(plain)
        case FieldType.YES:
            return {"yes": True, "no": False}[plain.casefold()] if plain.casefold() in ("yes", "no") else _no(plain)


def _no(text: str) -> bool:
    raise ValueError(text)


def _position(text: str, unit: str) -> str:
    return _START if read_length(text, unit) == ZERO else exact_length(text, unit)


def _stretch(text: str, unit: str) -> list[str]:
    start, end = re.split(r"\s+to\s+", text.strip())
    pair = [_position(start, unit), exact_length(end, unit)]
    if not _is_stretch(pair):
        raise ValueError(text)
    return pair


def _day(text: str) -> str:
    if not re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
        raise ValueError(text)
    return date.fromisoformat(text).isoformat()


def _text(text: str) -> str:
    """Text in canonical form: composed characters, single spaces. Raises ValueError."""
    plain = " ".join(unicodedata.normalize("NFC", text).split())
    if not plain or len(plain) > LONGEST_TEXT or not plain.isprintable() or re.match(r"'[=+\-@]", plain):
        raise ValueError(text)
    return plain


def _number(value: Fraction) -> str:
    """The exact number as text: a decimal if at most nine places are enough, otherwise a fraction."""
    return decimals(value, 9) if (value * 10**9).denominator == 1 else str(value)


def _is_length(value: object) -> bool:
    try:
        return isinstance(value, str) and exact_length(value, "in") == value
    except (ValueError, OverflowError):
        return False


def _is_stretch(value: object) -> bool:
    if not isinstance(value, list) or len(value) != 2 or not _is_length(value[1]):
        return False
    return (value[0] == _START or _is_length(value[0])) and read_length(value[0]) < read_length(value[1])


def _fields_of(kind: EventKind) -> str:
    text = f"the fields {', '.join(kind.required)}"
    return f"{text}; and if wanted {', '.join(kind.optional)}" if kind.optional else text


def _wrong(where: str, field: EventField, given: str, unit: str = "in") -> Problem:
    words = _WANTED | (_WANTED_METRIC if unit == "mm" else {})
    wanted = f"one of {', '.join(field.choices)}" if field.choices else words[field.type]
    shown = repr(given) if len(given) <= 60 else repr(given[:57]) + "..."
    return Problem(f"{where}, {field.name}", shown, wanted, "Correct it.")
