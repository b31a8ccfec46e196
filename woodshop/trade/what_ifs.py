"""The settings of a batch that are worth trying for its cost, each with the values to compare."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any, get_args

from woodshop.design.batch import Batch
from woodshop.design.keys import find_key
from woodshop.design.settings.saw import CrosscutSaw
from woodshop.engineering.wood import species, species_names
from woodshop.hardware.board import BoardSettings, Gauge
from woodshop.hardware.registry import BoardPart, Parameter, fields_as_parameters
from woodshop.plan.values import PlannedBatch
from woodshop.reference.materials import mesh, mesh_names
from woodshop.units.lengths import Length, Mass, size_name
from woodshop.units.wording import Wording

_OF_RIM, _OF_FLOOR = ("joint", "ripped"), ("mounting", "mesh")
_MORE_OF_RIM = (*_OF_RIM, "made_of", "joint_depth", "finger", "height", "head_room", "sugar", "other_sugar", "bar")
_MORE_OF_FLOOR = (*_OF_FLOOR, "landing", "rabbet_height", "rabbet_width", "groove_height", "groove_depth")
PRICE = "price."
"""Before the name of goods, the key of their price."""
_OF_DESIGN = {
    "surplus": "if a board holds one piece more than needed",
    "hives.cover": "kind of cover",
    "saw.rip_kerf": "kerf of a rip",
    "saw.crosscut_kerf": "kerf of a crosscut",
    "saw.strips": "how narrow strips are ripped",
    "saw.end_trim": "cut off each end of a new board",
    "saw.edge_allowance": "ripped off each edge of a board",
    "saw.longest_rip": "longest board that you rip",
    "saw.shortest_offcut": "shortest offcut that you keep",
    "saw.remainder_allowance": "how far off a remainder may be that is used as a part",
}


@dataclass(frozen=True, slots=True)
class SettingToTry:
    """A setting in plain words, the values to try in plain words, and both as `compare` takes them (KEY=V1,V2)."""

    words: str
    values: tuple[str, ...]
    vary: str


@dataclass(frozen=True, slots=True)
class SettingToChange:
    """A setting that can be compared: its key as `compare` takes it, plain words, and its value now, or "".

    `choices` are its other values as `compare` takes them, with plain words. If there are none, a value is typed.
    """

    key: str
    words: str
    present: str = ""
    choices: tuple[tuple[str, str], ...] = ()

    def with_values(self, values: Iterable[str]) -> SettingToTry:
        """The setting with these values to try."""
        named = dict(self.choices)
        tried = tuple(values)
        return SettingToTry(self.words, tuple(named.get(v, v) for v in tried), f"{self.key}={','.join(tried)}")


def settings_to_try(batch: Batch) -> tuple[SettingToTry, ...]:
    """The settings with a few choices that change what a batch costs: of its rims, its wire bottoms, its lumberyards.

    Values that the design has already are left out, and settings of parts that it does not make.
    """
    found = [*_of_board(batch, _OF_RIM, _OF_FLOOR), *_of_buying(batch)]
    return tuple(each.with_values(value for value, _ in each.choices) for each in found)


def settings_to_change(planned: PlannedBatch, lumberyards: Mapping[str, str]) -> tuple[SettingToChange, ...]:
    """Every setting that may change what a planned batch costs, except those of parts that it does not make.

    They are of its lumberyards, its wood, its board, its items and its saw, and the prices of what it buys.
    `lumberyards` has the names of the lumberyards to choose from by their files.
    """
    batch = planned.batch
    return (
        *_of_lumberyards(batch, lumberyards),
        *_of_buying(batch),
        *_of_board(batch, _MORE_OF_RIM, _MORE_OF_FLOOR),
        *_of_items(batch),
        _of_wood(batch),
        *(_of_key(batch, address, words) for address, words in _OF_DESIGN.items()),
        *_of_species(batch),
        _of_saws(batch),
        *_of_prices(planned),
    )


def _of_board(batch: Batch, of_rim: Iterable[str], of_floor: Iterable[str]) -> Iterator[SettingToChange]:
    parts = {line.item.board_part for line in batch.lines if line.count}
    wanted = [*(of_rim if BoardPart.RIM in parts else ()), *(of_floor if BoardPart.FLOOR in parts else ())]
    board = next((line.setting.board for line in batch.lines), None)
    known = {each.name: each for each in fields_as_parameters(BoardSettings)}
    values = {name: getattr(board, name, None) for name in known}
    for name in wanted:
        if _counts(known[name], values):
            yield _of_parameter(f"board.{name}", "", known[name], values, batch.wording)


def _of_items(batch: Batch) -> Iterator[SettingToChange]:
    for line in {each.item.name: each for each in reversed(batch.lines) if each.count}.values():
        values = dict(line.given)
        for each in line.item.parameters:
            if _counts(each, values):
                yield _of_parameter(f"{line.item.name}.{each.name}", f"{line.item.name}, ", each, values, batch.wording)


def _counts(parameter: Parameter, values: Mapping[str, Any]) -> bool:
    """Whether the parameter matters with the other values of its table."""
    only = parameter.param.only
    return only is None or str(values.get(only[0])).startswith(only[1])


def _of_parameter(
    key: str, whose: str, parameter: Parameter, values: Mapping[str, Any], wording: Wording
) -> SettingToChange:
    now = _in_words(values.get(parameter.name), wording)
    choices = ("true", "false") if parameter.type is bool else tuple(map(str, get_args(parameter.type)))
    is_length = any(each.startswith("<class") or each == "None" for each in choices)  # or none
    if is_length or (wording.is_metric and parameter.type == Gauge):
        choices = ()
    named = ((each, _in_words(each, wording)) for each in choices if "," not in each)
    others = tuple((each, text) for each, text in named if text != now)
    return SettingToChange(key, f"{whose}{parameter.param.help}", now, others)


_YES = {"true": "yes", "false": "no"}
_PLAIN = {"drop": "leave the wood uncut", "spare": "cut a spare"}


def _in_words(value: Any, wording: Wording, otherwise: str = "calculated") -> str:
    if isinstance(value, Length):
        return wording.length(value)
    if isinstance(value, Mass):
        return wording.mass(value)
    if value in mesh_names():
        return mesh(value).sold(wording.of_texts)
    return otherwise if value is None else _YES.get(str(value).lower(), str(value))


def _of_buying(batch: Batch) -> Iterator[SettingToChange]:
    if len(batch.lumberyard.terms) > 1:
        now, other = ("yes", "false") if batch.buying.one_lumberyard else ("no", "true")
        yield SettingToChange("buying.one_lumberyard", _ONE, now, ((other, _YES[other]),))


_ONE = "everything from one lumberyard"


def _of_lumberyards(batch: Batch, lumberyards: Mapping[str, str]) -> Iterator[SettingToChange]:
    """Each lumberyard alone, and all of them, but not those of the design."""
    chosen = {terms.lumberyard for terms in batch.lumberyard.terms}
    ways = [(file,) for file in lumberyards] + [tuple(lumberyards)]
    named = {" + ".join(files): " and ".join(lumberyards[file] for file in files) for files in ways if files}
    others = tuple(
        (" + ".join(files), named[" + ".join(files)])
        for files in dict.fromkeys(ways)
        if files and {lumberyards[file] for file in files} != chosen
    )
    if others:
        yield SettingToChange("lumberyards", "where you buy", " and ".join(sorted(chosen)), others)


def _of_wood(batch: Batch) -> SettingToChange:
    """The thickness of the wood: those of the boards that are sold. What is less than half as thick is for strips."""
    used = tuple(dict.fromkeys(line.setting.wood for line in batch.lines))
    sold = {each.thickness for each in batch.lumberyard.offers if each.thickness and not each.material.is_ready_strip}
    others = sorted(each for each in sold if each not in used and each * 2 >= min(used, default=each))
    choices = tuple((size_name(each, batch.unit), f"boards {batch.wording.exact(each)} thick") for each in others)
    return SettingToChange("wood", "thickness of the wood", " and ".join(map(batch.wording.exact, used)), choices)


def _of_species(batch: Batch) -> Iterator[SettingToChange]:
    """The kind of wood, which changes what is found of how sizes vary, and no cost."""
    if batch.conditions.tolerances is not None:
        now = batch.conditions.tolerances.moisture.species
        others = tuple((each, species(each).name) for each in species_names() if each != now)
        words = "kind of wood (no price changes)"
        yield SettingToChange("moisture.species", words, species(now).name, others)


_CROSSCUT = {"circular saw": "circular saw with a guide", "sled": "sled on the table saw"}


def _of_saws(batch: Batch) -> SettingToChange:
    """The saw for crosscuts, if only one of them is there: its kerf, and what it can cut."""
    now = batch.saw.tools.crosscut_with
    others = tuple((each, f"only a {_CROSSCUT.get(each, each)}") for each in get_args(CrosscutSaw) if (each,) != now)
    said = " and ".join(_CROSSCUT.get(each, each) for each in now)
    return SettingToChange("tools.crosscut_with", "kind of saw for crosscuts", said, others)


def _of_key(batch: Batch, address: str, words: str) -> SettingToChange:
    table, _, name = address.rpartition(".")
    now = {
        "surplus": batch.surplus,
        "hives.cover": "",
    }.get(address, getattr(batch.saw, name, ""))
    said = _in_words(now, batch.wording, "not set")
    choices = find_key(table, name).choices
    others = tuple((each, _PLAIN.get(each, each)) for each in choices if each != said)
    return SettingToChange(address, words, _PLAIN.get(said, said), others)


def _of_prices(planned: PlannedBatch) -> Iterator[SettingToChange]:
    """The prices of what the batch buys."""
    for what, price in {each.what: each.price for each in planned.purchases if each.price.minor}.items():
        if "=" not in what:
            yield SettingToChange(f"{PRICE}{what}", f"price of {what}", str(price))
