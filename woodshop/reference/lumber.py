"""Dressed sizes of softwood boards and dimension lumber, dry, by their nominal names."""

from woodshop.reference.facts import Fact, fact
from woodshop.units.lengths import Length

_THICKNESS = {"1": "1", "5/4": "1_1_4", "2": "2"}
_WIDTHS = {"1": (2, 3, 4, 5, 6, 8, 10, 12), "5/4": (2, 3, 4, 6, 8, 10, 12), "2": (2, 3, 4, 6, 8, 10, 12)}


def nominal_names() -> tuple[str, ...]:
    """The names of what is dressed: "1x2" to "1x12", "5/4x2" to "5/4x12", "2x2" to "2x12".

    >>> nominal_names()[:3]
    ('1x2', '1x3', '1x4')
    """
    return tuple(f"{thickness}x{width}" for thickness, widths in _WIDTHS.items() for width in widths)


def dressed_rows(name: str) -> tuple[Fact, Fact]:
    """The rows of the thickness and the width of a nominal size. Raises KeyError."""
    if name not in nominal_names():
        raise KeyError(f"no nominal size {name!r}; there are {', '.join(nominal_names())}")
    thickness, _, width = name.partition("x")
    return fact(f"lumber.thickness_{_THICKNESS[thickness]}"), fact(f"lumber.width_{width}")


def dressed(name: str) -> tuple[Length, Length]:
    """Least dressed dry thickness and width of a nominal size. Raises KeyError.

    Source: American Softwood Lumber Standard (PS 20), as tabulated elsewhere; each row says how it was read.

    >>> [str(size) for size in dressed("1x4")]
    ['3/4 in', '3 1/2 in']
    """
    thickness, width = dressed_rows(name)
    return thickness.length, width.length
