"""The prices of a lumberyard file that are still those of the example that it began from."""

from functools import lru_cache
from pathlib import Path
from typing import Any

from woodshop.design.schema import LARGEST_FILE, toml_tables
from woodshop.files.one_file import read_text_file
from woodshop.units.wording import LengthUnit

EXAMPLE_PRICES = "# The prices in this file are an example. Replace them with your own, then remove this line."
"""A line of a lumberyard file that began from the example, for as long as its prices are not the user's own."""
_EXAMPLES: dict[LengthUnit, str] = {"in": "creekside-lumberyard", "mm": "birkholm-lumberyard"}
_GOODS = ("board", "roll", "sheet", "piece", "pack", "ready")
_PACKAGE = Path(__file__).resolve().parents[2]


def example_text(name: str) -> str:
    """The text of an example file: beside the package, or in the checkout that it runs from."""
    places = (_PACKAGE / "page" / "example" / f"{name}.toml", _PACKAGE.parent / "designs" / f"{name}.toml")
    return read_text_file(next(each for each in places if each.exists()), "an example", LARGEST_FILE)


def example_lumberyard(unit: LengthUnit) -> str:
    """The text of the example that a new lumberyard file in this unit begins from."""
    return example_text(_EXAMPLES[unit])


def priced_goods(text: str) -> dict[tuple[str | int, ...], tuple[str, str]]:
    """The goods of a lumberyard file, by the place of their price: their name and size, and the price.

    Raises InputError if the text is not TOML.
    """
    return _priced(toml_tables(text, "lumberyard"))


@lru_cache(maxsize=4)
def example_prices(text: str) -> dict[tuple[str | int, ...], tuple[str, str]]:
    """Those of `priced_goods` whose name, size and price are still those of the example.

    Empty if the file does not have the line that marks an example. Raises InputError if the text is not TOML.
    """
    if EXAMPLE_PRICES not in text:
        return {}
    tables = toml_tables(text, "lumberyard")
    example = set(priced_goods(example_lumberyard("mm" if tables.get("unit") == "mm" else "in")).values())
    return {place: each for place, each in _priced(tables).items() if each in example}


def only_examples(raw: dict[str, Any], text: str) -> dict[str, Any] | None:
    """The tables of a lumberyard file with only the goods whose price is the example's, or None if there are none.

    `raw` are its tables as `load_text` has them. Raises InputError if the text is not TOML.
    """
    places = example_prices(text)
    if not places:
        return None
    kept = {key: value for key, value in raw.items() if key not in (*_GOODS, "offcut")}
    for array in _GOODS:
        rows = []
        for n, row in enumerate(raw.get(array, ())):
            if (array, n, "price") in places:
                rows.append(row)
            elif sizes := [each for at, each in _sizes(row) if (array, n, "sizes", at, "price") in places]:
                rows.append({**row, "sizes": tuple(sizes)})
        kept[array] = tuple(rows)
    return kept


def _priced(tables: dict[str, Any]) -> dict[tuple[str | int, ...], tuple[str, str]]:
    found: dict[tuple[str | int, ...], tuple[str, str]] = {}
    for array in _GOODS:
        for n, row in _tables(tables.get(array)):
            if array == "board":
                section = row.get("nominal") or f"{row.get('thickness')} x {row.get('width')}"
                for at, each in _sizes(row):
                    goods = f"{section} {row.get('wood', '')}, {each.get('length')}"
                    found[array, n, "sizes", at, "price"] = goods, str(each.get("price"))
            else:
                goods = ", ".join(str(value) for key, value in row.items() if key not in ("price", "count", "seen"))
                found[array, n, "price"] = goods, str(row.get("price"))
    return found


def _sizes(row: dict[str, Any]) -> list[tuple[int, dict[str, Any]]]:
    return _tables(row.get("sizes"))


def _tables(rows: Any) -> list[tuple[int, dict[str, Any]]]:
    """The tables of an array with their places. What is not a table is left to the check of the file."""
    there = rows if isinstance(rows, list | tuple) else ()
    return [(n, row) for n, row in enumerate(there) if isinstance(row, dict)]
