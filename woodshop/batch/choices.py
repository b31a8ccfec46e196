"""Where to buy, told: every choice of yards that was looked at, what it comes to or cannot come below."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from woodshop.units import Money

if TYPE_CHECKING:
    from woodshop.batch.values import MaterialPlan


@dataclass(frozen=True, slots=True)
class Choice:
    """One set of yards, with what is bought ready-made at them.

    `least` is what no order from just these yards can come to less than. `pays` is what the order that was planned
    comes to; None where none was planned, and `why` then says what stands against it.
    """

    yards: tuple[str, ...]
    ready: tuple[str, ...]
    least: Money | None
    pays: Money | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class Choices:
    """All choices of yards; `least` is what no choice among them can come to less than.

    `by_solver` says that this rests on a solver's word for some material, where no prices prove it. `rack` is the
    worth of the wood taken from the rack at home, which `least` and `pays` count and no bill does. `tried` are all
    plans that the bounds rest on, each with the yards whose stock it was made for.
    """

    looked_at: tuple[Choice, ...]
    least: Money
    by_solver: bool
    rack: Money
    one_yard_only: bool = False
    tried: tuple[tuple[tuple[str, ...], "MaterialPlan"], ...] = ()
