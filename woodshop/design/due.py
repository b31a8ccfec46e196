"""Due dates: which day comes first, and for whose hives. Every date printed is worked out from these."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta

from woodshop.design.batch import Batch, Hives, Unit, packed_boards
from woodshop.reference.facts import fact


@dataclass(frozen=True, slots=True)
class DueDate:
    """A day and the groups of hives that are due on it, in the order of the design."""

    day: date
    hives: tuple[Hives, ...]

    @property
    def count(self) -> int:
        """The number of hives due on that day."""
        return sum(each.count for each in self.hives)

    @property
    def orders(self) -> tuple[str, ...]:
        """Whose hives they are, each order once."""
        return tuple(dict.fromkeys(order_words(each) for each in self.hives))


def due_dates(hives: Iterable[Hives]) -> tuple[DueDate, ...]:
    """Each day on which any of these hives are due, earliest first; hives without a day are left out."""
    days: dict[date, list[Hives]] = {}
    for each in dict.fromkeys(hives):
        if each.due is not None:
            days.setdefault(each.due, []).append(each)
    return tuple(DueDate(day, tuple(days[day])) for day in sorted(days))


def first_due(hives: Iterable[Hives]) -> DueDate | None:
    """The earliest due date of these hives; None where none has a day."""
    return next(iter(due_dates(hives)), None)


def first_needed(hives: Iterable[Hives], batch: Batch, units: tuple[Unit, ...]) -> DueDate | None:
    """The earliest day on which parts for these hives must be cut and built, and for whose hives.

    That is when their boards are packed, so that the sugar dries; where none are, the day on which they are due.
    """
    packed = {name for name, _, _ in packed_boards(batch, units)}
    drying = timedelta(days=int(fact("mix.drying_days").number))
    needed = [
        replace(each, due=each.due - drying)
        if each.due is not None and each.boards and (each.name or each.format) in packed
        else each
        for each in hives
    ]
    return first_due(needed)


def order_words(hives: Hives) -> str:
    """Whose hives they are: the order's number and the customer, else the name of the hives, else their format."""
    number = f"order {hives.order}" if hives.order else ""
    return ", ".join(filter(None, (number, hives.customer))) or hives.name or hives.format
