"""What is varied: KEY=V1,V2,... read, checked against every key there is, and put into the tables of the files."""

import re
from dataclasses import dataclass, replace
from datetime import date
from difflib import get_close_matches
from fractions import Fraction
from itertools import product
from math import prod
from typing import Any

from woodshop.design.keys import design_keys, table_names
from woodshop.design.lumberyard.lumberyard_file import Yard
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import Board
from woodshop.hardware.catalogue import items, items_named
from woodshop.hardware.registry import fields_as_parameters
from woodshop.units.lengths import Money, decimals, exact, read_money

MOST_CASES = 60

Case = tuple[tuple[str, str], ...]
"""What one run has otherwise: keys with their values, as written; none for the design as it stands."""


@dataclass(frozen=True, slots=True)
class Vary:
    """One key and the values to try."""

    key: str
    values: tuple[str, ...]


def read_varies(texts: tuple[str, ...]) -> tuple[Vary, ...]:
    """What is to be varied. Raises InputError with every key that there is not, and where there is nothing to try."""
    found: list[Problem] = []
    varies: list[Vary] = []
    known = known_keys()
    for text in texts:
        key, sign, rest = (part.strip() for part in text.partition("="))
        values = tuple(dict.fromkeys(value.strip() for value in rest.split(",") if value.strip()))
        if not (key and sign and values):
            wanted = "a key and its values, as board.mounting=stapled under,flush rabbet"
            found.append(Problem("compare, --vary", repr(text), wanted, "Write an equals sign, then the values."))
            continue
        if not _is_known(key, known):
            near = get_close_matches(key, known, n=1, cutoff=0.5)
            do = f"Did you mean {near[0]!r}?" if near else "For the keys see: woodshop guide design."
            found.append(Problem("compare, --vary", repr(key), "a key of the design, the saw, or price.WHAT", do))
        elif key in {vary.key for vary in varies}:
            found.append(Problem("compare, --vary", repr(key), "each key once", "Put all its values in one --vary."))
        varies.append(Vary(key, values))
    if not texts:
        found.append(Problem("compare", "nothing to vary", "one --vary or more", "Add --vary KEY=V1,V2."))
    count = prod(len(vary.values) for vary in varies)
    if count > MOST_CASES:
        found.append(Problem("compare", f"{count} cases", f"at most {MOST_CASES}", "Vary fewer keys at a time."))
    if found:
        raise InputError(*found)
    return tuple(varies)


def cases_of(varies: tuple[Vary, ...]) -> tuple[Case, ...]:
    """Every case in the order of the values, the first key changing slowest."""
    keys = [vary.key for vary in varies]
    return tuple(tuple(zip(keys, values, strict=True)) for values in product(*(vary.values for vary in varies)))


def known_keys() -> tuple[str, ...]:
    """Every key that can be varied; of hives and prices the beginnings that are common to all."""
    keys = ["yards", *(f"board.{parameter.name}" for parameter in fields_as_parameters(Board)), "price.WHAT"]
    keys += [key.address for key in design_keys() if key.is_varied]
    keys += [f"{item.name}.{parameter.name}" for item in items() for parameter in item.parameters]
    return tuple(dict.fromkeys(keys))


def _is_known(key: str, known: tuple[str, ...]) -> bool:
    head, _, rest = key.partition(".")
    if head == "price":
        return bool(rest)
    if head == "hives" and "." in rest:
        return f"hives.{rest.rpartition('.')[2]}" in known
    return key in known


def into_design(case: Case, design: dict[str, Any]) -> dict[str, Any]:
    """The design's tables, changed as the case says."""
    for key, text in case:
        head, _, name = key.rpartition(".")
        value = _typed(text)
        if key == "yards":
            design = design | {"yard": tuple(part.strip() for part in text.split("+"))}
        elif head == "hives" or head.startswith("hives."):
            design = design | {"hives": _hives(design, head.partition(".")[2], name, value)}
        elif table_names().get(head) == f"[{head}]":
            design = design | {head: design.get(head, {}) | {name: value}}
        elif head == "":
            design = design | {name: value}
        elif not key.startswith("price."):
            design = design | {"make": _makes(design, head, name, value)}
    return design


