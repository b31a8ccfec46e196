"""The [crew] table of a design file, or a crew file: people with their hours, machines, tables, car, drying times."""

import re
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Annotated, Any, Literal
from zoneinfo import ZoneInfo, available_timezones

from pydantic import BeforeValidator, Field

from woodshop.design.schema import (
    Default,
    SettingTable,
    Size,
    SomeMass,
    ValueKind,
    Words,
    design_key,
    load,
    refuse,
    validate,
)
from woodshop.design.settings.crew import SKILLS, Crew, ExtraShift, Shift, Worker
from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.reference.facts import fact
from woodshop.units.wording import LengthUnit, wording_of

WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_HOURS_WANTED = "days of the week and hours, such as Sat 9:00-12:00 or Mon-Fri 6 pm-9 pm"
_CLOCK = r"(\d{1,2})(?::(\d\d))?(?: ?([ap])\.?m\.?)?"
_SPAN = re.compile(rf"^{_CLOCK} ?(?:-|to) ?{_CLOCK}$", re.ASCII | re.I)
_LONGEST_OFF = 366  # days: a longer range is a typing error
_ONE = "One person"
Skill = Literal["buy", "saw", "drill", "metal", "assemble", "paint", "pack", "load", "fit"]
Span = tuple[date, date]


def clock_text(minutes: int) -> str:
    """A time of day.

    >>> clock_text(545), clock_text(1440)
    ('9:05', '24:00')
    """
    return f"{minutes // 60}:{minutes % 60:02}"


def _minutes(hours: str, minutes: str | None, half: str | None) -> int | None:
    """The minutes after midnight of a time of day, on a clock of 24 hours, or of 12 with "a" or "p" as its half.

    >>> _minutes("12", "30", "a"), _minutes("5", None, "p"), _minutes("17", "05", None), _minutes("13", None, "p")
    (30, 1020, 1025, None)
    """
    hour, after = int(hours), int(minutes or 0)
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half.lower() == "p" else 0)
    found = hour * 60 + after
    return found if after < 60 and found <= 24 * 60 else None


def _span(text: str, wanted: str) -> tuple[int, int]:
    """The minutes after midnight at which hours such as "9:00-17:30" start and end."""
    found = _SPAN.match(text.replace("–", "-").strip())
    if found is None:
        raise refuse(wanted, "Write the hours as 9:00-17:00, or as 9 am-5 pm.")
    if bool(found[3]) != bool(found[6]):
        raise refuse(wanted, "Write am or pm after both times, or after neither.")
    start, end = _minutes(*found.groups()[:3]), _minutes(*found.groups()[3:])
    if start is None or end is None:
        raise refuse(f"{wanted}; a day has 24 hours of 60 minutes", "Correct the hours.")
    if start >= end:
        do = "Put the earlier time first. Work that goes past midnight is two entries."
        raise refuse(f"{wanted}, with the end after the start", do)
    return start, end


def _text(value: Any, wanted: str) -> str:
    if not isinstance(value, str) or len(value) > 60:
        raise refuse(wanted, "Write it as text between quotes.")
    return value.strip()


def _hours(value: Any) -> tuple[Shift, ...]:
    found = re.fullmatch(r"([^\d]+?)\s*(\d.*)", _text(value, _HOURS_WANTED))
    if found is None:
        raise refuse(_HOURS_WANTED, "Write the days first, then the hours.")
    start, end = _span(found[2], _HOURS_WANTED)
    days: list[int] = []
    for part in found[1].replace("–", "-").replace(" to ", "-").split(","):
        ends = [_weekday(each) for each in part.split("-")]
        if len(ends) > 2:
            raise refuse(_HOURS_WANTED, "Write a range of days as Mon-Fri.")
        days += [(ends[0] + number) % 7 for number in range((ends[-1] - ends[0]) % 7 + 1)]
    return tuple(Shift(day, start, end) for day in days)


def _weekday(text: str) -> int:
    word = text.strip().rstrip(".").lower()
    found = [number for number, name in enumerate(WEEKDAYS) if len(word) >= 3 and name.lower().startswith(word)]
    if not found:
        short = [name[:3] for name in WEEKDAYS]
        do = did_you_mean(text.strip().title(), [*short, *WEEKDAYS], f"The days are {', '.join(short)}.")
        raise refuse(_HOURS_WANTED, do)
    return found[0]


_OFF_WANTED = 'a day such as 2026-10-31, or a range of days such as "2026-12-20 to 2027-01-03"'


