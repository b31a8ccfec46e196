"""The JSON pen, which writes a section's data as plain values."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from woodshop.drawing.values.model import Datum, Section
from woodshop.units.lengths import Money


def section_json(section: Section) -> dict[str, Any]:
    """The section's data as JSON values: money in whole minor units, dates in the form 2026-11-26."""
    return {key: _plain(value) for key, value in section.data.items()}


def _plain(value: Datum) -> Any:
    match value:
        case Money():
            return value.minor
        case date():
            return value.isoformat()
        case Mapping():
            return {key: _plain(each) for key, each in value.items()}
        case str() | int() | float() | None:
            return value
    return [_plain(each) for each in value]
