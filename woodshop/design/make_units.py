"""The things of a batch, made: placed parts for every line."""

from typing import Any

from woodshop.design.batch import Batch, Unit
from woodshop.design.make_faults import make_fault
from woodshop.errors import InputError, Problem
from woodshop.hardware.board import Setting
from woodshop.shape.part import Assembly


def make_units(batch: Batch) -> tuple[Unit, ...]:
    """Every line's thing, made once. Raises InputError when an item cannot be made as asked."""
    units: list[Unit] = []
    found: list[Problem] = []
    alike: dict[tuple[str, Setting, tuple[tuple[str, Any], ...]], Assembly] = {}  # lines of one box share what is made
    for line in batch.lines:
        kind = (line.item.name, line.setting, line.given)
        try:
            if kind not in alike:
                alike[kind] = line.item.make(line.setting, **dict(line.given))
            units.append(Unit(line, alike[kind]))
        except InputError as why:
            found += why.problems
        except ValueError as why:  # a part of no size, or a cut that does not lie in its part
            found.append(make_fault(line, why))
    if found:
        raise InputError(*dict.fromkeys(found))
    return tuple(units)
