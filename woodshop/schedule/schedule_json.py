"""Reads and writes schedules as JSON with a digest. The schema is `schedule.schema.json` in this directory."""

import re
from collections.abc import Iterable, Mapping
from dataclasses import KW_ONLY, dataclass, replace
from datetime import date, datetime
from typing import Any

from woodshop.cutting.model.reading import Reader, parse_json, show
from woodshop.errors import InputError, Problem, check_format
from woodshop.findings import Finding, Severity
from woodshop.plan.plan_batch import sealed
from woodshop.schedule.values import (
    GOALS,
    Activity,
    Booking,
    CalendarDay,
    Goal,
    Person,
    Precedence,
    Project,
    Resource,
    ResourceUse,
    Schedule,
    Step,
    Window,
)
from woodshop.schedule.verify_schedule import schedule_findings

SCHEDULE_FORMAT = "woodshop-schedule/1"
_DO = "Schedule again."
_MOST_PROBLEMS = 20


@dataclass(frozen=True, slots=True)
class CancelledEvent:
    """A canceled event of an earlier schedule: its id, its description, and its start and end with UTC offsets."""

    uid: str
    what: str
    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class WrittenSchedule:
    """A schedule as written to a file. `number` counts the earlier schedules in its chain of replacements;
    `cancelled` are the canceled events of all of them. `plan` is the digest of the plan file.
    `made_on` is the date of the calendar file's events; None without a date."""

    schedule: Schedule
    _: KW_ONLY
    number: int = 0
    cancelled: tuple[CancelledEvent, ...] = ()
    plan: str = ""
    made_on: date | None = None


def is_schedule(value: object) -> bool:
    """Whether a JSON value is marked as a woodshop schedule, in any version."""
    return isinstance(value, Mapping) and str(value.get("format")).startswith("woodshop-schedule/")


def is_schedule_text(text: str) -> bool:
    """Whether the text of a JSON file is marked as a woodshop schedule, in any version.

    Raises InputError if the text is not JSON.
    """
    return '"woodshop-schedule/' in text and is_schedule(parse_json(text, "schedule"))


def schedule_to_json(written: WrittenSchedule) -> dict[str, Any]:
    """The JSON `woodshop-schedule/1`, with its digest. Times are minutes from the start of the first day."""
    schedule = written.schedule
    return sealed(
        {
            "format": SCHEDULE_FORMAT,
            "made_with": dict(sorted(schedule.made_with.items())),
            "number": written.number,
            "plan": written.plan,
            "made_on": None if written.made_on is None else written.made_on.isoformat(),
            "project": _project_to_json(schedule.project),
            "bookings": [
                {"activity": each.activity, "start": each.start, "end": each.end, "people": list(each.people)}
                for each in schedule.bookings
            ],
            "goals": [{"name": each.name, "value": each.value, "bound": each.bound} for each in schedule.goals],
            "cancelled": [
                {
                    "uid": each.uid,
                    "what": each.what,
                    "start": each.start.isoformat(timespec="minutes"),
                    "end": each.end.isoformat(timespec="minutes"),
                }
                for each in written.cancelled
            ],
        }
    )


def _project_to_json(project: Project) -> dict[str, Any]:
    return {
        "name": project.name,
        "zone": project.zone,
        "is_backward": project.is_backward,
        **(
            {"outside_dues": [{"lot": lot, "day": day.isoformat()} for lot, day in project.outside_dues]}
            if project.outside_dues
            else {}
        ),
        "days": [
            {"day": each.day.isoformat(), "start": each.window.start, "end": each.window.end} for each in project.days
        ],
        "people": [
            {"name": each.name, "skills": sorted(each.skills), "windows": _windows_to_json(each.windows)}
            for each in project.people
        ],
        "resources": [
            {
                "key": each.key,
                "what": each.what,
                "capacity": each.capacity,
                "windows": None if each.windows is None else _windows_to_json(each.windows),
                "is_saw": each.is_saw,
            }
            for each in project.resources
        ],
        "activities": [
            {
                "key": each.key,
                "what": each.what,
                "kind": each.kind,
                "minutes": each.minutes,
                "people": each.people,
                "skill": each.skill,
                "uses": [{"resource": use.resource, "amount": use.amount} for use in each.uses],
                "setting": each.setting,
                "lot": each.lot,
                "earliest": each.earliest,
                "due": each.due,
                "weight": each.weight,
                "steps": [{"what": step.what, "minutes": step.minutes, "page": step.page} for step in each.steps],
            }
            for each in project.activities
        ],
        "precedences": [
            {"before": each.before, "after": each.after, "least": each.least, "most": each.most, "wanted": each.wanted}
            for each in project.precedences
        ],
    }


