"""Schedules of two invented batches: a production run of some 300 activities, and a hobby batch of some 60.

`python tests/bench/bench_schedule.py [--smoke] [--effort quick|default|long]`

The production run: six orders with due days, three people on evenings and Saturdays, one saw with chains of settings by
material, drying boards on tables, two people to load. The hobby batch: one person on weekends, forward and backward.
For each goal its value and its lower bound. `--smoke` does two orders, with the quick effort.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from random import Random
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
DAY = 1440
FIRST = date(2026, 8, 31)  # a Monday
DRYING, SPARE = 5 * DAY, 2 * DAY


def windows(
    days: int, weekday: tuple[tuple[int, int], ...], saturday: tuple[tuple[int, int], ...], sunday: bool
) -> Any:
    """Hours of work on each day of the week, in minutes of the project."""
    from woodshop.schedule.values import Window

    found = []
    for n in range(days):
        hours = weekday if n % 7 < 5 else saturday if n % 7 == 5 or sunday else ()
        found += [Window(n * DAY + start, n * DAY + end) for start, end in hours]
    return tuple(found)


def project(orders: int, chains: tuple[int, ...], lots: int, *, hobby: bool, backward: bool, weeks: int) -> Any:
    """An invented project; `chains` are the settings of each material, `lots` the lots of boards of an order."""
    from woodshop.schedule.values import (
        Activity,
        CalendarDay,
        Person,
        Precedence,
        Project,
        Resource,
        ResourceUse,
        Window,
    )

    draw = Random(1)
    days = weeks * 7
    saturday = ((540, 720), (780, 1020))
    evenings = ((1080, 1260),)
    if hobby:
        people = [("Ann", "saw drill metal assemble paint pack load fit", windows(days, (), saturday, True))]
    else:
        people = [
            ("Ann", "saw drill assemble pack load", windows(days, evenings, saturday, False)),
            ("Ben", "saw metal assemble pack load", windows(days, evenings, saturday, False)),
            ("Cleo", "metal assemble paint pack", windows(days, ((1110, 1260),), ((540, 720),), False)),
        ]
    resources = (
        Resource(key="saw", what="table saw", capacity=1, is_saw=True),
        Resource(key="drill", what="drill press", capacity=1),
        Resource(key="clamps", what="clamps", capacity=4),
        Resource(key="places", what="places on tables", capacity=48 if hobby else 144),
        Resource(key="car", what="car", capacity=1),
    )
    activities: list[Activity] = []
    lags: list[Precedence] = []

    def add(key: str, kind: str, minutes: int, skill: str, after: list[str], **rest: Any) -> str:
        uses = tuple(ResourceUse(*each) for each in rest.pop("uses", ()))
        activities.append(Activity(key=key, what=key, kind=kind, minutes=minutes, skill=skill, uses=uses, **rest))
        lags.extend(Precedence(before=each, after=key) for each in after)
        return key

    last = []
    for material, settings in enumerate(chains):
        before: list[str] = [add(f"buy {material}", "buy", 90, "", [], uses=[("car", 1)])]
        for setting in range(settings):
            chunks = 1 if draw.random() < 0.7 else 2
            for chunk in range(chunks):
                minutes = 5 * draw.randrange(4, 13) if chunks == 1 else 90
                key = f"saw {material}-{setting}-{chunk}"
                name = f"{material}-{setting}"
                before = [add(key, "saw", minutes, "saw", before, uses=[("saw", 1)], setting=name)]
        last.append(before[0])
    for order in range(orders):
        lot = f"order {order + 1}"
        half = sorted({*draw.sample(last, min(2, len(last)))})
        drilled = add(f"drill {order}", "drill", 45, "drill", half, uses=[("drill", 1)], lot=lot)
        stacked = []
        for n in range(lots):
            metal = add(f"metal {order}-{n}", "metal", 5 * draw.randrange(8, 16), "metal", [], lot=lot)
            glued = add(
                f"assemble {order}-{n}", "assemble", 5 * draw.randrange(12, 24), "assemble", [drilled, metal],
                uses=[("clamps", 2)], lot=lot,
            )  # fmt: skip
            pack = add(
                f"pack {order}-{n}", "pack", 5 * draw.randrange(10, 20), "pack", [glued], uses=[("places", 12)], lot=lot
            )
            dry = add(f"dry {order}-{n}", "dry", DRYING, "", [], people=0, uses=[("places", 12)], lot=lot)
            lags.append(Precedence(before=pack, after=dry, most=0))
            stacked.append(add(f"stack {order}-{n}", "stack", 15, "pack", [dry], lot=lot))
        due = (7 * 7 + 6 + (0 if hobby else 7 * order // 2)) * DAY
        load = add(
            f"load {order}", "load", 30, "load", [], people=1 if hobby else 2, uses=[("car", 1)], lot=lot, due=due,
            weight=1 + order % 3,
        )  # fmt: skip
        lags.extend(Precedence(before=each, after=load, wanted=SPARE) for each in stacked)
        if not hobby:
            add(f"deliver {order}", "deliver", 90, "load", [load], uses=[("car", 1)], lot=lot, due=due)
    return Project(
        name="hobby" if hobby else "production",
        zone="",
        days=tuple(CalendarDay(FIRST + timedelta(n), Window(n * DAY, n * DAY + DAY)) for n in range(days)),
        people=tuple(Person(name=name, skills=frozenset(skills.split()), windows=own) for name, skills, own in people),
        resources=resources,
        activities=tuple(activities),
        precedences=tuple(lags),
        is_backward=backward,
    )


def cases(smoke: bool) -> Iterator[tuple[str, Any]]:
    """Names and projects."""
    if smoke:
        yield "small run", project(2, (6, 5), 2, hobby=False, backward=False, weeks=8)
        return
    yield "hobby batch forward", project(2, (9, 7), 5, hobby=True, backward=False, weeks=8)
    yield "hobby batch backward", project(2, (9, 7), 5, hobby=True, backward=True, weeks=8)
    yield "production run forward", project(6, (25, 20, 18), 8, hobby=False, backward=False, weeks=12)
    yield "production run backward", project(6, (25, 20, 18), 8, hobby=False, backward=True, weeks=12)


def run(words: list[str]) -> Iterator[str]:
    """One line for each project, and one for each goal."""
    from woodshop.schedule.solve import solve

    smoke = "--smoke" in words
    effort: Any = "quick" if smoke else "default"
    if "--effort" in words:
        effort = words[words.index("--effort") + 1]
    for name, given in cases(smoke):
        clock, spent = time.perf_counter(), time.process_time()
        found = solve(given, effort=effort, say=lambda line: print(f"    {line}", flush=True))
        seconds, spent = time.perf_counter() - clock, time.process_time() - spent
        yield f"{name}, {len(given.activities)} activities, {len(given.people)} people: {seconds:.1f} s ({spent:.1f})"
        for goal in found.goals:
            yield f"  {goal.name:12} {goal.value:7,}  lower bound {goal.bound:7,}{'  proved' if goal.is_proved else ''}"


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    for line in run(sys.argv[1:]):
        print(line, flush=True)
