"""A sheet as it stands, before anything is made of it."""

from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass, field

MOST_ROWS = 20_000


@dataclass(frozen=True, slots=True)
class SheetGrid:
    """A sheet as it stands, before anything is made of it; rows and columns count from 1.

    `values` by row and column hold text, numbers, dates or truth values; `faults` what is wrong with a cell whatever
    it should hold, as given, wanted, and what to do. `hidden` are rows, `hidden_columns` columns. `merged` are ranges
    as they are called, with their first and last row. `where` begins each place.
    """

    where: str
    values: Mapping[int, Mapping[int, object]]
    faults: Mapping[tuple[int, int], tuple[str, str, str]] = field(default_factory=dict)
    _: KW_ONLY
    hidden: frozenset[int] = frozenset()
    hidden_columns: frozenset[int] = frozenset()
    merged: tuple[tuple[str, int, int], ...] = ()
    unread: tuple[str, ...] = ()


def letters(column: int) -> str:
    """The letters of a column counted from 1.

    >>> letters(1), letters(26), letters(27), letters(703)
    ('A', 'Z', 'AA', 'AAA')
    """
    text = ""
    while column:
        column, rest = divmod(column - 1, 26)
        text = chr(65 + rest) + text
    return text