def _windows_to_json(windows: Iterable[Window]) -> list[list[int]]:
    return [[each.start, each.end] for each in windows]


def read_schedule(text: str, where: str) -> WrittenSchedule:
    """Reads a schedule from the text of its file. Raises InputError if it is not a schedule or fails its check."""
    raw = _table(text, where)
    written = _read(raw, where)
    if not _is_sealed(raw):
        given = "a schedule that does not agree with its digest"
        raise InputError(Problem(where, given, "an unchanged schedule.json", "See: woodshop verify."))
    found = schedule_findings(written.schedule)
    if found:
        given = f"a schedule that does not pass its check, {found[0].place}"
        raise InputError(Problem(where, given, "an unchanged schedule.json", "See: woodshop verify."))
    return written


def verify_schedule_file(text: str, where: str = "schedule") -> list[dict[str, Any]]:
    """Checks a written schedule. The result has the form that `plan.verify.verify_file` uses: name, findings, summary.

    Raises InputError if the file cannot be read.
    """
    raw = _table(text, where)
    written = _read(raw, where)
    found = (*schedule_findings(written.schedule), *_seal_findings(raw))
    project = written.schedule.project
    people = len(project.people)
    says = f"{len(project.activities)} activities, {people} {'person' if people == 1 else 'people'}"
    says += ": each is booked once, in working hours, in order, with what it needs; the goals agree"
    return [{"name": "schedule", "findings": [each.to_json() for each in found], "says": says}]


def _seal_findings(raw: Mapping[str, Any]) -> tuple[Finding, ...]:
    """A finding if the digest is not that of the rest of the file."""
    if _is_sealed(raw):
        return ()
    given, own = str(raw.get("digest"))[:16], sealed(_unsealed(raw))["digest"][:16]
    damage = "its own digest: something in it was changed"
    return (Finding("schedule-changed", Severity.ERROR, "schedule, digest", given, own, damage, _DO),)


def _table(text: str, where: str) -> Mapping[str, Any]:
    raw = parse_json(text, where)
    if not isinstance(raw, dict):
        raise InputError(Problem(where, show(raw), f"a schedule.json of {SCHEDULE_FORMAT}", _DO))
    check_format(where, raw.get("format"), SCHEDULE_FORMAT, _DO)
    return raw


def _unsealed(raw: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in raw.items() if key != "digest"}


def _is_sealed(raw: Mapping[str, Any]) -> bool:
    return bool(raw.get("digest") == sealed(_unsealed(raw))["digest"])


def _read(raw: Mapping[str, Any], where: str) -> WrittenSchedule:
    """Reads the values of a JSON object. Raises InputError with the first few problems in its structure."""
    reader = _Reader()
    keys = ("format", "made_with", "number", "plan", "made_on", "project", "bookings", "goals", "cancelled", "digest")
    top = reader.table(raw, "schedule", keys, ())
    made_with = top.get("made_with")
    versions = reader.table(made_with, "made_with", (), tuple(made_with) if isinstance(made_with, dict) else ())
    project = _read_project(reader, top.get("project", {}))
    bookings = tuple(_read_booking(reader, row, place) for row, place in reader.each(top, "bookings"))
    goals = tuple(_read_goal(reader, row, place) for row, place in reader.each(top, "goals"))
    texts = {name: reader.text(versions, name, "made_with") for name in versions}
    written = WrittenSchedule(
        Schedule(project=project, bookings=bookings, goals=goals, made_with=texts),
        number=reader.integer(top, "number", "", 0),
        plan=reader.text(top, "plan", ""),
        made_on=None if top.get("made_on") is None else reader.day(top, "made_on", ""),
        cancelled=tuple(_read_cancelled(reader, row, place) for row, place in reader.each(top, "cancelled")),
    )
    reader.text(top, "digest", "")
    if reader.problems:
        first = reader.problems[:_MOST_PROBLEMS]
        raise InputError(*(replace(each, where=f"{where}, {each.where}", do=_DO) for each in first))
    return written


