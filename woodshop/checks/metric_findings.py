"""Findings of a metric design: where a source's own limit is in inches, its millimetres stand beside it."""

import re
from dataclasses import replace

from woodshop.findings import Finding
from woodshop.units.lengths import read_length
from woodshop.units.written import NUMBER

_INCHES = re.compile(rf"(?<![\w/.-])(?:({NUMBER})(?: in)? to )?({NUMBER}) in\b(?! \([\d.])")


def with_millimetres(text: str) -> str:
    """The text with millimetres in brackets after every length or range in inches.

    >>> with_millimetres("1/4 to 3/8 in, or 3/16 in once it sags")
    '1/4 to 3/8 in (6.35 to 9.52 mm), or 3/16 in (4.76 mm) once it sags'
    """
    return _INCHES.sub(lambda match: f"{match[0]} ({_said(match[1], match[2])} mm)", text)


def _said(least: str | None, most: str) -> str:
    return " to ".join(read_length(each, "in").number("mm") for each in (least, most) if each)


def told_in_millimetres(found: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """The findings with millimetres beside the inches of their sources; the lengths of the design are so already."""
    return tuple(
        replace(
            each,
            value=with_millimetres(each.value),
            limits=with_millimetres(each.limits),
            change=with_millimetres(each.change),
        )
        for each in found
    )
