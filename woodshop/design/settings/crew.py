"""The settled crew: who works when, and the tables, clamps and car they have. Frozen values."""

from dataclasses import dataclass
from datetime import date

from woodshop.units.lengths import Mass


@dataclass(frozen=True, slots=True, order=True)
class Shift:
    """Hours of work on a day of the week, 0 for Monday to 6 for Sunday: minutes after midnight on the clock."""

    weekday: int
    start: int
    end: int


@dataclass(frozen=True, slots=True, order=True)
class ExtraShift:
    """Hours of work on one day: minutes after midnight on the clock."""

    day: date
    start: int
    end: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Worker:
    """A member of the crew. `off` are the days without work. `skills` are some of `SKILLS`."""

    name: str
    shifts: tuple[Shift, ...]
    skills: tuple[str, ...]
    off: tuple[date, ...] = ()
    extra: tuple[ExtraShift, ...] = ()


SKILLS = ("buy", "saw", "drill", "metal", "assemble", "paint", "pack", "load", "fit")


@dataclass(frozen=True, slots=True, kw_only=True)
class Crew:
    """The crew and its means. `start` is the first day of work, or None if work is counted back from the due dates.

    `zone` is an IANA time zone, "" if not given. `places` are the boards that may dry at once, on all tables and
    backing boards. `clamps` are the frames that may be in clamps at once. `car_boards` and `car_load` are what the car
    carries on one trip. `drying_days` and `spare_days` are full days. If `is_default` is true, there is no [crew].
    """

    workers: tuple[Worker, ...]
    zone: str
    start: date | None
    saws: int
    drills: int
    clamps: int
    places: int
    car_boards: int | None
    car_load: Mass | None
    drying_days: int
    spare_days: int
    is_default: bool = False
