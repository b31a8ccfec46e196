"""Reads plain values (from JSON) and checks them. Reports all problems at once, each with its path."""

import json
from collections import Counter
from collections.abc import Mapping
from typing import Any, TypeVar

from woodshop.errors import InputError, Problem, did_you_mean

Choice = TypeVar("Choice", bound=str)
LARGEST = 10**9
MOST_VALUES = 2_000_000  # in a JSON file
DEEPEST = 40  # tables and lists inside each other; a plan has about ten levels


def show(value: Any) -> str:
    """A value as shown in messages, at most 60 characters long."""
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def parse_json(source: str | Mapping[str, Any], where: str) -> Any:
    """The plain values of a JSON text. Values that are already read are returned unchanged.

    Refuses repeated keys, NaN and infinities, lone surrogates, and files with too many values or too many levels.
    """
    if not isinstance(source, str):
        return source
    problems: list[Problem] = []
    # each value except the first follows a comma, or begins a table or list
    if source.count(",") + source.count("[") + source.count("{") > MOST_VALUES:
        given, wanted = "a file with too many values", f"at most {MOST_VALUES:,}"
        raise InputError(Problem(where, given, wanted, "Check that this is the right file."))

    def pairs(items: list[tuple[str, Any]]) -> dict[str, Any]:
        table = dict(items)
        if len(table) < len(items):
            for key in sorted(key for key, n in Counter(key for key, _ in items).items() if n > 1):
                given, wanted = "the same key twice", "each key once"
                problems.append(Problem(f"{where}: {show(key)}", given, wanted, "Remove one of them."))
        return table

    try:
        value = json.loads(source, object_pairs_hook=pairs, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise InputError(
            Problem(where, f"text that is not JSON ({error})", "a JSON file", "Correct or replace the file.")
        ) from None
    problems += _shape_problems(value, where)
    if problems:
        raise InputError(*problems)
    return value


def _shape_problems(value: Any, where: str) -> list[Problem]:
    """Problems that make values unusable: too many levels, and text that cannot be written."""
    level, depth = [value], 0
    while level:
        if depth > DEEPEST:
            return [
                Problem(
                    where, "values nested too deep", f"at most {DEEPEST} deep", "Check that this is the right file."
                )
            ]
        words = [each for each in level if isinstance(each, str)]
        words += [key for each in level if isinstance(each, dict) for key in each]
        for word in words:
            if not word.isascii() and _is_broken(word):
                given = f"text with half a character, {word[:40]!a}"
                return [Problem(where, given, "text in UTF-8", "Type that text again.")]
        lists = (each.values() if isinstance(each, dict) else each for each in level if isinstance(each, dict | list))
        level, depth = [inner for each in lists for inner in each], depth + 1
    return []


def _is_broken(word: str) -> bool:
    try:
        word.encode("utf-8")
    except UnicodeEncodeError:
        return True
    return False


def _no_number(text: str) -> Any:
    raise ValueError(f"{text} is no number")


class Reader:
    """Reads values, checks them and collects every problem."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def problem(self, where: str, given: str, wanted: str, do: str) -> None:
        """Adds one problem and continues."""
        self.problems.append(Problem(where, given, wanted, do))

    def table(self, value: Any, where: str, required: tuple[str, ...], optional: tuple[str, ...]) -> Mapping[str, Any]:
        """A table with known keys only; an empty table if `value` is not a table."""
        if not isinstance(value, Mapping):
            self.problem(where or "job", show(value), "a table of keys and values", "Write it as { ... }.")
            return {}
        known = required + optional
        dot = f"{where}." if where else ""
        for key in value:
            if key not in known:
                hint = did_you_mean(str(key), known, f"Known here: {', '.join(known)}.")
                self.problem(f"{dot}{key}", "an unknown key", "a known key", hint)
        for key in required:
            if key not in value:
                self.problem(f"{dot}{key}", "nothing", "a value", "Add it.")
        return value

    def integer(self, table: Mapping[str, Any], key: str, where: str, least: int, default: int | None = None) -> int:
        """A whole number from `least` to the largest allowed.

        After a problem, it is `least`, so that reading can continue.
        """
        if key not in table:
            return least if default is None else default
        return self.whole(table[key], f"{where}.{key}" if where else key, least)

    def whole(self, value: Any, where: str, least: int, most: int = LARGEST) -> int:
        """The value, if it is a whole number from `least` to `most`. Otherwise adds a problem and returns `least`."""
        if type(value) is not int or not least <= value <= most:
            wanted = f"a whole number from {least} to {most}"
            self.problem(where, show(value), wanted, "Give it in the job's unit, without a fraction.")
            return least
        return value

    def flag(self, table: Mapping[str, Any], key: str, where: str) -> bool:
        """A Boolean value, or false if it is absent or has another type."""
        value = table.get(key, False)
        if not isinstance(value, bool):
            self.problem(f"{where}.{key}", show(value), "true or false", "Write true or false.")
            return False
        return value

    def word(self, table: Mapping[str, Any], key: str, where: str, absent: str = "-") -> str:
        """A string, or `absent` if it is missing or has another type."""
        value = table.get(key, absent)
        if not isinstance(value, str) or not value.strip():
            self.problem(f"{where}.{key}" if where else key, show(value), "a word", "Write a word in quotes.")
            return absent
        return value

    def choice(self, table: Mapping[str, Any], key: str, where: str, choices: tuple[Choice, ...]) -> Choice:
        """One of `choices`, or the first if the value is absent or is not one of them."""
        value = self.word(table, key, where, choices[0])
        found = next((choice for choice in choices if choice == value), None)
        if found is None:
            hint = did_you_mean(value, choices, "Choose one of these.")
            path = f"{where}.{key}" if where else key
            self.problem(path, show(value), " or ".join(repr(choice) for choice in choices), hint)
        return found or choices[0]

    def rows(self, table: Mapping[str, Any], key: str, where: str = "") -> list[Any]:
        """A list, which is empty if the value is absent or is not a list."""
        value = table.get(key, [])
        path = f"{where}.{key}" if where else key
        if not isinstance(value, list | tuple):
            self.problem(path, show(value), "a list", "Write it as [ ... ].")
            return []
        return list(value)
