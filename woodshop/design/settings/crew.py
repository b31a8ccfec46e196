"""The settled crew: who works when, and the crew's tables, clamps and car. The values are frozen."""

from dataclasses import dataclass
from datetime import date

from woodshop.design.schema import Default
from woodshop.units.lengths import Length, Mass


@dataclass(frozen=True, slots=True, order=True)
class Shift:
    """Hours of work on a day of the week, 0 for Monday to 6 for Sunday, in minutes after midnight on the clock."""

    weekday: int
    start: int
    end: int


@dataclass(frozen=True, slots=True, order=True)
class ExtraShift:
    """Hours of work on one day, in minutes after midnight on the clock."""

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
    """The crew and its equipment. `start` is the first day of work, or None to work back from the due dates.

    `zone` is an IANA time zone, "" if not given. `table` is the length and width of each of the `tables` on which
    boards dry. `backing_boards` is None if there is one for each board on the tables. `clamps` is how many frames can
    be in clamps at once. `car_boards` and `car_load` are the most that the car carries on one trip. `drying_days`,
    `resting_days` (of resawn boards) and `spare_days` are full days. Frames stay in clamps for `clamp_minutes`, their
    glue is hard after `glue_hours`, and a coat of paint is dry after `paint_hours`. On a due day, work must be done by
    `due_clock`, in minutes after midnight. Nobody drives to the apiaries `at_home`. `defaults` are the values that were
    not given. If `is_default` is true, there is no [crew].
    """

    workers: tuple[Worker, ...]
    zone: str
    start: date | None
    saws: int
    drills: int
    band_saws: int
    planers: int
    clamps: int
    tables: int
    table: tuple[Length, Length]
    backing_boards: int | None
    car_boards: int | None
    car_load: Mass
    drying_days: int
    resting_days: int
    spare_days: int
    clamp_minutes: int
    glue_hours: int
    paint_hours: int
    due_clock: int
    at_home: tuple[str, ...] = ()
    defaults: tuple[Default, ...] = ()
    is_default: bool = False
