"""Every key of every file that is read, besides those of a design file: of lumberyard, shop, stores and other files."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from typing import Any, get_args, get_origin

from woodshop.design.keys import DesignKey, design_models, model_keys
from woodshop.design.lumberyard.lumberyard_tables import LumberyardTable
from woodshop.design.measured_files import MeasuredTable, UnitTable
from woodshop.design.schema import SettingTable
from woodshop.design.settings.crew_table import CrewFileTable
from woodshop.design.tables import PatternsTable
from woodshop.plan.work.shop_file import ShopTable
from woodshop.trade.season.stores import StoresTable

FILES: dict[str, type[SettingTable]] = {
    "lumberyard": LumberyardTable,
    "shop": ShopTable,
    "crew": CrewFileTable,
    "patterns": PatternsTable,
    "measured": MeasuredTable,
    "unit": UnitTable,
    "stores": StoresTable,
}
"""The model of each kind of file, by the word in its `format` line; a design file has `design_keys`."""


@dataclass(frozen=True, slots=True)
class FileKey:
    """A key of a kind of file, and the tables in which it has this meaning ("" is the head of the file)."""

    file: str
    key: DesignKey
    tables: tuple[str, ...]

    @property
    def address(self) -> str:
        """The file, the first table and the key, such as "lumberyard file.board.resaw"."""
        return f"{self.file} file.{self.key.address}"

    @property
    def names(self) -> tuple[str, ...]:
        """What people may call it: its name alone, with its table, or with its file too."""
        within = [f"{table}.{self.key.name}" if table else self.key.name for table in self.tables]
        return (self.key.name, self.address, *within, *(f"{self.file}.{each}" for each in within))

    @property
    def stands_in(self) -> str:
        """The place of the key, as text."""
        written = _tables(FILES[self.file])
        places = [written[table][0] if table else "the head" for table in self.tables]
        return f"{' or '.join(places)} of a {self.file} file"


@cache
def file_keys() -> tuple[FileKey, ...]:
    """Every key of every kind of file, file by file. What a design file also has is left to its own keys."""
    return tuple(each for file in FILES for each in _keys_of(file))


def _keys_of(file: str) -> Iterator[FileKey]:
    model, alike = FILES[file], dict[tuple[str, str], list[DesignKey]]()
    tables = _tables(model)
    written = {name: words for name, (words, _) in tables.items()}
    for table, (_, inside) in {"": ("", model), **tables}.items():
        known = {key for each in design_models().values() if issubclass(inside, each) for key in each.model_fields}
        for key in model_keys(table, inside, written):
            if key.name not in known:
                alike.setdefault((key.name, key.meaning), []).append(key)
    for keys in alike.values():
        yield FileKey(file, keys[0], tuple(each.table for each in keys))


@cache
def _tables(model: type[SettingTable]) -> dict[str, tuple[str, type[SettingTable]]]:
    """The tables of a file by name, each as it is written and with its model: those at its head, then those inside."""
    found: dict[str, tuple[str, type[SettingTable]]] = {}
    for name, field in model.model_fields.items():
        for table, is_array in _table_of(field.annotation):
            found[name] = (f"[[{name}]]" if is_array else f"[{name}]", table)
            found |= {f"{name}.{key}": (f"{key} in [[{name}]]", each) for key, (_, each) in _tables(table).items()}
    return found


def _table_of(hint: Any) -> Iterator[tuple[type[SettingTable], bool]]:
    """The table that a value of this type is or may be, and whether it is one of several."""
    if isinstance(hint, type) and issubclass(hint, SettingTable):
        yield hint, False
        return
    is_array = get_origin(hint) is tuple
    for each in get_args(hint):
        yield from ((table, is_array or inner) for table, inner in _table_of(each))
