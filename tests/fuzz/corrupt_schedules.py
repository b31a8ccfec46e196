"""Random corruptions of schedule files: `python -m tests.fuzz.corrupt_schedules 5000` prints what was let through.

Each case changes one place of a schedule file. As it is, its digest refuses it. With a digest written anew, the replay
of the bookings refuses it, unless the place is in HARMLESS: then the bookings still keep all that the file asks.
"""

import json
import random
import re
import sys
from collections import Counter
from datetime import UTC, datetime
from typing import Any

from tests.fuzz.corrupt_plans import CHANGES, places, same_in_another_order, sealed
from tests.schedule.small_projects import small
from woodshop.errors import InputError
from woodshop.plan.verify import digest_of
from woodshop.schedule.schedule_json import CancelledEvent, WrittenSchedule, schedule_to_json, verify_schedule_file

HARMLESS = {
    r"made_with(/.*)?|number|plan|made_on|cancelled(/.*)?": "versions, a digest, and the calendar's numbers",
    r"project/(name|is_backward)": "a name, and a direction that comes to the same span",
    r"project/people/\d+/(skills|windows)(/.*)?": "skills and hours that still hold all bookings",
    r"project/resources/\d+/(what|capacity|windows|is_saw)(/.*)?": "means that are still enough",
    r"project/resources(/\d+(/key)?)?": "means that nothing uses",
    r"project/activities/\d+/(what|kind|lot|steps(/.*)?)": "words",
    r"project/activities/\d+/(skill|uses(/.*)?|earliest|due|weight)": "a requirement that the bookings keep as well",
    r"project/activities/\d+/setting": "a name of a setting that comes to the same set-ups",
    r"project/precedences(/.*)?": "an order or lag that the bookings keep as well",
    r"goals/\d+/bound": "the solver's word, which no replay can count; from 0 to the value",
}
"""Where a change may pass once the digest is written anew, and why."""


def schedule_file() -> dict[str, Any]:
    """A schedule that replaces another one, as it is read from its file."""
    gone = CancelledEvent("0", "Drill", datetime(2026, 10, 17, 13, tzinfo=UTC), datetime(2026, 10, 17, 14, tzinfo=UTC))
    raw: dict[str, Any] = json.loads(
        json.dumps(schedule_to_json(WrittenSchedule(small(), number=1, cancelled=(gone,))))
    )
    return raw


def refused(raw: Any) -> bool:
    """Whether verify refuses a schedule file: as one that cannot be read, or with findings."""
    try:
        return any(each["findings"] for each in verify_schedule_file(json.dumps(raw)))
    except InputError:
        return True


def run(count: int, seed: int = 20261107) -> tuple[list[str], Counter[str]]:
    """The places of that many corruptions that were wrongly let through, and the harmless ones with their counts."""
    rng = random.Random(seed)
    raw = schedule_file()
    assert not refused(raw)
    everywhere, text = places(raw), json.dumps(raw)
    wrong: list[str] = []
    let: Counter[str] = Counter()
    for _ in range(count):
        depth = rng.randrange(1, 7)
        path = rng.choice([each for each in everywhere if len(each) == depth])
        made = json.loads(text)
        above = made
        for key in path[:-1]:
            above = above[key]
        rng.choice(CHANGES)(above, path[-1], rng)
        if made == raw:
            continue
        place = "/".join(map(str, path))
        if made.get("digest") == digest_of(made):
            wrong.append(f"{place}: with the old digest")
        if sealed(made) != raw and not refused(sealed(made)):
            if same_in_another_order(made, raw):
                let[f"{place.split('/')[0]}, another order"] += 1
            elif harmless(place):
                let[re.sub(r"/\d+", "/n", place)] += 1
            else:
                wrong.append(f"{place}: with a digest written anew")
    return wrong, let


def harmless(place: str) -> str:
    """Why a change there may pass once the digest is written anew; "" where it may not."""
    return next((why for pattern, why in HARMLESS.items() if re.fullmatch(pattern, place)), "")


if __name__ == "__main__":
    faults, passed = run(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
    for name, times in sorted(passed.items()):
        print(f"harmless {times:5} {name}: {harmless(name.replace('/n', '/0')) or 'the same'}")
    for fault in faults:
        print(f"LET THROUGH {fault}")
    sys.exit(1 if faults else 0)