class _Reader(Reader):
    """A reader that also reads windows, days, strings that may be empty, and lists of tables or names."""

    def each(self, table: Mapping[str, Any], key: str, where: str = "") -> list[tuple[Any, str]]:
        """The values of a list, each with its path in the file."""
        path = f"{where}.{key}" if where else key
        return [(row, f"{path}[{n}]") for n, row in enumerate(self.rows(table, key, where))]

    def text(self, table: Mapping[str, Any], key: str, where: str) -> str:
        """A string, which may be empty."""
        value = table.get(key, "")
        if not isinstance(value, str):
            self.problem(f"{where}.{key}" if where else key, show(value), "a text", _DO)
            return ""
        return value

    def names(self, table: Mapping[str, Any], key: str, where: str) -> tuple[str, ...]:
        """A list of strings."""
        names = self.rows(table, key, where)
        if not all(isinstance(name, str) for name in names):
            self.problem(f"{where}.{key}", show(names), "texts", _DO)
            return ()
        return tuple(names)

    def optional(self, table: Mapping[str, Any], key: str, where: str) -> int | None:
        """A whole number, or None for null."""
        return None if table.get(key) is None else self.integer(table, key, where, 0)

    def day(self, table: Mapping[str, Any], key: str, where: str) -> date:
        """A date in the form 2026-11-26."""
        value = table.get(key)
        try:
            if isinstance(value, str) and re.fullmatch(r"\d{4}-\d\d-\d\d", value, re.ASCII):
                return date.fromisoformat(value)
        except ValueError:
            pass
        self.problem(f"{where}.{key}" if where else key, show(value), "a day such as 2026-11-07", _DO)
        return date.min

    def moment(self, table: Mapping[str, Any], key: str, where: str) -> datetime:
        """A time with its offset from UTC."""
        value = table.get(key)
        try:
            if isinstance(value, str) and len(value) < 40:
                found = datetime.fromisoformat(value)
                if found.tzinfo is not None and found.isoformat(timespec="minutes") == value:
                    return found
        except ValueError:
            pass
        self.problem(f"{where}.{key}", show(value), "a time such as 2026-11-07T09:00-05:00", _DO)
        return datetime.min

    def windows(self, table: Mapping[str, Any], key: str, where: str) -> tuple[Window, ...]:
        """A list of pairs of minutes."""
        found = []
        for row, place in self.each(table, key, where):
            if not isinstance(row, list) or len(row) != 2:
                self.problem(place, show(row), "a start and an end in minutes", _DO)
                continue
            found.append(Window(self.whole(row[0], place, 0), self.whole(row[1], place, 0)))
        return tuple(found)


def _read_project(reader: _Reader, raw: Any) -> Project:
    keys = ("name", "zone", "is_backward", "days", "people", "resources", "activities", "precedences")
    top = reader.table(raw, "project", keys, ("outside_dues",))
    return Project(
        name=reader.word(top, "name", "project"),
        zone=reader.text(top, "zone", "project"),
        is_backward=reader.flag(top, "is_backward", "project"),
        outside_dues=tuple(
            _read_due(reader, row, place)
            for row, place in (reader.each(top, "outside_dues", "project") if "outside_dues" in top else ())
        ),
        days=tuple(_read_day(reader, row, place) for row, place in reader.each(top, "days", "project")),
        people=tuple(_read_person(reader, row, place) for row, place in reader.each(top, "people", "project")),
        resources=tuple(_read_resource(reader, row, place) for row, place in reader.each(top, "resources", "project")),
        activities=tuple(
            _read_activity(reader, row, place) for row, place in reader.each(top, "activities", "project")
        ),
        precedences=tuple(
            _read_precedence(reader, row, place) for row, place in reader.each(top, "precedences", "project")
        ),
    )


