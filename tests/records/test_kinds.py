"""The table of events: every kind is complete, every value has one exact form, and wrong ones are refused."""

import json
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from woodshop.errors import InputError
from woodshop.records.events import new_event
from woodshop.records.kinds import (
    CHANGES,
    FIELDS,
    KINDS,
    EventField,
    FieldType,
    exact_length,
    is_exact,
    kind_named,
    read_day,
    read_fields,
    shown_value,
)
from woodshop.records.steps import STEPS
from woodshop.units.lengths import inch, millimetre, read_length

GIVEN = {
    FieldType.TEXT: "quilt  box",
    FieldType.COUNT: "12",
    FieldType.WHOLE: "0",
    FieldType.MONEY: "$6.20",
    FieldType.LENGTH: "16 1/4",
    FieldType.POSITION: "0",
    FieldType.LENGTHS: '1/4, 5/16", 6.5 mm',
    FieldType.STRETCHES: "0 to 2; 22 to 25 1/2",
    FieldType.NUMBER: "0.850",
    FieldType.DAY: "2026-11-26",
    FieldType.YES: "Yes",
}


def text_for(field: EventField) -> str:
    return field.choices[0] if field.choices else GIVEN[field.type]


def test_every_kind_has_its_step_and_known_fields() -> None:
    assert set(STEPS) == set(KINDS) - set(CHANGES)
    named = {name for kind in KINDS.values() for name in (*kind.required, *kind.optional)}
    assert named == set(FIELDS)
    assert all(kind.required and not set(kind.required) & set(kind.optional) for kind in KINDS.values())


@pytest.mark.invariant
@pytest.mark.parametrize("name", KINDS)
def test_every_field_is_read_kept_and_shown_again(name: str) -> None:
    kind = KINDS[name]
    texts = {each: text_for(FIELDS[each]) for each in (*kind.required, *kind.optional)}
    fields = read_fields(kind, texts, "in", "USD", "here")
    assert set(fields) == set(texts)
    event = new_event(name, fields, "2026-11-26")
    assert json.loads(event.payload) == fields
    again = {each: shown_value(FIELDS[each], value) for each, value in fields.items()}
    assert read_fields(kind, again, "mm", "USD", "here") == fields


@pytest.mark.parametrize("name", [name for name in KINDS if name not in CHANGES])
def test_each_required_field_is_asked_for(name: str) -> None:
    kind = KINDS[name]
    for left_out in kind.required:
        texts = {each: text_for(FIELDS[each]) for each in kind.required if each != left_out}
        with pytest.raises(InputError, match=f"{name} without {left_out}"):
            read_fields(kind, texts, "in", "USD", "here")


@pytest.mark.parametrize(
    ("field", "text"),
    [
        ("count", "0"), ("count", "1.5"), ("count", "-1"), ("count", "1000001"), ("count", "a few"), ("count", "٣"),
        ("counted", "-1"), ("price", "6.205"), ("price", "-1"), ("price", "6,20"), ("length", "0"),
        ("length", "-3"), ("length", "12 furlongs"), ("length", "200 m"), ("gap", "1/4,,1/4"), ("bad", "22"),
        ("bad", "25 to 22"), ("bad", "22 to 22"), ("density", "0"), ("density", "1e3"), ("density", "nan"),
        ("due", "10/11/26"), ("due", "2026-02-30"), ("straight_edges", "maybe"), ("cut", "chop"), ("state", "broken"),
        ("note", "a\x07b"), ("note", "x" * 201), ("note", "'=1+1"), ("note", "half \ud800"), ("note", "\u202eabc"),
    ],
)  # fmt: skip
def test_a_wrong_value_is_refused_with_its_place(field: str, text: str) -> None:
    kind = next(kind for kind in KINDS.values() if field in (*kind.required, *kind.optional))
    texts = {each: text_for(FIELDS[each]) for each in kind.required} | {field: text}
    with pytest.raises(InputError) as caught:
        read_fields(kind, texts, "in", "USD", "row 3")
    (problem,) = caught.value.problems
    assert problem.where == f"row 3, {field}"
    assert problem.given.startswith(repr(text)[:20])
    assert problem.wanted


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("count", True), ("count", 1.0), ("count", "1"), ("length", "16.25 in"), ("length", 16), ("length", "8/4 in"),
        ("note", " a"), ("note", "a  b"), ("note", ""), ("bad", []), ("bad", [["2 in", "1 in"]]), ("gap", "1/4 in"),
        ("density", "0.850"), ("due", "2026-1-2"), ("price", -1), ("straight_edges", "yes"),
    ],
)  # fmt: skip
def test_a_program_gives_values_in_their_one_form(field: str, value: object) -> None:
    assert not is_exact(FIELDS[field], value)


@pytest.mark.invariant
@given(st.fractions(Fraction(1, 1000), 3000, max_denominator=1000), st.sampled_from(["in", "mm"]))
def test_lengths_are_kept_exactly(value: Fraction, unit: str) -> None:
    length = inch(value) if unit == "in" else millimetre(value)
    whole, rest = divmod(value, 1)
    written = f"{whole} {rest}" if whole and rest else str(value)
    kept = exact_length(f"{written} {unit}", "mm")
    assert read_length(kept) == length
    assert exact_length(kept, "in") == kept
    assert exact_length(written, unit) == kept


def test_the_same_event_has_the_same_id_and_others_another() -> None:
    first = new_event("units finished", {"item": "quilt box", "box": "tens", "count": 2})
    assert first.id == new_event("units finished", {"count": 2, "box": "tens", "item": "quilt box"}).id
    others = [
        new_event("units finished", {"item": "quilt box", "box": "tens", "count": 3}),
        new_event("units finished", {"item": "quilt box", "box": "tens", "count": 2}, "2026-10-01"),
        new_event("units packed", {"item": "quilt box", "box": "tens", "count": 2}),
        new_event("units finished", {"item": "quilt box", "box": "tens", "count": 2}, nth=2),
    ]
    assert len({first.id, *(each.id for each in others)}) == 5


def test_kinds_and_days_are_read_as_people_write_them() -> None:
    assert kind_named("Units-finished", "here").name == "units finished"
    assert kind_named("order cancelled", "here").name == "order canceled"
    with pytest.raises(InputError, match="Did you mean 'units finished'"):
        kind_named("unit finished", "here")
    assert read_day(" 2026-11-26 ", "here") == "2026-11-26"
    with pytest.raises(InputError, match="a day such as 2026-11-26"):
        read_day("26 Nov", "here")
    with pytest.raises(InputError, match="without a day"):
        new_event("price seen", {"lumberyard": "Creekside", "stock": "1x6 pine, 8 ft", "price": 620})