def _off(value: Any) -> Span:
    if type(value) is date:
        return value, value
    first, sign, last = _text(value, _OFF_WANTED).partition(" to ")
    span = _day(first, _OFF_WANTED), _day(last if sign else first, _OFF_WANTED)
    if span[0] > span[1]:
        raise refuse(f"{_OFF_WANTED}, the first day first", "Put the earlier day first.")
    if (span[1] - span[0]).days > _LONGEST_OFF:
        raise refuse(f"{_OFF_WANTED}, no longer than a year", "Check the years. Leave out a person who is away longer.")
    return span


def _day(text: str, wanted: str) -> date:
    try:
        if re.fullmatch(r"\d{4}-\d\d-\d\d", text.strip(), re.ASCII):
            return date.fromisoformat(text.strip())
    except ValueError:
        pass
    raise refuse(wanted, "Write the year first, then the month and the day.")


_EXTRA_WANTED = "a day and hours, such as 2026-11-04 18:00-21:00"


def _extra(value: Any) -> ExtraShift:
    day, _, hours = _text(value, _EXTRA_WANTED).partition(" ")
    return ExtraShift(_day(day, _EXTRA_WANTED), *_span(hours, _EXTRA_WANTED))


_CLOCK_WANTED = "a time of day such as 17:00"


def _clock(value: Any) -> int:
    found = re.fullmatch(_CLOCK, _text(value, _CLOCK_WANTED), re.ASCII | re.I)
    minutes = None if found is None else _minutes(*found.groups())
    if not minutes:
        raise refuse(f"{_CLOCK_WANTED}, at most 24:00", "Write it in quotes, such as 17:00 or 5 pm.")
    return minutes


WeekHours = Annotated[Any, BeforeValidator(_hours), ValueKind("days of the week and hours")]
DaysOff = Annotated[Any, BeforeValidator(_off), ValueKind("a date or a range of dates")]
ExtraHours = Annotated[Any, BeforeValidator(_extra), ValueKind("a date and hours")]
ClockTime = Annotated[Any, BeforeValidator(_clock), ValueKind("a time of day")]
Few = Annotated[int, Field(ge=1, le=1000)]


class PersonTable(SettingTable):
    """The [[crew.person]] table; [[person]] in a crew file."""

    name: Words = design_key(
        "Name of a person who works.", ..., example='"Ingrid"', min_length=1, max_length=60, vary=False
    )
    hours: Annotated[tuple[WeekHours, ...], Field(max_length=50)] = design_key(
        "Hours of work in a week: days and hours, on a clock of 24 hours or with am and pm. Leave a gap for lunch.",
        (),
        otherwise="only the hours in extra",
        example='["Sat, Sun 9:00-12:00", "Sat, Sun 13:00-17:00"]',
        vary=False,
    )
    off: Annotated[tuple[DaysOff, ...], Field(max_length=100)] = design_key(
        "Days without work: dates without quotes, ranges in quotes.",
        (),
        otherwise="none",
        example='[2026-10-31, "2026-12-20 to 2027-01-03"]',
        vary=False,
    )
    extra: Annotated[tuple[ExtraHours, ...], Field(max_length=100)] = design_key(
        "Hours on single days, in addition to those of the week.",
        (),
        otherwise="none",
        example='["2026-11-04 18:00-21:00"]',
        vary=False,
    )
    skills: Annotated[tuple[Skill, ...], Field(min_length=1)] = design_key(
        f"What this person does: {', '.join(SKILLS)}. metal is wire cloth and sheet steel; load is handing over "
        "orders; fit is taking boards to the apiary and putting them on.",
        SKILLS,
        otherwise="everything",
        example='["saw", "drill"]',
        vary=False,
    )