def _hives(design: dict[str, Any], whose: str, name: str, value: Any) -> tuple[Any, ...]:
    groups = design.get("hives", ())
    names = [str(group.get("name", "")) for group in groups]
    if not groups or (whose and whose not in names):
        near = get_close_matches(whose, names, n=1)
        do = f"Did you mean {near[0]!r}?" if near else "Name hives of the design; what was ordered stands in its files."
        raise InputError(Problem("compare, --vary", f"hives.{whose}", "the name of some [[hives]]", do))
    return tuple(g | {name: value} if not whose or g.get("name") == whose else g for g in groups)


def _makes(design: dict[str, Any], item: str, name: str, value: Any) -> tuple[Any, ...]:
    """The things to make, with the setting given to this item alone: it gets a [[make]] of its own."""
    made: list[Any] = []
    there = False
    for make in design.get("make", ()):
        listed = make.get("item", ())
        listed = (listed,) if isinstance(listed, str) else listed
        listed = tuple(each for name in listed for each in items_named(name) or (name,))
        if item not in listed:
            made.append(make)
            continue
        there = True
        others = tuple(each for each in listed if each != item)
        made.append(make | {"item": item, name: value})
        if others:
            made.append(make | {"item": others})
    if not there:
        raise InputError(
            Problem("compare, --vary", f"{item}.{name}", "an item that this design makes", f"Add {item} to it first.")
        )
    return tuple(made)


def _typed(text: str) -> Any:
    """A value as TOML would hold it: true, 3, 2026-10-01, else text."""
    if text in ("true", "false"):
        return text == "true"
    if re.fullmatch(r"\d{1,9}", text):
        return int(text)
    if re.fullmatch(r"\d{4}-\d\d-\d\d", text):
        try:
            return date.fromisoformat(text)
        except ValueError:
            return text
    return text


def with_prices(case: Case, yard: Yard) -> Yard:
    """The yard with the prices that the case changes: to a price, or by so many per cent up or down.

    Raises InputError for a price that is none, and for what no yard sells.
    """
    for key, text in case:
        if key.startswith("price."):
            yard = _repriced(yard, key.removeprefix("price."), text)
    return yard


def _repriced(yard: Yard, what: str, text: str) -> Yard:
    def new(price: Money) -> Money:
        per_cent = re.fullmatch(r"([+-]?\d{1,3}(?:\.\d{1,2})?)\s*%", text)
        if per_cent is None:
            return Money(read_money(text).minor, price.currency)
        change = exact(per_cent[1].lstrip("+-")) / 100
        part = 1 + change if text.startswith("+") else 1 - change if text.startswith("-") else change
        if part < 0:
            raise ValueError("a price of less than nothing")
        return Money(int(price.minor * part + Fraction(1, 2)), price.currency)

    sold = [(id(o), o.what, "") for o in yard.offers if not o.label]
    sold += [(id(p), p.what, p.goods) for p in yard.packs] + [(id(r), r.what, r.item) for r in yard.ready]
    chosen = {number for number, words, goods in sold if is_meant(what, words) or goods == what}
    if not chosen:
        names = list(dict.fromkeys(words for _, words, _ in sold))
        near = get_close_matches(what, names, n=1, cutoff=0.3)
        do = f"Did you mean {near[0]!r}?" if near else "Take words of the buy list."
        raise InputError(Problem("compare, --vary", f"price.{what}", "something that a yard sells", do))
    try:
        return replace(
            yard,
            offers=tuple(replace(o, price=new(o.price)) if id(o) in chosen else o for o in yard.offers),
            packs=tuple(replace(p, price=new(p.price)) if id(p) in chosen else p for p in yard.packs),
            ready=tuple(replace(r, price=new(r.price)) if id(r) in chosen else r for r in yard.ready),
        )
    except ValueError:
        wanted = "a price such as 9.95, or a change such as +10 %, -5 % or 95 %"
        raise InputError(Problem("compare, --vary", f"price.{what}={text}", wanted, "Mend it.")) from None


def is_meant(words: str, what: str) -> bool:
    """Whether all these words stand in what is sold, each as a whole word.

    >>> is_meant("1x6 8 ft", "1x6 pine, 8 ft (Creekside)"), is_meant("1x6", "1x60 pine")
    (True, False)
    """
    has = re.findall(r"[^\s,()]+", what.lower())
    return all(word in has for word in re.findall(r"[^\s,()]+", words.lower()))


def changed_by(money: int, base: int) -> str:
    """A difference in per cent, with its sign and one decimal."""
    if not base:
        return ""
    part = Fraction(money - base, base) * 100
    return f"{'+' if part > 0 else '-' if part < 0 else ''}{decimals(abs(part), 1)} %"
