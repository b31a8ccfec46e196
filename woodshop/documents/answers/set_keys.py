"""What `woodshop new --set` accepts: settings of boards and items, and keys of the file, its tables and the hives."""

import json
import re
from typing import Any, get_args

from woodshop.design.keys import DesignKey, keys_of, table_names
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.registry import Item, Parameter, fields_as_parameters

Settings = tuple[tuple[str, str, str], ...]
"""(table, name, value): the table is "board", an item, or a table of the file, "" for the file itself."""


_TRUTH = {"yes": "true", "true": "true", "no": "false", "false": "false"}


def as_toml(value: Any) -> str:
    """A value in TOML. Strings, numbers and lists are written as in JSON."""
    return json.dumps(value, ensure_ascii=False)


_ASKED = ("format", "batch", "title", "unit", "lumberyard", "on_by", "frames", "count", "gap", "width", "name",
          "customer", "pattern")  # fmt: skip


def _may_be_set() -> dict[str, DesignKey]:
    """The keys of the file, of its tables and of hives that have no option of their own, by address."""
    written = table_names()
    tables = [name for name, words in written.items() if words == f"[{name}]" or name in ("", "hives")]
    return {key.address: key for table in tables for key in keys_of(table)
            if key.address not in written and not (table in ("", "hives") and key.name in _ASKED)}  # fmt: skip


def set_key(settings: Settings, key: DesignKey) -> str:
    """The value that `settings` have for a key, as written in the file, or "" if it is not set."""
    texts = [value for table, name, value in settings if (table, name) == (key.table, key.name)]
    if not texts:
        return ""
    text, listed = texts[-1], [each.strip() for each in texts[-1].split(",")]
    if "true or false" in key.kind and text.lower() in _TRUTH:
        return _TRUTH[text.lower()]
    is_list = key.kind.endswith(" in a list") and ("several" not in key.kind or len(listed) > 1)
    is_bare = "a whole number" in key.kind or "a date" in key.kind
    values = [each if is_bare and re.fullmatch(r"[\d-]+", each, re.ASCII) else as_toml(each)
              for each in (listed if is_list else [text])]  # fmt: skip
    return f"[{', '.join(values)}]" if is_list else values[0]


def refuse_unknown(settings: Settings, makes: list[Item]) -> None:
    """Raises InputError that suggests similar names if settings are for none of the items `makes` and for no key."""
    names = [f"board.{p.name}" for p in fields_as_parameters(BoardSettings)]
    names += [f"{item.name}.{p.name}" for item in makes for p in item.parameters]
    names += _may_be_set()
    found = []
    for table, name, _ in settings:
        full = f"{table}.{name}" if table else name
        if full not in names:
            do = did_you_mean(full, names, "See: woodshop explain settings, and woodshop explain keys.")
            if name in _ASKED:
                do = f"Give --{name.replace('_', '-')}." if name != "format" else "Leave it out."
            wanted = "a setting of the board or of an item, or a key such as wood, saw.mark or hives.cover"
            found.append(Problem("new, set", repr(full), wanted, do))
    if found:
        raise InputError(*found)


def given_setting(settings: Settings, table: str, parameter: Parameter) -> str:
    """The value given for a setting of the board or of the item `table`, as written in the file.

    It is the last one if there are several, "" if there is none.
    """
    texts = [value for where, name, value in settings if (where, name) == (table, parameter.name)]
    if not texts:
        return ""
    text, kinds = texts[-1], {parameter.type, *get_args(parameter.type)}
    if bool in kinds and text.lower() in _TRUTH:
        return _TRUTH[text.lower()]
    return text if int in kinds and re.fullmatch(r"[1-9][0-9]{0,8}|0", text, re.ASCII) else as_toml(text)


def read_settings(given: tuple[str, ...], found: list[Problem]) -> Settings:
    """The (table, name, value) of each `given` setting, such as "mounting=flush rabbet" or "quilt box.shavings=3 in".

    What is no setting is added to `found`.

    Settings of the board do not need a table; keys of the file itself have none.
    """
    settings = []
    of_board = {parameter.name for parameter in fields_as_parameters(BoardSettings)}
    of_file = {key.name for key in keys_of("")} - of_board
    for text in given:
        key, sign, value = (part.strip() for part in text.partition("="))
        if not (key and sign and value):
            wanted = "a setting and its value, as mounting=flush rabbet"
            found.append(Problem("new, set", repr(text), wanted, "Write an equals sign between the two."))
            continue
        table, _, name = key.rpartition(".")
        settings.append((table or ("" if name in of_file else "board"), name, value))
    return tuple(settings)