def _read_due(reader: _Reader, raw: Any, place: str) -> tuple[str, date]:
    row = reader.table(raw, place, ("lot", "day"), ())
    return reader.word(row, "lot", place), reader.day(row, "day", place)


def _read_day(reader: _Reader, raw: Any, place: str) -> CalendarDay:
    row = reader.table(raw, place, ("day", "start", "end"), ())
    window = Window(reader.integer(row, "start", place, 0), reader.integer(row, "end", place, 0))
    return CalendarDay(reader.day(row, "day", place), window)


def _read_person(reader: _Reader, raw: Any, place: str) -> Person:
    row = reader.table(raw, place, ("name", "skills", "windows"), ())
    return Person(
        name=reader.word(row, "name", place),
        skills=frozenset(reader.names(row, "skills", place)),
        windows=reader.windows(row, "windows", place),
    )


def _read_resource(reader: _Reader, raw: Any, place: str) -> Resource:
    row = reader.table(raw, place, ("key", "what", "capacity", "windows", "is_saw"), ())
    return Resource(
        key=reader.word(row, "key", place),
        what=reader.text(row, "what", place),
        capacity=reader.integer(row, "capacity", place, 0),
        windows=None if row.get("windows") is None else reader.windows(row, "windows", place),
        is_saw=reader.flag(row, "is_saw", place),
    )


def _read_activity(reader: _Reader, raw: Any, place: str) -> Activity:
    keys = (
        "key", "what", "kind", "minutes", "people", "skill", "uses", "setting", "lot", "earliest", "due", "weight",
        "steps",
    )  # fmt: skip
    row = reader.table(raw, place, keys, ())
    uses = []
    for use, at in reader.each(row, "uses", place):
        each = reader.table(use, at, ("resource", "amount"), ())
        uses.append(ResourceUse(reader.word(each, "resource", at), reader.integer(each, "amount", at, 1)))
    steps = []
    for step, at in reader.each(row, "steps", place):
        each = reader.table(step, at, ("what", "minutes", "page"), ())
        what, minutes = reader.text(each, "what", at), reader.integer(each, "minutes", at, 0)
        steps.append(Step(what, minutes, reader.text(each, "page", at)))
    return Activity(
        key=reader.word(row, "key", place),
        what=reader.text(row, "what", place),
        kind=reader.text(row, "kind", place),
        minutes=reader.integer(row, "minutes", place, 0),
        people=reader.integer(row, "people", place, 0),
        skill=reader.text(row, "skill", place),
        uses=tuple(uses),
        setting=reader.text(row, "setting", place),
        lot=reader.text(row, "lot", place),
        earliest=reader.integer(row, "earliest", place, 0),
        due=reader.optional(row, "due", place),
        weight=reader.integer(row, "weight", place, 0),
        steps=tuple(steps),
    )


def _read_precedence(reader: _Reader, raw: Any, place: str) -> Precedence:
    row = reader.table(raw, place, ("before", "after", "least", "most", "wanted"), ())
    return Precedence(
        before=reader.word(row, "before", place),
        after=reader.word(row, "after", place),
        least=reader.integer(row, "least", place, 0),
        most=reader.optional(row, "most", place),
        wanted=reader.integer(row, "wanted", place, 0),
    )


def _read_booking(reader: _Reader, raw: Any, place: str) -> Booking:
    row = reader.table(raw, place, ("activity", "start", "end", "people"), ())
    start, end = reader.integer(row, "start", place, 0), reader.integer(row, "end", place, 0)
    return Booking(reader.word(row, "activity", place), start, end, reader.names(row, "people", place))


def _read_goal(reader: _Reader, raw: Any, place: str) -> Goal:
    row = reader.table(raw, place, ("name", "value", "bound"), ())
    name = reader.choice(row, "name", place, GOALS)
    return Goal(name, reader.integer(row, "value", place, 0), reader.integer(row, "bound", place, 0))


def _read_cancelled(reader: _Reader, raw: Any, place: str) -> CancelledEvent:
    row = reader.table(raw, place, ("uid", "what", "start", "end"), ())
    start, end = (reader.moment(row, key, place) for key in ("start", "end"))
    return CancelledEvent(reader.word(row, "uid", place), reader.text(row, "what", place), start, end)
