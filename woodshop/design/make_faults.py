"""Which settings keep a thing from being made: those that let it be made once they are left out."""

from dataclasses import fields, replace
from typing import Any

from woodshop.design.batch import BatchLine
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import BoardSettings
from woodshop.hardware.registry import default_of, fields_as_parameters


def make_fault(line: BatchLine, why: ValueError) -> Problem:
    """The problem of a thing that cannot be made: `why`, and the settings to change, by their keys."""
    keys = settings_at_fault(line)
    do = f"Change {' or '.join(keys)}." if keys else "Change the sizes given for it."
    return Problem(line.address, f"sizes that do not fit together ({why})", "a thing that can be cut", do)


def settings_at_fault(line: BatchLine) -> tuple[str, ...]:
    """Each setting by its key in the design file that, alone left out, lets this thing be made."""
    given, setting = dict(line.given), line.setting
    found = []
    for parameter in line.item.parameters:
        default = default_of(parameter, setting.unit)
        if given.get(parameter.name) != default and _is_made(line, given | {parameter.name: default}, setting):
            found.append(f"make, {line.item.name}, {parameter.name}")
    known = {each.name: each for each in fields_as_parameters(BoardSettings)}
    for field in fields(BoardSettings):
        default = default_of(known[field.name], setting.unit)
        if getattr(setting.board, field.name) == default:
            continue
        board = replace(setting.board, **{field.name: default})
        if _is_made(line, given, replace(setting, board=board)):
            found.append(f"board, {field.name}")
    return tuple(found)


def _is_made(line: BatchLine, given: dict[str, Any], setting: Any) -> bool:
    try:
        line.item.make(setting, **given)
    except (InputError, ValueError):
        return False
    return True
