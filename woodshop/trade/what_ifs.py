"""The settings of a batch that are worth trying for its cost, each with the values to compare."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import get_args

from woodshop.design.batch import Batch
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.registry import BoardPart, fields_as_parameters

_OF_RIM, _OF_FLOOR = ("joint", "ripped"), ("mounting", "mesh")


@dataclass(frozen=True, slots=True)
class SettingToTry:
    """A setting in plain words, the values to try in plain words, and both as `compare` takes them (KEY=V1,V2)."""

    words: str
    values: tuple[str, ...]
    vary: str


def settings_to_try(batch: Batch) -> tuple[SettingToTry, ...]:
    """The settings with a few choices that change what a batch costs: of its rims, its wire bottoms, its lumberyards.

    Values that the design has already are left out, and settings of parts that it does not make.
    """
    return tuple(_of_board(batch)) + tuple(_of_buying(batch))


def _of_board(batch: Batch) -> Iterator[SettingToTry]:
    parts = {line.item.board_part for line in batch.lines if line.count}
    wanted = [*(_OF_RIM if BoardPart.RIM in parts else ()), *(_OF_FLOOR if BoardPart.FLOOR in parts else ())]
    board = next((line.setting.board for line in batch.lines), None)
    known = {each.name: each for each in fields_as_parameters(BoardSettings)}
    for name in wanted:
        choices = tuple(map(str, get_args(known[name].type))) or ("true", "false")
        now = str(getattr(board, name)).lower() if board is not None else ""
        values = tuple(each for each in choices if each.lower() != now and "," not in each)
        yield SettingToTry(known[name].param.help, tuple(map(_in_words, values)), f"board.{name}={','.join(values)}")


def _of_buying(batch: Batch) -> Iterator[SettingToTry]:
    if len(batch.lumberyard.terms) > 1:
        value = "false" if batch.buying.one_lumberyard else "true"
        yield SettingToTry("everything from one lumberyard", (_in_words(value),), f"buying.one_lumberyard={value}")


def _in_words(value: str) -> str:
    return {"true": "yes", "false": "no"}.get(value, value)