class CrewTable(SettingTable):
    """The [crew] table of a design, or the keys of a crew file."""

    start: date | None = design_key(
        "First day of work, year first, without quotes.",
        otherwise="none; work is planned back from the due dates",
        example="2026-10-03",
        vary=False,
    )
    zone: Words = design_key(
        "Time zone of the shop, as named in the time zone database. Needed for schedule.ics.",
        "",
        otherwise="none; clocks are taken never to change",
        example='"America/New_York"',
        vary=False,
    )
    saws: Few | None = design_key("How many people can saw at once.", row="crew.saws", example="1", vary=False)
    drills: Few | None = design_key(
        "How many people can drill and punch at once.", row="crew.drills", example="1", vary=False
    )
    band_saws: Few | None = design_key(
        "How many people can resaw at band saws at once.", row="crew.band_saws", example="1", vary=False
    )
    planers: Few | None = design_key("How many people can plane at once.", row="crew.planers", example="1", vary=False)
    clamps: Few | None = design_key(
        "How many frames can be in clamps at once.", row="crew.clamps", example="4", vary=False
    )
    tables: Few | None = design_key("Tables on which packed boards dry.", row="crew.tables", example="1", vary=False)
    table_length: Size | None = design_key("Length of each table.", row="season.table_length", vary=False)
    table_width: Size | None = design_key("Width of each table.", row="season.table_width", vary=False)
    backing_boards: Few | None = design_key(
        "Flat backing boards for packed boards to dry on.",
        otherwise="as many as boards fit on the tables",
        example="12",
        vary=False,
    )
    car_boards: Few | None = design_key(
        "Packed boards that the car carries on one trip.",
        otherwise="as many as car_load allows",
        example="20",
        vary=False,
    )
    car_load: SomeMass | None = design_key("Load that the car carries on one trip.", row="crew.car_load", vary=False)
    drying_days: Annotated[int, Field(ge=1, le=60)] | None = design_key(
        "Full days that a packed board dries before it is moved. Longer in an unheated shop.",
        row="mix.drying_days",
        example="2",
        vary=False,
    )
    resting_days: Annotated[int, Field(ge=0, le=120)] | None = design_key(
        "Full days that resawn boards rest before they are planed. Longer for damp lumber, or in an unheated shop.",
        row="crew.resting_days",
        example="7",
        vary=False,
    )
    spare_days: Annotated[int, Field(ge=0, le=60)] | None = design_key(
        "Days between the end of drying and loading, so that a slow board or a bad day delays nobody.",
        row="crew.spare_days",
        example="2",
        vary=False,
    )
    clamp_minutes: Annotated[int, Field(ge=0, le=1440)] | None = design_key(
        "Minutes that a glued frame stays in clamps, screwed or not. The glue's label comes first.",
        row="crew.clamp_minutes",
        example="30",
        vary=False,
    )
    glue_hours: Annotated[int, Field(ge=0, le=240)] | None = design_key(
        "Hours until a glued frame is worked on again. The glue's label comes first.",
        row="crew.glue_hours",
        example="24",
        vary=False,
    )
    paint_hours: Annotated[int, Field(ge=0, le=240)] | None = design_key(
        "Hours that a coat of paint dries. The paint's label comes first.",
        row="crew.paint_hours",
        example="4",
        vary=False,
    )
    at_home: Annotated[tuple[Words, ...], Field(max_length=50)] = design_key(
        "Apiaries beside the shop, by name: nobody drives there.",
        (),
        otherwise="none; each trip to an apiary takes the minutes of drive under [times]",
        example='["house yard"]',
        vary=False,
    )
    due_time: ClockTime | None = design_key(
        "Time of day by which everything for a due day is done.",
        otherwise="24:00, the end of that day",
        example='"17:00"',
        vary=False,
    )
    person: Annotated[tuple[PersonTable, ...], Field(max_length=30)] = design_key(
        "A person who works.", (), otherwise="one person, every Saturday and Sunday, 9:00-12:00 and 13:00-17:00",
        vary=False,
    )  # fmt: skip


class CrewFileTable(CrewTable):
    """A crew file: a format line, and the keys of [crew]. Each person is a [[person]] table."""

    format: str = design_key("Format of this file. Always the first line.", ..., example='"woodshop-crew/1"')


def read_crew(path: Path, unit: LengthUnit) -> CrewTable:
    """Reads a crew file. Lengths without a unit are in `unit`. Raises InputError with every problem in it."""
    table = validate(CrewFileTable, load(path, "crew"), path.name, unit)
    found = crew_faults(table, path.name)
    if found:
        raise InputError(*found)
    return table


def crew_faults(table: CrewTable, where: str) -> list[Problem]:
    """Every contradiction in the table. `where` is put before the place of each problem."""
    found: list[Problem] = []
    if table.zone and not _is_zone(table.zone):
        known = sorted(available_timezones())
        do = did_you_mean(table.zone, known, "Use a name such as America/New_York or Europe/Berlin.")
        found.append(Problem(f"{where}, zone", repr(table.zone), "a time zone of the time zone database", do))
    names: list[str] = []
    for number, person in enumerate(table.person, 1):
        place = f"{where}, person number {number}, {person.name}"
        if person.name in names:
            found.append(Problem(place, f"the name {person.name!r} again", "each name once", "Choose another name."))
        names.append(person.name)
        found += _person_faults(person, place)
    return found


def _is_zone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):  # KeyError is "not found"; a folder of zones is an OSError
        return False
    return True


