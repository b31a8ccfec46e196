"""Invented projects, and schedules for them made by a plain list scheduler that shares nothing with the solver."""

from bisect import bisect_right
from collections.abc import Iterator, Mapping
from datetime import date
from functools import cache

from woodshop.schedule.calendar import calendar_days
from woodshop.schedule.values import (
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

DAY = 24 * 60
FIRST = date(2026, 10, 10)  # a Saturday


def hours(days: tuple[CalendarDay, ...], weekdays: tuple[int, ...]) -> tuple[Window, ...]:
    """9 to 12 and 13 to 17 on these days of the week, 0 for Monday, on the clock."""
    found = []
    for day in days:
        if day.day.weekday() in weekdays:
            late = day.window.end - day.window.start - DAY  # an hour of the clock more or less, before dawn
            found += [
                Window(day.window.start + late + 60 * start, day.window.start + late + 60 * end)
                for start, end in ((9, 12), (13, 17))
            ]
    return tuple(found)


class _Making:
    """Collects the activities of a project and their order."""

    def __init__(self) -> None:
        self.activities: list[Activity] = []
        self.precedences: list[Precedence] = []

    def add(
        self, key: str, what: str, kind: str, minutes: int, *after: str, page: str = "", least: int = 0, **more: object
    ) -> str:
        steps = (Step(what, minutes, page),) if page else ()
        self.activities.append(Activity(key=key, what=what, kind=kind, minutes=minutes, steps=steps, **more))  # type: ignore[arg-type]
        self.precedences += [Precedence(before=each, after=key, least=least) for each in after]
        return key


def project(
    lots: Mapping[str, tuple[int, date]],
    *,
    settings: int = 6,
    weekdays: tuple[int, ...] = (5, 6),
    names: tuple[str, ...] = ("Ada Miller", "Ben Ortiz"),
    zone: str = "America/New_York",
    places: int = 20,
    last: date = date(2026, 12, 20),
) -> Project:
    """A project of some lots, each with its count of batches to pack and its due date, and a number of saw settings."""
    days = calendar_days(FIRST, last, zone)
    starts = {day.day: day.window.start for day in days}
    make = _Making()
    buy = make.add("buy", "Buy lumber and mesh", "buy", 90, uses=(ResourceUse("car", 1),), skill="buy", page="page 3")
    sawn = buy
    for n in range(1, settings + 1):
        kind, page = ("crosscut", "page 7") if n <= settings // 3 else ("rip", "page 9")
        sawn = make.add(
            f"saw {n}", f"Setting {n}: fence at {n} 3/8 in", kind, 20 + 5 * (n % 4), sawn,
            uses=(ResourceUse("table saw", 1),), skill="saw", setting=f"setting {n}", page=page,
        )  # fmt: skip
    holes = make.add("drill", "Drill pilot holes", "drill", 60, sawn, uses=(ResourceUse("drill press", 1),),
                     skill="drill", page="page 12")  # fmt: skip
    for lot, (batches, due) in lots.items():
        mesh = make.add(f"{lot} mesh", "Cut wire bottoms", "metal", 45, buy, lot=lot, skill="metal", page="page 14")
        packed: list[str] = []
        for n in range(1, batches + 1):
            built = make.add(
                f"{lot} build {n}", f"Glue and screw rims, lot {n}", "assemble", 75, holes, lot=lot, skill="assemble",
                uses=(ResourceUse("clamps", 2),), page="page 15",
            )  # fmt: skip
            cured = make.add(f"{lot} cure {n}", "Glue cures", "cure", 120, built, lot=lot, people=0)
            stapled = make.add(f"{lot} mesh {n}", "Staple wire bottoms", "assemble", 30, cured, mesh, lot=lot,
                               skill="assemble", page="page 15")  # fmt: skip
            pack = make.add(f"{lot} pack {n}", "Mix and press sugar, 5 boards", "pack", 100, stapled, lot=lot,
                            uses=(ResourceUse("places", 5),), skill="pack", page="page 18")  # fmt: skip
            dry = make.add(f"{lot} dry {n}", "Boards dry", "dry", 7 * DAY, lot=lot, people=0,
                           uses=(ResourceUse("places", 5),))  # fmt: skip
            make.precedences.append(Precedence(before=pack, after=dry, most=0))
            packed.append(dry)
        load = make.add(f"{lot} load", "Load boards in the car", "load", 40, lot=lot, skill="load", people=2,
                        uses=(ResourceUse("car", 1),), page="page 20")  # fmt: skip
        make.precedences += [Precedence(before=dry, after=load, wanted=2 * DAY) for dry in packed]
        make.add(f"{lot} fit", "Put the boards on the hives", "fit", 110, load, lot=lot, people=2, skill="fit",
                 uses=(ResourceUse("car", 1),), due=starts[due] + DAY, page="page 20")  # fmt: skip
    skills = ("buy", "saw", "drill", "metal", "assemble", "paint", "pack", "load", "fit")
    own = hours(days, weekdays)
    people = [Person(name=names[0], skills=frozenset(skills), windows=own)]
    people += [Person(name=each, skills=frozenset(skills) - {"saw", "drill"}, windows=own) for each in names[1:]]
    return Project(
        name="orchard autumn",
        zone=zone,
        days=days,
        people=tuple(people),
        resources=(
            Resource(key="table saw", what="table saw", capacity=1, is_saw=True),
            Resource(key="drill press", what="drill press", capacity=1),
            Resource(key="clamps", what="frames in clamps", capacity=4),
            Resource(key="places", what="places for boards to dry", capacity=places),
            Resource(key="car", what="car", capacity=1),
        ),
        activities=tuple(make.activities),
        precedences=tuple(make.precedences),
    )


@cache
def small() -> Schedule:
    """44 activities of two people, for two orders."""
    return scheduled(project({"Alder Lane": (2, date(2026, 11, 7)), "Hill Farm": (4, date(2026, 11, 14))}))


@cache
def large() -> Schedule:
    """Some 300 activities of four people, for six orders."""
    lots = {
        "Alder Lane": (9, date(2026, 11, 7)),
        "Hill Farm": (6, date(2026, 11, 14)),
        "Millbrook Bee Club": (12, date(2026, 11, 14)),
        "Old Quarry": (3, date(2026, 11, 21)),
        "Riverside Honey & Daughters": (12, date(2026, 11, 21)),
        "the shop's own": (6, date(2026, 11, 28)),
    }
    names = ("Ada Miller", "Ben Ortiz", "Chika Obi", "Dee Laszlo")
    return scheduled(project(lots, settings=40, weekdays=(0, 1, 2, 3, 4, 5), names=names, places=60))


def scheduled(wanted: Project) -> Schedule:
    """A schedule in which each activity, in the order of the project, starts as early as it can."""
    after: dict[str, list[Precedence]] = {}
    for lag in wanted.precedences:
        after.setdefault(lag.after, []).append(lag)
    tied = {lag.before: lag.after for lag in wanted.precedences if lag.most == 0}
    activities = {each.key: each for each in wanted.activities}
    booked: dict[str, Booking] = {}
    waiting = [each for each in wanted.activities if each.key not in tied.values()]
    while waiting:
        ready = [each for each in waiting if all(lag.before in booked for lag in after.get(each.key, ()))]
        each = ready[0]
        waiting.remove(each)
        with_it = [each] + ([activities[tied[each.key]]] if each.key in tied else [])
        least = max(
            [each.earliest, *(booked[lag.before].end + max(lag.least, lag.wanted) for lag in after.get(each.key, ()))]
        )
        for start in _starts(wanted, each, least):
            made = _booked(wanted, with_it, start, booked, activities)
            if made:
                booked |= {booking.activity: booking for booking in made}
                break
    bookings = tuple(sorted(booked.values(), key=lambda booking: (booking.start, booking.activity)))
    return Schedule(
        project=wanted, bookings=bookings, goals=goals_of(wanted, bookings), made_with={"tests": "list scheduler"}
    )


def _starts(wanted: Project, activity: Activity, least: int) -> Iterator[int]:
    if not activity.people:
        yield from range(least, wanted.days[-1].window.end)
    for window in wanted.people[0].windows:
        first = max(window.start, -(-least // 5) * 5)
        yield from range(first, window.end - activity.minutes + 1, 5)


def _booked(
    wanted: Project, chain: list[Activity], start: int, booked: dict[str, Booking], activities: dict[str, Activity]
) -> list[Booking]:
    made: list[Booking] = []
    for each in chain:
        end = start + each.minutes
        now = [other for other in booked.values() if other.start < end and start < other.end]
        for use in each.uses:
            own = [other for other in now if any(u.resource == use.resource for u in activities[other.activity].uses)]
            used = sum(u.amount for o in own for u in activities[o.activity].uses if u.resource == use.resource)
            capacity = next(r.capacity for r in wanted.resources if r.key == use.resource)
            if used + use.amount > capacity:
                return []
        busy = {name for other in now for name in other.people}
        free = [
            person.name
            for person in reversed(wanted.people)
            if each.people and person.name not in busy and each.skill in person.skills and _works(person, start, end)
        ]
        if len(free) < each.people:
            return []
        made.append(Booking(each.key, start, end, tuple(sorted(free[: each.people]))))
        start = end
    return made


def _works(person: Person, start: int, end: int) -> bool:
    n = bisect_right([window.start for window in person.windows], start) - 1
    return n >= 0 and end <= person.windows[n].end


def goals_of(wanted: Project, bookings: tuple[Booking, ...]) -> tuple[Goal, ...]:
    """The goals as counted here; nothing is known of the bounds but that nothing is below 0."""
    by = {each.activity: each for each in bookings}
    late = sum(
        each.weight * -((each.due - by[each.key].end) // DAY)
        for each in wanted.activities
        if each.due is not None and by[each.key].end > each.due
    )
    short = sum(
        max(0, lag.wanted - by[lag.after].start + by[lag.before].end) for lag in wanted.precedences if lag.wanted
    )
    saw = [each for each in wanted.activities if any(use.resource == "table saw" for use in each.uses)]
    at_saw = {next(day.day for day in wanted.days if by[each.key].start < day.window.end) for each in saw}
    order = [each.setting for each in sorted(saw, key=lambda each: by[each.key].start)]
    again = sum(1 for n, each in enumerate(order) if n and each != order[n - 1]) + 1 - len(set(order))
    span = max(each.end for each in bookings)
    return (
        Goal("tardiness", late, 0),
        Goal("spare days", short, 0),
        Goal("saw days", len(at_saw), len(at_saw)),
        Goal("set-ups", again, 0),
        Goal("span", span, span - 300),
    )
