"""The constraint model of a project with one goal, and its solution by CP-SAT."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from woodshop.schedule.goal_values import day_number, on_saw
from woodshop.schedule.list_schedule import Placed
from woodshop.schedule.prepare import MINUTES_A_DAY, Prepared, Ranges, meet
from woodshop.schedule.values import GOALS

MOST_IN_WINDOWS = 3000
"""Activities times windows of a group up to which the model says which activity lies in which window."""


@dataclass(frozen=True, slots=True)
class GoalAnswer:
    """What the solver found: a schedule, the bound of the goal, whether it is proved, and the time used."""

    placed: list[Placed] | None
    bound: int
    is_proved: bool
    time: float


class GoalModel:
    """The model of one goal (an index into GOALS) in which earlier goals may be no worse than in `values`."""

    def __init__(
        self, prepared: Prepared, goal: int | None, values: Sequence[int], placed: list[Placed], bound: int = 0
    ) -> None:
        """`placed` is the schedule to start with. It is empty if there is none."""
        from ortools.sat.python import cp_model

        self.cp = cp_model
        self.prepared = prepared
        self.model: Any = cp_model.CpModel()
        self.placed = placed
        self.at = [start for start, _ in placed] or [0] * len(prepared.length)
        self.start: list[Any] = [self._in(ranges) for ranges in prepared.starts]
        for var, at in zip(self.start, self.at, strict=True):
            self._hint(var, at)
        self.length = prepared.length
        self.interval = [
            self.model.new_fixed_size_interval_var(start, length, "")
            for start, length in zip(self.start, prepared.length, strict=True)
        ]
        self._add_people()
        self._add_resources()
        for lag in prepared.lags:
            between = self.start[lag.after] - self.start[lag.before] - self.length[lag.before]
            self.model.add(between >= lag.least)
            if lag.most is not None:
                self.model.add(between <= lag.most)
        self.goal = goal
        if goal is not None:
            makers = (self._tardiness, self._shortfall, self._saw_days, self._set_ups, self._span)
            for number in range(goal):
                self.model.add(makers[number]() <= self._in_units(number, values[number]))
            aim = makers[goal]()
            self.model.add(aim <= self._in_units(goal, values[goal]))
            self.model.add(aim >= -(-bound // self._size(goal)))
            self.model.minimize(aim)

    def _size(self, goal: int) -> int:
        """How much the value of a goal changes when its variable in the model changes by one."""
        return self.prepared.unit if GOALS[goal] in ("spare days", "span") else 1

    def _in_units(self, goal: int, value: int) -> int:
        return value // self._size(goal)

    def _in(self, ranges: Ranges) -> Any:
        return self.model.new_int_var_from_domain(self.cp.Domain.from_intervals([list(each) for each in ranges]), "")

    def _hint(self, var: Any, value: int) -> None:
        if self.placed:
            self.model.add_hint(var, value)

    def _flag(self, value: bool) -> Any:
        flag = self.model.new_bool_var("")
        self._hint(flag, int(value))
        return flag

    def _number(self, least: int, most: int, value: int) -> Any:
        number = self.model.new_int_var(least, most, "")
        self._hint(number, value)
        return number

    def _within(self, start: Any, ranges: Ranges, flag: Any) -> None:
        domain = self.cp.Domain.from_intervals([list(each) for each in ranges])
        self.model.add_linear_expression_in_domain(start, domain).only_enforce_if(flag)

    def _add_people(self) -> None:
        """People with the same skills and hours form one group. The model counts how many of a group are at work."""
        own = self.prepared
        groups: dict[tuple[Any, ...], list[int]] = {}
        for p, each in enumerate(own.project.people):
            groups.setdefault((tuple(sorted(each.skills)), own.windows[p]), []).append(p)
        self.groups = list(groups.values())
        self.before: dict[tuple[int, int], Any] = {}
        self.of_group: dict[tuple[int, int], Any] = {}
        work: list[list[tuple[Any, Any]]] = [[] for _ in self.groups]
        self.able_of: dict[int, list[int]] = {}
        for a, wanted in enumerate(own.people):
            if not wanted:
                continue
            able = [g for g, members in enumerate(self.groups) if members[0] in own.starts_of[a]]
            self.able_of[a] = able
            if len(able) == 1:
                self.of_group[a, able[0]] = wanted
                work[able[0]].append((self.interval[a], wanted))
                continue
            amounts = []
            for g in able:
                members = self.groups[g]
                ranges = own.starts_of[a][members[0]]
                there = len(set(members) & {*self.placed[a][1]}) if self.placed else 0
                flags: list[Any] = []
                for count in range(1, min(wanted, len(members)) + 1):
                    flag = self._flag(there >= count)
                    if flags:
                        self.model.add_implication(flag, flags[-1])
                    elif ranges != own.starts[a] and meet(ranges, own.starts[a]) != own.starts[a]:
                        self._within(self.start[a], ranges, flag)
                    flags.append(flag)
                    work[g].append(
                        (self.model.new_optional_fixed_size_interval_var(self.start[a], self.length[a], flag, ""), 1)
                    )
                self.of_group[a, g] = sum(flags)
                amounts.extend(flags)
            self.model.add(sum(amounts) == wanted)
        for g, (members, rows) in enumerate(zip(self.groups, work, strict=True)):
            self._at_once(rows, len(members))
            self._fill_windows(members, [a for a in range(len(own.people)) if self.able_of.get(a) == [g]])
        everybody = [(self.interval[a], wanted) for a, wanted in enumerate(own.people) if wanted]
        if len(self.groups) > 1:
            self._at_once(everybody, len(own.project.people))

    def _fill_windows(self, members: Sequence[int], activities: Sequence[int]) -> None:
        """Assigns each activity that only this group can do to one of its windows, and limits the work in each window.

        The starts imply these constraints, but adding them lets the solver prove better bounds.
        """
        own = self.prepared
        windows = own.windows[members[0]]
        if not 1 < len(activities) * len(windows) <= MOST_IN_WINDOWS:
            return
        load: list[list[Any]] = [[] for _ in windows]
        number: dict[int, Any] = {}
        for a in activities:
            flags = []
            for w, (lo, hi) in enumerate(windows):
                ranges = meet(own.starts[a], ((lo, hi - own.length[a]),)) if hi - lo >= own.length[a] else ()
                if ranges:
                    flag = self._flag(lo <= self.at[a] < hi)
                    self._within(self.start[a], ranges, flag)
                    load[w].append(own.length[a] * own.people[a] * flag)
                    flags.append((w, flag))
            self.model.add_exactly_one([flag for _, flag in flags])
            number[a] = sum(w * flag for w, flag in flags)
        for (lo, hi), rows in zip(windows, load, strict=True):
            self.model.add(sum(rows, self._zero()) <= len(members) * (hi - lo))
        for lag in own.lags:
            if lag.least >= 0 and lag.before in number and lag.after in number:
                self.model.add(number[lag.before] <= number[lag.after])

    def _at_once(self, rows: Sequence[tuple[Any, int]], capacity: int) -> None:
        if sum(amount for _, amount in rows) <= capacity:
            return
        if all(2 * amount > capacity for _, amount in rows):
            self.model.add_no_overlap([interval for interval, _ in rows])
        else:
            self.model.add_cumulative([interval for interval, _ in rows], [amount for _, amount in rows], capacity)

    def _add_resources(self) -> None:
        for r, capacity in enumerate(self.prepared.capacity):
            rows = [
                (self.interval[a], amount)
                for a, uses in enumerate(self.prepared.uses)
                for used, amount in uses
                if used == r and amount
            ]
            self._at_once(rows, capacity)

    def _tardiness(self) -> Any:
        own, terms = self.prepared, []
        day = MINUTES_A_DAY // own.unit
        for a, due in enumerate(own.due):
            if due is None:
                continue
            latest = own.starts[a][-1][1] + self.length[a]
            most = max(0, -(-(latest - due) // day))
            if most:
                late = self._number(0, most, max(0, -(-(self.at[a] + self.length[a] - due) // day)))
                self.model.add(day * late >= self.start[a] + self.length[a] - due)
                terms.append(own.project.activities[a].weight * late)
        return sum(terms, self._zero())

    def _zero(self) -> Any:
        return self.model.new_constant(0)

    def _shortfall(self) -> Any:
        terms = []
        for lag in self.prepared.lags:
            if lag.wanted > lag.least:
                between = self.at[lag.after] - self.at[lag.before] - self.length[lag.before]
                short = self._number(0, lag.wanted - lag.least, max(0, lag.wanted - between))
                between = self.start[lag.after] - self.start[lag.before] - self.length[lag.before]
                self.model.add(short >= lag.wanted - between)
                terms.append(short)
        return sum(terms, self._zero())

    def _saw_days(self) -> Any:
        own = self.prepared
        edges = [*own.day_starts, own.horizon + 1]
        sawn = [a for a, uses in enumerate(own.uses) if any(r in own.saws and amount for r, amount in uses)]
        on_day: dict[int, list[tuple[int, Any]]] = {}
        for a in sawn:
            flags = []
            for d, (start, end) in enumerate(pairwise(edges)):
                ranges = meet(own.starts[a], ((start, end - 1),))
                if ranges:
                    flag = self._flag(day_number(own, self.at[a]) == d)
                    self._within(self.start[a], ranges, flag)
                    flags.append(flag)
                    on_day.setdefault(d, []).append((a, flag))
            self.model.add_exactly_one(flags)
        used = []
        for d, rows in sorted(on_day.items()):
            of_day = {a for a, _ in rows}
            flag = self._flag(any(day_number(own, self.at[a]) == d for a in of_day))
            used.append(flag)
            for _, each in rows:
                self.model.add_implication(each, flag)
            for saw in sorted(own.saws):
                room = self._minutes_at_saw(saw, d, [a for a, _ in rows])
                load = sum(self.length[a] * amount * each for a, each in rows for r, amount in own.uses[a] if r == saw)
                self.model.add(load <= room * flag)
        return sum(used, self._zero())

    def _minutes_at_saw(self, saw: int, day: int, activities: Sequence[int]) -> int:
        """The maximum time at a saw on one day: its capacity times the hours of the people who can use it."""
        own = self.prepared
        start = own.day_starts[day]
        end = own.day_starts[day + 1] if day + 1 < len(own.day_starts) else own.horizon
        able = {p for a in activities for p in own.starts_of[a]}
        if any(not own.people[a] for a in activities):
            return own.horizon * own.capacity[saw]
        windows = sorted(each for p in able for each in own.windows[p] if each[0] < end and each[1] > start)
        minutes, until = 0, -1
        for lo, hi in windows:
            minutes += max(0, hi - max(lo, until))
            until = max(until, hi)
        return minutes * own.capacity[saw]

    def _set_ups(self) -> Any:
        """The number of times that a setting is set up again after another setting was used in between."""
        own, terms = self.prepared, []
        for saw in sorted(own.saws):
            rows = on_saw(own, saw)
            of_setting: dict[str, list[int]] = {}
            for a in rows:
                of_setting.setdefault(own.project.activities[a].setting, []).append(a)
            after = follows(own)
            gaps = []
            for members in of_setting.values():
                outgoing: dict[int, list[Any]] = {a: [] for a in members}
                incoming: dict[int, list[Any]] = {a: [] for a in members}
                kept = []
                for a in members:
                    for b in members:
                        if a == b or a in after[b] or any(m in after[a] and b in after[m] for m in members):
                            continue
                        flag = self._flag(_is_next(self.at, rows, a, b))
                        if own.capacity[saw] == 1:
                            gaps.append(self._gap(a, b, flag))
                        else:
                            self._put_none_between(rows, a, b, flag)
                        outgoing[a].append(flag)
                        incoming[b].append(flag)
                        kept.append(flag)
                for flags in (*outgoing.values(), *incoming.values()):
                    if len(flags) > 1:
                        self.model.add_at_most_one(flags)
                if len(members) > 1:
                    terms.append(len(members) - 1 - sum(kept))
            if gaps:
                self.model.add_no_overlap([*(self.interval[a] for a in rows), *gaps])
        return sum(terms, self._zero())

    def _gap(self, a: int, b: int, flag: Any) -> Any:
        """The time from the end of one activity to the start of another, as an interval variable."""
        end = self.start[a] + self.length[a]
        most = max(0, self.prepared.starts[b][-1][1])
        size = self._number(0, most, max(0, self.at[b] - self.at[a] - self.length[a]))
        return self.model.new_optional_interval_var(end, size, self.start[b], flag, "")

    def _put_none_between(self, rows: Sequence[int], a: int, b: int, flag: Any) -> None:
        """If the flag is true, every other activity starts before `a` or after `b`. Equal starts are ordered by key."""
        self.model.add_implication(flag, self._is_before(a, b))
        for m in rows:
            if m not in (a, b):
                self.model.add_bool_or([flag.negated(), self._is_before(m, a), self._is_before(b, m)])

    def _is_before(self, a: int, b: int) -> Any:
        """A flag that is true only if `a` starts before `b`, or at the same time and has the smaller key."""
        if (a, b) not in self.before:
            activities = self.prepared.project.activities
            apart = int(activities[a].key > activities[b].key)
            self.before[a, b] = self._flag(self.at[a] + apart <= self.at[b])
            self.model.add(self.start[a] + apart <= self.start[b]).only_enforce_if(self.before[a, b])
        return self.before[a, b]

    def _span(self) -> Any:
        own = self.prepared
        if own.project.is_backward:
            worked = [a for a, people in enumerate(own.people) if people]
            if not worked:
                return self._zero()
            span = self._number(0, own.horizon, own.horizon - min(self.at[a] for a in worked))
            for a in worked:
                self.model.add(span >= own.horizon - self.start[a])
            return span
        if not own.length:
            return self._zero()
        span = self._number(0, own.horizon, max(at + length for at, length in zip(self.at, self.length, strict=True)))
        for start, length in zip(self.start, self.length, strict=True):
            self.model.add(span >= start + length)
        return span

    def run(self, time: float, *, from_below: bool = False) -> GoalAnswer:
        """Solves the model within `time` units of deterministic time.

        If `from_below` is true, the solver raises the bound until a schedule fits. That often proves that the schedule
        is already the best, but seldom finds a better one.
        """
        solver = self.cp.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        solver.parameters.max_deterministic_time = time
        solver.parameters.interleave_search = not from_below
        solver.parameters.optimize_with_core = from_below
        solver.parameters.cp_model_probing_level = 0
        status = solver.solve(self.model)
        spent = solver.response_proto.deterministic_time
        if status == self.cp.INFEASIBLE:
            return GoalAnswer(None, 0, True, spent)
        bound = 0
        if self.goal is not None:
            bound = -int(-(solver.best_objective_bound - 1e-6) // 1) * self._size(self.goal)
        if status not in (self.cp.OPTIMAL, self.cp.FEASIBLE):
            return GoalAnswer(None, bound, False, spent)
        starts = [solver.value(var) for var in self.start]
        return GoalAnswer(self._staffed(solver, starts), bound, status == self.cp.OPTIMAL, spent)

    def _staffed(self, solver: Any, starts: Sequence[int]) -> list[Placed]:
        """Assigns the people of each group to activities, in order of starts."""
        own = self.prepared
        people: list[list[int]] = [[] for _ in starts]
        for g, members in enumerate(self.groups):
            until = dict.fromkeys(members, 0)
            rows = []
            for a in range(len(starts)):
                amount = self.of_group.get((a, g), 0)
                count = amount if isinstance(amount, int) else solver.value(amount)
                if count:
                    rows.append((starts[a], a, count))
            for start, a, count in sorted(rows):
                free = [p for p in members if until[p] <= start]
                for p in free[:count]:
                    until[p] = start + own.length[a]
                    people[a].append(p)
        return [(start, tuple(sorted(own_people))) for start, own_people in zip(starts, people, strict=True)]


def _is_next(at: Sequence[int], rows: Sequence[int], a: int, b: int) -> bool:
    """Whether `b` starts after `a`, and no other activity with a saw setting starts between them."""
    return at[a] < at[b] and not any(at[a] < at[m] < at[b] for m in rows)


def follows(own: Prepared) -> list[set[int]]:
    """For each activity, the activities that must come after its end."""
    after: list[set[int]] = [set() for _ in own.length]
    for lag in own.lags:
        if lag.least >= 0:
            after[lag.before].add(lag.after)
    found: list[set[int]] = []
    for a in range(len(own.length)):
        reached, open_ = set(), [a]
        while open_:
            for b in after[open_.pop()]:
                if b not in reached:
                    reached.add(b)
                    open_.append(b)
        found.append(reached)
    return found
