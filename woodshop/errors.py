"""Errors as data, each with a message for people.

Every message gives, in this order: the place, the given value, the wanted value, what to do.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any


@dataclass(frozen=True, slots=True)
class Problem:
    """One problem in the input, as four texts: the place, the given value, the wanted value, what to do."""

    where: str
    given: str
    wanted: str
    do: str

    def __str__(self) -> str:
        return f"{self.where}: given {self.given}; wanted {self.wanted}. {self.do}"


class WoodshopError(Exception):
    """The base class of errors that stop the work. Carries every problem found, not only the first."""

    exit_code = 1

    def __init__(self, *problems: Problem) -> None:
        if not problems:
            raise ValueError("an error without a problem says nothing")
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), self.problems


class InputError(WoodshopError, ValueError):
    """The input cannot be read or contradicts itself. Nothing was written."""

    exit_code = 3


class NothingToCutError(WoodshopError):
    """No piece can be cut from the given stock, or a plan failed its own check. Nothing was written."""

    exit_code = 4


@dataclass(frozen=True, slots=True)
class Shortage:
    """Pieces of one size that limited stock cannot make: their names, how many are `missing`, and how many `wanted`."""

    names: tuple[str, ...]
    missing: int
    wanted: int


class ShortOfStockError(NothingToCutError):
    """There is too little limited stock. `short` has a row for each size of which pieces are missing, if known."""

    def __init__(self, *problems: Problem, short: tuple[Shortage, ...] = ()) -> None:
        super().__init__(*problems)
        self.short = short

    def __reduce__(self) -> tuple[Any, ...]:
        return (*super().__reduce__(), {"short": self.short})


RENAMED = {"yard": "lumberyard", "one_yard_only": "one_lumberyard", "flat kit": "unassembled kit", "rack": "offcut"}
"""Words from earlier formats that do not resemble the words that replaced them."""


def did_you_mean(given: str, known: Iterable[str], otherwise: str, cutoff: float = 0.6, *, most: int = 1) -> str:
    """A sentence that suggests the known names closest to the given one, or `otherwise` if none is close.

    `cutoff` is the minimum similarity, 0 to 1; `most` is the maximum number of names.

    >>> did_you_mean("fondnat", ["fondant", "quilt"], "Choose one of them.")
    "Did you mean 'fondant'?"
    """
    known = list(known)
    close = [RENAMED[given]] if RENAMED.get(given) in known else get_close_matches(given, known, most, cutoff)
    return f"Did you mean {' or '.join(map(repr, close))}?" if close else otherwise


NEW_FORMATS = {
    "woodshop-design/1": (
        "woodshop-design/2",
        "Write lumberyard for yard, [buying] one_lumberyard for one_yard_only, wire bottom for mesh floor, feeding "
        "shim for cake rim, bottom insert for bottom closure, unassembled kit for flat kit, and the new format line.",
    ),
    "woodshop-yard/1": ("woodshop-lumberyard/1", "Write [[offcut]] for [[rack]], and the new format line."),
    "woodshop-shop/1": ("woodshop-shop/2", "Write offcuts for rack, and the new format line."),
    "woodshop-plan/1": ("woodshop-plan/2", "Plan it again: the assurance that was closed is solved."),
    "woodshop-batch/1": ("woodshop-batch/2", "Plan it again."),
}
"""For each format that is no longer read: the format that replaced it, and what changed."""


def check_format(where: str, given: object, wanted: str, otherwise: str) -> None:
    """Raises InputError if the format `given` at `where` is not the `wanted` one.

    For an older format, the message says what changed; for any other, it says what to do: `otherwise`.
    """
    if given != wanted:
        shown, do = "no format line" if given is None else repr(given)[:60], otherwise
        if isinstance(given, str) and NEW_FORMATS.get(given, ("",))[0] == wanted:
            shown, do = f"{given!r}, the format before", NEW_FORMATS[given][1]
        raise InputError(Problem(f"{where}, format", shown, repr(wanted), do))
