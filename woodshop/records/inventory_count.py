"""An inventory count: compares the counts with the book, and makes an event for each difference."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from woodshop.errors import InputError, Problem
from woodshop.records.events import NewEvent, new_event
from woodshop.records.kinds import KINDS, Value, read_fields
from woodshop.records.state import BookState, UnitsKey
from woodshop.records.steps import GOOD, SHED

SUBJECTS = ("stock", "offcut", "item", "box", "form", "state", "place")
_KINDS = {"stock": "stock counted", "offcut": "offcut counted", "item": "units counted"}


@dataclass(frozen=True, slots=True)
class CountedThing:
    """One thing of an inventory count: its kind of event, its fields, how many were counted, and how many the book has.

    `where` names its place in error messages.
    """

    kind: str
    fields: Mapping[str, Value]
    counted: int
    expected: int
    where: str

    @property
    def what(self) -> str:
        """A description of the thing."""
        return counted_words(self.fields)


def counted_words(fields: Mapping[str, Value]) -> str:
    """A description of a thing in an inventory count."""
    if "stock" in fields:
        return str(fields["stock"])
    if "offcut" in fields:
        return f"offcut {fields['offcut']}"
    words = [f"{fields['item']} for {fields['box']}"]
    words += [str(fields[name]) for name in ("form", "state") if fields.get(name, GOOD) != GOOD]
    return f"{', '.join(words)} in {fields.get('place', SHED)}"


def counted_things(state: BookState, rows: Sequence[tuple[str, Mapping[str, str]]]) -> list[CountedThing]:
    """The things of an inventory count. Each of the `rows` is a place for error messages, and texts by column. Rows
    without a count are left out, because those things were not counted.

    Raises InputError with every problem, including things counted twice.
    """
    found: list[Problem] = []
    things: dict[tuple[str, str], CountedThing] = {}
    for where, texts in rows:
        if not texts.get("counted", "").strip():
            continue
        subjects = [name for name in _KINDS if texts.get(name, "").strip()]
        if len(subjects) != 1:
            given = " and ".join(subjects) or "nothing"
            found.append(Problem(where, given, "one of stock, offcut, item", "Give each its own row."))
            continue
        kind = _KINDS[subjects[0]]
        try:
            fields = read_fields(KINDS[kind], {**texts, "expected": "0"}, state.unit, state.currency, where)
        except InputError as why:
            found += why.problems
            continue
        fields = _without_defaults(fields)
        counted = int(str(fields.pop("counted")))
        del fields["expected"]
        expected = _expected(state, fields)
        key = kind, counted_words(fields)
        if key in things:
            given = f"{key[1]} again, as in {things[key].where}"
            found.append(Problem(where, given, "each thing once", "Add the counts together."))
        elif "offcut" in fields and counted != expected and counted:
            do = 'Enter a new one with "offcut put away", with its size.'
            found.append(Problem(where, f"{counted} of {key[1]}", f"0 or {expected}", do))
        else:
            things[key] = CountedThing(kind, fields, counted, expected, where)
    if found:
        raise InputError(*found)
    return list(things.values())


def difference_events(state: BookState, things: Sequence[CountedThing], day: str = "") -> list[NewEvent]:
    """An event on `day` ("" for none) for each thing whose count differs from the book's. The ids are made from the
    state of the book, so that the same inventory count of the same state is recognized when it is sent again."""
    return [
        new_event(
            thing.kind,
            {**thing.fields, "counted": thing.counted, "expected": thing.expected},
            day,
            f"count-{state.digest[:12]}-{n}",
            where=thing.where,
        )
        for n, thing in enumerate(things, 1)
        if thing.counted != thing.expected
    ]


def sheet_rows(state: BookState) -> list[list[str]]:
    """The rows of a sheet to count on, headings first: everything on hand, with the book's count and an empty cell for
    the new count. Units on hives are left out."""
    rows = [[*SUBJECTS, "book", "counted"]]
    for stock in state.stock:
        if stock.on_hand:
            rows.append([stock.stock, *[""] * 6, str(stock.on_hand), ""])
    rows += [["", offcut.offcut, *[""] * 5, "1", ""] for offcut in state.offcuts]
    for key, count in state.units.items():
        if not key.hive:
            rows.append(["", "", key.item, key.box, key.form, key.state, key.place, str(count), ""])
    return rows


def _without_defaults(fields: Mapping[str, Value]) -> dict[str, Value]:
    """The fields without those that have their default value."""
    usual = {"state": GOOD, "place": SHED}
    return {name: value for name, value in fields.items() if usual.get(name) != value}


def _expected(state: BookState, fields: Mapping[str, Value]) -> int:
    if "stock" in fields:
        return sum(each.on_hand for each in state.stock if each.stock == fields["stock"])
    if "offcut" in fields:
        return sum(each.offcut == fields["offcut"] for each in state.offcuts)
    key = UnitsKey(
        item=str(fields["item"]),
        box=str(fields["box"]),
        form=str(fields.get("form", "")),
        state=str(fields.get("state", GOOD)),
        place=str(fields.get("place", SHED)),
        hive="",
    )
    return state.units.get(key, 0)