def _person_faults(person: PersonTable, place: str) -> Iterator[Problem]:
    shifts = [shift for entry in person.hours for shift in entry]
    if not shifts and not person.extra:
        do = 'Add hours = ["Sat 9:00-17:00"], or remove this person.'
        yield Problem(place, "no hours", "hours in a week, or extra hours", do)
    by_day: dict[int, list[tuple[int, int]]] = {}
    for shift in shifts:
        by_day.setdefault(shift.weekday, []).append((shift.start, shift.end))
    for weekday, hours in by_day.items():
        yield from _overlaps(hours, f"{place}, hours", WEEKDAYS[weekday])
    off = {day for span in person.off for day in _days(span)}
    for first, last in person.off:
        if not any(day.weekday() in by_day for day in _days((first, last))):
            given = f"{first} ({WEEKDAYS[first.weekday()]})" if first == last else f"{first} to {last}"
            wanted = "a day on which this person has weekly hours"
            yield Problem(f"{place}, off", given, wanted, "Check the date, or remove it.")
    for day in dict.fromkeys(each.day for each in person.extra):
        if day in off:
            yield Problem(f"{place}, extra", f"{day}, which is also a day off", "one of the two", "Remove one of them.")
            continue
        hours = [(each.start, each.end) for each in person.extra if each.day == day]
        yield from _overlaps(hours + by_day.get(day.weekday(), []), f"{place}, extra", str(day))


def _overlaps(hours: list[tuple[int, int]], place: str, day: str) -> Iterator[Problem]:
    last: tuple[int, int] | None = None
    for start, end in sorted(hours):
        if last is not None and start < last[1]:
            given = f"{clock_text(start)}-{clock_text(end)} and {clock_text(last[0])}-{clock_text(last[1])} on {day}"
            yield Problem(place, given, "hours that do not overlap", "Remove one, or change its hours.")
            return
        last = (start, end)


def _days(span: Span) -> Iterator[date]:
    first, last = span
    return (first + timedelta(days=number) for number in range((last - first).days + 1))


_WEEKEND = tuple(Shift(day, start, end) for day in (5, 6) for start, end in ((540, 720), (780, 1020)))
_COMMON = "common practice, no source"


def settled_crew(table: CrewTable, unit: LengthUnit = "in") -> Crew:
    """The settled crew; its `defaults` are the values that were not given, each with its source."""
    defaults: list[Default] = []

    def taken(name: str, key: str) -> Any:
        row = fact(key)
        defaults.append(Default("crew", name, row.value_in(unit), row.cite).worded(wording_of(unit)))
        return row

    def number(name: str, key: str) -> int:
        given: int | None = getattr(table, name)
        return given if given is not None else int(taken(name, key).number)

    workers = tuple(
        Worker(
            name=person.name,
            shifts=tuple(sorted(shift for entry in person.hours for shift in entry)),
            skills=tuple(skill for skill in SKILLS if skill in person.skills),
            off=tuple(sorted({day for span in person.off for day in _days(span)})),
            extra=tuple(sorted(person.extra)),
        )
        for person in table.person
    )
    if not workers:
        workers = (Worker(name=_ONE, shifts=_WEEKEND, skills=SKILLS),)
        words = "one person, Saturday and Sunday, 9:00-12:00 and 13:00-17:00"
        defaults.append(Default("crew", "person", words, _COMMON))
    if not table.zone:
        defaults.append(Default("crew", "zone", "none: clocks never change", _COMMON))
    sizes = []
    for name in ("table_length", "table_width"):
        size = getattr(table, name)
        sizes.append(size if size is not None else taken(name, f"season.{name}").length_in(unit))
    if not table.at_home:
        defaults.append(Default("crew", "at_home", "none: every apiary is driven to", _COMMON))
    if table.due_time is None:
        defaults.append(Default("crew", "due_time", "24:00, the end of the due day", _COMMON))
    return Crew(
        workers=workers,
        zone=table.zone,
        start=table.start,
        saws=number("saws", "crew.saws"),
        drills=number("drills", "crew.drills"),
        band_saws=number("band_saws", "crew.band_saws"),
        planers=number("planers", "crew.planers"),
        clamps=number("clamps", "crew.clamps"),
        tables=number("tables", "crew.tables"),
        table=(sizes[0], sizes[1]),
        backing_boards=table.backing_boards,
        car_boards=table.car_boards,
        car_load=table.car_load if table.car_load is not None else taken("car_load", "crew.car_load").mass_in(unit),
        drying_days=number("drying_days", "mix.drying_days"),
        resting_days=number("resting_days", "crew.resting_days"),
        spare_days=number("spare_days", "crew.spare_days"),
        clamp_minutes=number("clamp_minutes", "crew.clamp_minutes"),
        glue_hours=number("glue_hours", "crew.glue_hours"),
        paint_hours=number("paint_hours", "crew.paint_hours"),
        due_clock=24 * 60 if table.due_time is None else table.due_time,
        at_home=table.at_home,
        defaults=tuple(defaults),
        is_default=not table.model_fields_set,
    )
