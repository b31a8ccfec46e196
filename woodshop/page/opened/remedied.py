"""Applies the changes of a remedy to the text of a design file, which keeps its comments and order."""

from collections.abc import Sequence

from woodshop.design.remedy import DesignChange
from woodshop.design.schema import toml_tables
from woodshop.page.opened.editing import add_table, remove_value, set_value, value_at


def remedied(text: str, changes: Sequence[DesignChange]) -> str:
    """The text after these changes, made one after another. Raises InputError if the text has no such place."""
    for each in changes:
        array = each.place[:-1]
        held = value_at(toml_tables(text, "the text"), array)
        if each.value is None:
            text = remove_value(text, each.place)
        elif isinstance(each.value, dict) and isinstance(held, list) and each.place[-1] == len(held):
            text = add_table(text, array, each.value)
        else:
            text = set_value(text, each.place, each.value)
    return text
