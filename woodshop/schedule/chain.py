"""The chain of activities that decides when a schedule ends, or how late it can begin."""

from collections.abc import Iterator

from woodshop.schedule.values import Booking, Schedule


def deciding_chain(schedule: Schedule) -> tuple[str, ...]:
    """The keys of the activities in the chain, in chronological order. It is empty if nothing is booked.

    The chain ends with the most overdue activity or, if nothing is late, with the last activity. Before each activity
    comes the one for which it must wait the longest, because of a lag, its people or a resource. If the project is
    backward and nothing is late, the chain starts with the first work of a person, and each activity is followed by the
    one that waits for it with the least slack.
    """
    if not schedule.bookings:
        return ()
    booked = {each.activity: each for each in schedule.bookings}
    late = {
        each.key: booked[each.key].end - each.due
        for each in schedule.project.activities
        if each.due is not None and booked[each.key].end > each.due
    }
    waits = _waits(schedule, booked)
    if schedule.project.is_backward and not late:
        return _followed(booked, waits)
    last = max(schedule.bookings, key=lambda each: (late.get(each.activity, 0), each.end, each.activity)).activity
    chain = [last]
    while True:
        before = [(ready, booked[one].start, one) for one, other, ready in waits if other == chain[0]]
        if not before:
            return tuple(chain)
        chain.insert(0, max(before)[2])


def _followed(booked: dict[str, Booking], waits: list[tuple[str, str, int]]) -> tuple[str, ...]:
    first = min(booked.values(), key=lambda each: (not each.people, each.start, each.activity)).activity
    chain = [first]
    while True:
        slack = [
            (booked[other].start - ready, booked[other].start, other) for one, other, ready in waits if one == chain[-1]
        ]
        if not slack:
            return tuple(chain)
        chain.append(min(slack)[2])


def _waits(schedule: Schedule, booked: dict[str, Booking]) -> list[tuple[str, str, int]]:
    """Each activity, an activity that waits for it, and the minute from which the waiting activity can start."""
    found = [
        (each.before, each.after, booked[each.before].end + each.least)
        for each in schedule.project.precedences
        if booked[each.before].end + each.least <= booked[each.after].start
    ]
    for own in _users(schedule):
        for n, one in enumerate(own):
            after = [other for other in own[n + 1 :] if other.start >= one.end]
            first = min((other.start for other in after), default=0)
            found += [(one.activity, other.activity, one.end) for other in after if other.start == first]
    return [each for each in dict.fromkeys(found) if booked[each[0]].end > booked[each[0]].start]


def _users(schedule: Schedule) -> Iterator[list[Booking]]:
    """The bookings of each person, then the bookings of each resource, in order."""
    activities = {each.key: each for each in schedule.project.activities}
    for person in schedule.project.people:
        yield [each for each in schedule.bookings if person.name in each.people]
    for resource in schedule.project.resources:
        yield [
            each
            for each in schedule.bookings
            if any(use.resource == resource.key for use in activities[each.activity].uses)
        ]
