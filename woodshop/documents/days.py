"""Days as people read them on paper."""

from datetime import date

_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def in_words(day: date) -> str:
    """A day in full.

    >>> in_words(date(2026, 3, 5))
    '5 March 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def in_short(day: date) -> str:
    """A day where there is little room.

    >>> in_short(date(2026, 3, 5))
    '5 Mar 2026'
    """
    return f"{day.day} {_MONTHS[day.month - 1][:3]} {day.year}"
