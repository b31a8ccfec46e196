"""Improves a schedule without making any goal worse: fewer idle gaps, and fewer changes of people."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from woodshop.schedule.goal_values import day_number, goal_values, on_saw
from woodshop.schedule.list_schedule import ListScheduler, Placed
from woodshop.schedule.prepare import Lag, Prepared, Ranges, meet

MOST_ROUNDS = 10


def tidied(prepared: Prepared, placed: Sequence[Placed]) -> list[Placed]:
    """Moves activities as early as possible, or as late in a backward project; then reduces changes of people."""
    best = list(placed)
    for _ in range(MOST_ROUNDS):
        moved = _shifted(prepared, best)
        if moved == best or moved is None or _values(prepared, moved) > _values(prepared, best):
            break
        best = moved
    return _steadied(prepared, best)


def _values(prepared: Prepared, placed: Sequence[Placed]) -> tuple[int, ...]:
    return goal_values(prepared, [start for start, _ in placed])


def _shifted(prepared: Prepared, placed: Sequence[Placed]) -> list[Placed] | None:
    """Shifts all activities in the order of their starts. Keeps the order and days at the saw, and the wanted lags."""
    lags = [
        replace(lag, least=max(lag.least, min(lag.wanted, _between(prepared, placed, lag)))) for lag in prepared.lags
    ]
    for saw in sorted(prepared.saws):
        row = sorted(on_saw(prepared, saw), key=lambda a: (placed[a][0], a))
        if prepared.capacity[saw] == 1:
            lags += [Lag(a, b, 0, None, 0) for a, b in pairwise(row)]
    kept = replace(prepared, lags=tuple(lags), starts=tuple(_kept_starts(prepared, placed)))
    if not prepared.project.is_backward:
        return ListScheduler(kept).run([start for start, _ in placed], lambda a: placed[a][1])
    ends = [start + length for (start, _), length in zip(placed, prepared.length, strict=True)]
    found = ListScheduler(kept.mirrored()).run([-end for end in ends], lambda a: placed[a][1])
    if found is None:
        return None
    return [
        (prepared.horizon - start - length, people)
        for (start, people), length in zip(found, prepared.length, strict=True)
    ]


def _kept_starts(prepared: Prepared, placed: Sequence[Placed]) -> list[Ranges]:
    """The starts allowed for each activity. Sawing stays on days with sawing, and lateness does not grow."""
    edges = [*prepared.day_starts, prepared.horizon + 1]
    sawn = {a for a, uses in enumerate(prepared.uses) if any(r in prepared.saws and amount for r, amount in uses)}
    days = sorted({day_number(prepared, placed[a][0]) for a in sawn})
    sawing = tuple((edges[d], edges[d + 1] - 1) for d in days)
    found = []
    for a, ranges in enumerate(prepared.starts):
        if a in sawn:
            ranges = meet(ranges, sawing)
        due, length = prepared.due[a], prepared.length[a]
        if due is not None:
            ranges = meet(ranges, ((0, max(due - length, placed[a][0])),))
        found.append(ranges)
    return found


def _between(prepared: Prepared, placed: Sequence[Placed], lag: Lag) -> int:
    return placed[lag.after][0] - placed[lag.before][0] - prepared.length[lag.before]


def _steadied(prepared: Prepared, placed: Sequence[Placed]) -> list[Placed]:
    """A schedule with the same times, but fewer changes of people within a setting, or within a kind and lot."""
    people = [set(each) for _, each in placed]
    ends = [start + length for (start, _), length in zip(placed, prepared.length, strict=True)]
    beside: list[list[int]] = [[] for _ in placed]
    rows: dict[tuple[str, ...], list[int]] = {}
    for a, activity in enumerate(prepared.project.activities):
        if prepared.people[a]:
            key = ("setting", activity.setting) if activity.setting else (activity.kind, activity.lot)
            rows.setdefault(key, []).append(a)
    for row in rows.values():
        row.sort(key=lambda a: (placed[a][0], a))
        for a, b in pairwise(row):
            beside[a].append(b)
            beside[b].append(a)

    def is_there(p: int, a: int) -> bool:
        return any(lo <= placed[a][0] <= hi for lo, hi in prepared.starts_of[a].get(p, ()))

    def crossing(p: int, a: int) -> list[int]:
        return [b for b in busy[p] if b != a and placed[b][0] < ends[a] and ends[b] > placed[a][0]]

    def shared(a: int, own: set[int]) -> int:
        return sum(len(own & people[b]) for b in beside[a])

    busy: list[list[int]] = [[a for a in range(len(placed)) if p in people[a]] for p in range(len(prepared.windows))]
    order = sorted((a for a in range(len(placed)) if people[a]), key=lambda a: (placed[a][0], a))
    for _ in range(MOST_ROUNDS):
        changes = 0
        for a in order:
            for p in sorted(people[a]):
                for q in range(len(busy)):
                    if q in people[a] or p not in people[a] or not is_there(q, a):
                        continue
                    others = crossing(q, a)
                    if len(others) > 1:
                        continue
                    gain = shared(a, people[a] - {p} | {q}) - shared(a, people[a])
                    if others:  # the two swap
                        (b,) = others
                        if p in people[b] or not is_there(p, b) or crossing(p, b) != [a] or b in beside[a]:
                            continue
                        gain += shared(b, people[b] - {q} | {p}) - shared(b, people[b])
                    if gain <= 0:
                        continue
                    for c, old, new in ((a, p, q), *((b, q, p) for b in others)):
                        people[c] = people[c] - {old} | {new}
                        busy[old].remove(c)
                        busy[new].append(c)
                    changes += 1
        if not changes:
            break
    return [(start, tuple(sorted(own))) for (start, _), own in zip(placed, people, strict=True)]
