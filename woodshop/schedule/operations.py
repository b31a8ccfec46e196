"""Turns the stages of a batch into a project: activities short enough for one shift, their order, and the crew's people
and equipment. Minutes are exact until they go into an activity; then they are rounded up to a multiple of 5."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import ceil

from woodshop.design.settings.crew import Crew
from woodshop.design.settings.crew_table import clock_text
from woodshop.design.settings.times import ALL_BY_KEY
from woodshop.errors import InputError, Problem
from woodshop.plan.cost import split
from woodshop.plan.values import PlannedBatch
from woodshop.plan.work.weights import weight_of
from woodshop.reference.facts import fact
from woodshop.schedule.calendar import minute_at, work_windows
from woodshop.schedule.stage_values import After, Counted, Lot, Op, Stage, minutes_of
from woodshop.schedule.stages import stages_of
from woodshop.schedule.values import (
    Activity,
    CalendarDay,
    Person,
    Precedence,
    Project,
    Resource,
    ResourceUse,
    Step,
    Window,
)
from woodshop.shape.part import Role
from woodshop.units.lengths import ZERO, Mass

STEP = 5  # minutes: work is rounded up to a multiple of this
MOST_MINUTES = 120  # of an activity; common practice, no source
MOST_TRIP = 240  # a trip is not interrupted
KINDS = {
    "buy": "Buy",
    "run": "Set up the shop",
    "resaw": "Resaw and plane",
    "saw": "Saw",
    "machine": "Machine",
    "drill": "Drill",
    "metal": "Mesh, cloth and sheet",
    "assemble": "Assemble",
    "staple": "Staple mesh and cloth",
    "measure": "First article",
    "clamp": "In clamps",
    "paint": "Paint",
    "fill": "Fill with shavings",
    "pack": "Mix and pack",
    "dry": "Dry",
    "wrap": "Label and wrap",
    "fit": "Put on the hives",
    "hand over": "Hand over",
}
TOPICS = {
    "saw": ("table saw", "narrow rip", "crosscut"),
    "machine": ("rabbet and groove", "table saw"),
    "drill": ("drilling",),
    "metal": ("mesh", "sheet metal", "knife work"),
    "staple": ("staples",),
    "pack": ("food", "lifting"),
    "fit": ("lifting",),
    "hand over": ("lifting",),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class StagePart:
    """A part of a stage that becomes one activity: its share of the lot, its operations, and its exact minutes.

    `first` and `last` are the numbers of its things, counted from 1. `wait` is the minutes that its people wait.
    """

    low: Fraction
    high: Fraction
    ops: tuple[Op, ...]
    minutes: Fraction
    first: int = 1
    last: int = 1
    setting: str = ""
    wait: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Means:
    """What the crew can carry, lift and dry: the hives served by one trip to each lot, the places for boards to dry,
    the lots with boards that two people lift, and the lots with things for one hive that exceed the car's load."""

    trip: Mapping[str, int]
    places: int
    heavy: frozenset[str]
    too_heavy: frozenset[str]


def means_of(planned: PlannedBatch, lots: Sequence[Lot]) -> Means:
    """What the crew can carry, lift and dry. Raises InputError if the tables are too small for a board."""
    crew, alone = planned.batch.crew, fact("crew.lift_alone").mass_in(planned.batch.unit)
    made: dict[str, Mass] = {}
    for unit in planned.units:
        if unit.line.item.is_per_hive:
            own = weight_of(unit.assembly.with_role(Role.MADE))[0]
            made[unit.line.hives.name] = made.get(unit.line.hives.name, Mass(Fraction(0))) + own
    damp = {unit.line.hives.name: unit.line.setting.damp for unit in planned.units}
    trip, heavy, too_heavy = {}, set(), set()
    for lot in lots:
        weights = [made.get(h.name, Mass(Fraction(0))) + (damp[h.name] if h.to_pack else Mass(Fraction(0)))
                   for h in lot.groups if h.name in damp]  # fmt: skip
        heaviest = max(weights, default=Mass(Fraction(0)))
        most = max(1, int(crew.car_load / heaviest)) if heaviest.grams else max(1, lot.hives)
        trip[lot.name] = min(most, crew.car_boards or most)
        if lot.boards and heaviest > alone:
            heavy.add(lot.name)
        if heaviest > crew.car_load:
            too_heavy.add(lot.name)
    return Means(trip, places_of(planned, lots), frozenset(heavy), frozenset(too_heavy))


def places_of(planned: PlannedBatch, lots: Sequence[Lot]) -> int:
    """The number of boards that can dry at once: as many of the largest as fit on the tables, with backing boards."""
    crew, names = planned.batch.crew, {hives.name for lot in lots if lot.boards for hives in lot.groups}
    outsides = [unit.line.setting.outside for unit in planned.units if unit.line.hives.name in names]
    if not outsides:
        return 0
    long = max((o.x1 - o.x0 for o in outsides), default=ZERO)
    wide = max((o.y1 - o.y0 for o in outsides), default=ZERO)
    (a, b), say = crew.table, planned.batch.wording.length
    on_one = max((a // long) * (b // wide), (a // wide) * (b // long))
    if not on_one:
        given = f"a table {say(a)} x {say(b)} for a board {say(long)} x {say(wide)}"
        wanted = "a table on which a board lies flat"
        raise InputError(Problem("crew, table_length", given, wanted, "Give a larger table."))
    return min(crew.tables * on_one, crew.backing_boards or crew.tables * on_one)


class Builder:
    """Builds a project from stages. `longest` is the longest work in each skill that fits someone's hours."""

    def __init__(self, planned: PlannedBatch, stages: Sequence[Stage], lots: Sequence[Lot]) -> None:
        self.planned, self.batch = planned, planned.batch
        self.lots = {lot.name: lot for lot in lots}
        self.means = means_of(planned, lots)
        self.stages = {stage.key: stage for stage in stages}
        skills = dict.fromkeys(stage.skill for stage in stages if stage.skill and not stage.is_empty)
        self.longest = {skill: longest_of(self.batch.crew, skill) for skill in skills}
        self._parts: dict[str, list[StagePart]] = {}

    def with_crew(self, crew: Crew) -> "Builder":
        """The same work, as far as it is not done, for another crew."""
        planned = replace(self.planned, batch=replace(self.batch, crew=crew))
        stages, lots = stages_of(planned)
        done = {key: (stage.done, stage.resting) for key, stage in self.stages.items()}
        none = (Fraction(0), ())
        own = [replace(s, done=done.get(s.key, none)[0], resting=done.get(s.key, none)[1]) for s in stages]
        return Builder(planned, own, lots)

    def count(self) -> int:
        """About the number of activities, without making them."""
        return sum(self._number(stage) for stage in self.stages.values() if not stage.is_empty)

    def _limit(self, stage: Stage) -> int:
        most = MOST_TRIP if stage.each else MOST_MINUTES
        return max(STEP, min(most, self.longest.get(stage.skill, most)) // STEP * STEP)

    def _number(self, stage: Stage) -> int:
        if stage.rest is not None:
            return self._number(self.stages[stage.after[0].stage])
        if len(stage.blocks) > 1:
            return ceil(sum(minutes_of(b.ops, self.batch) for b in stage.blocks) / self._limit(stage))
        total, extra = minutes_of(stage.blocks[0].ops, self.batch), minutes_of(stage.each, self.batch)
        setups = sum((minutes_of([op], self.batch) for op in stage.blocks[0].ops if op.table == "setup"), Fraction(0))
        room, each = max(self._limit(stage) - extra - setups, Fraction(STEP)), (total - setups) / stage.units
        least = [ceil(Fraction(stage.units, max(1, int(room / each))))] if each else [1]
        if "places" in stage.uses and self.means.places:
            half = ceil(Fraction(self.means.places, 2))  # parts of half the tables fill them better than larger ones
            least.append(ceil(Fraction(stage.units, half)))
        if stage.each:
            least.append(ceil(Fraction(stage.units, self.means.trip[stage.lot])))
        return max(1, min(max(least), stage.units))

    def parts(self, stage: Stage) -> list[StagePart]:
        """The parts of a stage. The list is empty if the stage is empty."""
        if stage.key not in self._parts:
            self._parts[stage.key] = [] if stage.is_empty else list(self._divided(stage))
        return self._parts[stage.key]

    def _divided(self, stage: Stage) -> Iterator[StagePart]:
        if stage.rest is not None:
            for part in self.parts(self.stages[stage.after[0].stage]):
                yield replace(part, ops=(), minutes=Fraction(stage.rest), setting="", wait=Fraction(0))
            return
        if len(stage.blocks) > 1 or stage.kind == "saw":
            yield from self._chained(stage)
            return
        block, number = stage.blocks[0], self._number(stage)
        for n in range(number):
            first, last = n * stage.units // number, (n + 1) * stage.units // number
            low, high = Fraction(first, stage.units), Fraction(last, stage.units)
            ops = [op if op.table == "setup" else replace(op, count=op.count * (high - low))
                   for op in block.ops if op.table != "setup" or not n]  # fmt: skip
            whole = (*ops[:1], *stage.each, *ops[1:])  # a trip is driven when the car is loaded
            minutes = minutes_of(whole, self.batch)
            wait = self._wait(stage, last - first, minutes)
            yield StagePart(
                low=low, high=high, ops=whole, minutes=minutes + wait, first=first + 1, last=last, wait=wait,
                setting=block.setting if number > 1 else "",
            )  # fmt: skip

    def _wait(self, stage: Stage, frames: int, minutes: Fraction) -> Fraction:
        """The minutes to wait because no clamps are free, while frames are glued up."""
        clamps = stage.held.get("clamps", 0)
        if stage.kind != "assemble" or not clamps:
            return Fraction(0)
        return max(Fraction(0), (ceil(Fraction(frames, clamps)) - 1) * self.batch.crew.clamp_minutes - minutes)

    def _chained(self, stage: Stage) -> Iterator[StagePart]:
        """Blocks in order: short ones joined into one part, long ones divided into parts of one setting."""
        limit = Fraction(self._limit(stage))
        pieces: list[tuple[tuple[Op, ...], str]] = []
        joined: list[Op] = []
        for block in stage.blocks:
            minutes = minutes_of(block.ops, self.batch)
            if joined and minutes_of(joined, self.batch) + minutes > limit:
                pieces.append((tuple(joined), ""))
                joined = []
            if minutes <= limit:
                joined += block.ops
                continue
            setups = [op for op in block.ops if op.key in ("saw", "run")]
            rest = [op for op in block.ops if op not in setups]
            number = ceil(minutes_of(rest, self.batch) / (limit - minutes_of(setups, self.batch)))
            for n in range(number):
                own = _shared(rest, n, number)
                pieces.append(((*(setups if not n else ()), *own), block.setting))
        if joined:
            pieces.append((tuple(joined), ""))
        for n, (ops, setting) in enumerate(pieces):
            low, high = Fraction(n, len(pieces)), Fraction(n + 1, len(pieces))
            yield StagePart(low=low, high=high, ops=ops, minutes=minutes_of(ops, self.batch), setting=setting)

    # ---- activities --------------------------------------------------------------------------------

    def left(self, stage: Stage) -> list[tuple[int, StagePart]]:
        """The parts that are not finished, with their numbers. A part that is begun has only its remaining minutes."""
        found = []
        for n, part in enumerate(self.parts(stage), 1):
            if part.high <= stage.done:
                continue
            if stage.resting and part.high <= self.stages[stage.after[0].stage].done:
                minutes = [each.minutes for each in stage.resting if each.low < part.high and part.low < each.high]
                part = replace(part, minutes=Fraction(max(minutes, default=STEP)))
            if part.low < stage.done and stage.rest is None:
                share = (part.high - stage.done) / (part.high - part.low)
                ops = tuple(_rest_of(op, share) for op in part.ops)
                part = replace(part, ops=ops, minutes=part.minutes * share, wait=part.wait * share)
            found.append((n, part))
        return found

    def work_left(self) -> Iterator[tuple[str, str, Fraction]]:
        """The kind, the skill and the remaining minutes of work of each stage."""
        for stage in self.stages.values():
            if stage.rest is None and not stage.is_empty:
                ops = [op for block in stage.blocks for op in block.ops]
                trips = minutes_of(stage.each, self.batch) * self._number(stage)
                yield stage.kind, stage.skill, (minutes_of(ops, self.batch) + trips) * (1 - stage.done)

    def operations(self) -> Iterator[tuple[str, str]]:
        """The table and key of each operation that is done."""
        stages = [stage for stage in self.stages.values() if not stage.is_empty]
        ops = [op for stage in stages for ops in (*(b.ops for b in stage.blocks), stage.each) for op in ops if op.count]
        yield from dict.fromkeys((op.table, op.key) for op in ops)

    def activities(self, days: Sequence[CalendarDay]) -> Iterator[Activity]:
        """Every activity that is left."""
        for stage in self.stages.values():
            own = self.left(stage)
            for n, part in own:
                is_last = n == own[-1][0]
                lot = self.lots.get(stage.lot)
                due = None
                if lot is not None and lot.due is not None and is_last and stage.key == self.last_of(lot):
                    due = self._due(lot, days)
                yield Activity(
                    key=f"{stage.key}/{n}",
                    what=self._what(stage, part),
                    kind=stage.kind,
                    minutes=max(STEP, ceil(part.minutes / STEP) * STEP),
                    people=0 if stage.rest is not None else 2 if self.has_two(stage.key) else 1,
                    skill=stage.skill,
                    uses=self._uses(stage, part),
                    setting=part.setting,
                    lot=stage.lot,
                    due=due,
                    weight=1 if lot is None else lot.weight,
                    steps=self._steps(part),
                )

    def named(self, keys: Sequence[str]) -> str:
        """The activities with these keys, in words."""
        stages = (self.stages.get(key.rpartition("/")[0]) for key in keys)
        return "; ".join(dict.fromkeys(stage.what for stage in stages if stage is not None))

    def last_of(self, lot: Lot) -> str:
        """The last stage of a lot: fitting, handing over or, for the user's own unassembled kits, wrapping."""
        return next(key for kind in ("fit", "hand over", "wrap") if (key := f"{kind}/{lot.name}") in self.stages)

    def _due(self, lot: Lot, days: Sequence[CalendarDay]) -> int:
        """The minute by which a lot is due. If that day is before the calendar starts, it is minute 0, already late; if
        it is after the calendar ends, it is the end of the last day."""
        day = next((each for each in days if each.day == lot.due), None)
        if day is not None:
            return minute_at(days, self.batch.crew.zone, day, self.batch.crew.due_clock)
        assert lot.due is not None
        return 0 if lot.due < days[0].day else days[-1].window.end

    def has_two(self, key: str) -> bool:
        """Whether two people do a stage, because its boards are heavy and two people can work at once."""
        stage = self.stages.get(key)
        if stage is None or stage.kind not in ("fit", "hand over") or stage.lot not in self.means.heavy:
            return False
        return self.longest_of_two(stage.skill) >= max(part.minutes for part in self.parts(stage))

    def longest_of_two(self, skill: str) -> int:
        """The longest time in an ordinary week for which two people with a skill work at once."""
        week = week_windows(self.batch.crew, skill)
        both = [
            min(a.end, b.end) - max(a.start, b.start)
            for n, one in enumerate(week)
            for other in week[n + 1 :]
            for a in one
            for b in other
        ]
        return max(both, default=0)

    def _what(self, stage: Stage, part: StagePart) -> str:
        words = stage.what[:1].upper() + stage.what[1:]
        count = part.last - part.first + 1
        if stage.kind in ("pack", "dry"):
            return words.replace("boards", f"{count} {'boards' if count > 1 else 'board'}", 1)
        held = min(stage.held.get("clamps", count), count)
        if stage.kind == "clamp" and held < count:  # the earlier ones left the clamps while the later ones were glued
            return f"{words}, the last {held} of {Counted(part.first, part.last, stage.units, stage.noun).text}"
        if stage.noun and stage.units > 1:
            return f"{words}, {Counted(part.first, part.last, stage.units, stage.noun).text}"
        if stage.kind == "saw":
            settings = [f"{op.what}, {op.span.text}" for op in part.ops if op.span is not None]
            return f"{words}, {f'{len(settings)} settings' if len(settings) > 1 else settings[0]}"
        return words

    def _uses(self, stage: Stage, part: StagePart) -> tuple[ResourceUse, ...]:
        count = part.last - part.first + 1
        found = [ResourceUse(key, amount * count) for key, amount in stage.uses.items()]
        held = {key: min(amount, count) if key == "clamps" else amount for key, amount in stage.held.items()}
        return (*found, *(ResourceUse(key, amount) for key, amount in held.items()))

    def _steps(self, part: StagePart) -> tuple[Step, ...]:
        """The steps of an activity; their minutes add up to those of the activity."""
        if not part.ops:
            return ()
        merged: list[tuple[str, str, list[Op]]] = []
        for op in (op for op in part.ops if op.count):
            words = op.what or ALL_BY_KEY[op.table, op.key].name
            if not merged or merged[-1][:2] != (words, op.page):
                merged.append((words, op.page, []))
            merged[-1][2].append(op)
        steps = [(_step_words(words, ops), page, minutes_of(ops, self.batch)) for words, page, ops in merged]
        if part.wait:
            steps.append(("Wait for clamps", "", part.wait))
        shares = split(max(STEP, ceil(part.minutes / STEP) * STEP), [minutes for *_, minutes in steps])
        return tuple(Step(what, minutes, page) for (what, page, _), minutes in zip(steps, shares, strict=True))

    # ---- order -------------------------------------------------------------------------------------

    def precedences(self) -> Iterator[Precedence]:
        """Which activity waits for which, and how long."""
        for stage in self.stages.values():
            own = self.left(stage)
            is_chain = stage.is_chain or stage.kind == "fit"
            if is_chain:
                for (a, _), (b, _) in pairwise(own):
                    yield Precedence(before=f"{stage.key}/{a}", after=f"{stage.key}/{b}")
            for after in self._waits(stage.after):
                yield from self._links(after, stage, own[:1] if is_chain and not after.is_by_share else own)

    def _waits(self, after: Sequence[After]) -> list[After]:
        """The stages with work that come before. An empty or finished stage is replaced by the stages before it."""
        found: dict[str, After] = {}
        for each in after:
            stage = self.stages.get(each.stage)
            if stage is None:
                continue
            is_over = not self.parts(stage) or (stage.done >= 1 and not stage.lot)
            for one in self._waits(stage.after) if is_over else [each]:
                if one is not each and not each.is_by_share:
                    one = replace(one, is_by_share=False)
                known = found.get(one.stage)
                if known is not None:
                    one = replace(
                        one,
                        least=max(one.least, known.least),
                        wanted=max(one.wanted, known.wanted),
                        is_by_share=one.is_by_share and known.is_by_share,
                        is_at_once=one.is_at_once or known.is_at_once,
                    )
                found[one.stage] = one
        return list(found.values())

    def _links(self, after: After, stage: Stage, own: Sequence[tuple[int, StagePart]]) -> Iterator[Precedence]:
        before = self.stages[after.stage]
        parts = self.left(before)
        if before.is_chain and not after.is_by_share:
            parts = parts[-1:]
        for n, part in own:
            for m, other in parts:
                if not after.is_by_share or (other.low < part.high and part.low < other.high):
                    yield Precedence(
                        before=f"{before.key}/{m}",
                        after=f"{stage.key}/{n}",
                        least=after.least,
                        most=0 if after.is_at_once else None,
                        wanted=max(after.least, after.wanted),
                    )

    # ---- the whole ---------------------------------------------------------------------------------

    def project(self, days: tuple[CalendarDay, ...], *, is_backward: bool) -> Project:
        """The project over these days."""
        crew = self.batch.crew
        activities = tuple(self.activities(days))
        used = {use.resource for each in activities for use in each.uses}
        resources = (
            Resource(key="saw", what="saw", capacity=crew.saws, is_saw=True),
            Resource(key="band saw", what="band saw", capacity=crew.band_saws),
            Resource(key="planer", what="planer", capacity=crew.planers),
            Resource(key="drill", what="drill press", capacity=crew.drills),
            Resource(key="clamps", what="clamps for frames", capacity=crew.clamps),
            Resource(key="places", what="places on the tables", capacity=self.means.places),
            Resource(key="car", what="car", capacity=1),
        )
        return Project(
            name=self.batch.name,
            zone=crew.zone,
            days=days,
            people=people_of(crew, days),
            resources=tuple(each for each in resources if each.key in used),
            activities=activities,
            precedences=tuple(self.precedences()),
            is_backward=is_backward,
            outside_dues=tuple(
                (lot.name, lot.due)
                for lot in self.lots.values()
                if lot.due is not None and not days[0].day <= lot.due <= days[-1].day
            ),
        )


def _step_words(words: str, ops: Sequence[Op]) -> str:
    spans = [op.span.text for op in ops if op.span is not None]
    return ": ".join([words[:1].upper() + words[1:], *spans])


def _shared(ops: Sequence[Op], number: int, of: int) -> list[Op]:
    """The share `number`, counted from 0, of `of` shares of a setting. Only whole things are counted."""
    spans = [op.span for op in ops if op.span is not None]
    share = Fraction(1, of)
    if spans and spans[0].of >= of:
        first, last = number * spans[0].of // of, (number + 1) * spans[0].of // of
        share, span = Fraction(last - first, spans[0].of), replace(spans[0], first=first + 1, last=last)
        ops = [replace(op, span=span) if op.span is not None else op for op in ops]
    return [replace(op, count=op.count * share) for op in ops]


def _rest_of(op: Op, share: Fraction) -> Op:
    """The last `share` of an operation that is begun."""
    span = op.span
    if span is not None:
        span = replace(span, first=span.last - ceil((span.last - span.first + 1) * share) + 1)
    return replace(op, count=op.count * share, span=span)


def people_of(crew: Crew, days: Sequence[CalendarDay]) -> tuple[Person, ...]:
    """The crew with the hours of these days."""
    return tuple(
        Person(name=each.name, skills=frozenset(each.skills), windows=work_windows(each, days, crew.zone))
        for each in crew.workers
    )


def week_windows(crew: Crew, skill: str) -> list[tuple[Window, ...]]:
    """The hours of an ordinary week for each person with a skill: minutes from the start of Monday."""
    found = []
    for each in crew.workers:
        if skill in each.skills:
            spans = sorted((s.weekday * 1440 + s.start, s.weekday * 1440 + s.end) for s in each.shifts)
            spans += [(10_080 * (n + 1) + e.start, 10_080 * (n + 1) + e.end) for n, e in enumerate(each.extra)]
            joined: list[Window] = []
            for start, end in spans:
                if joined and joined[-1].end == start:
                    joined[-1] = Window(joined[-1].start, end)
                else:
                    joined.append(Window(start, end))
            found.append(tuple(joined))
    return found


def longest_of(crew: Crew, skill: str) -> int:
    """The longest time in minutes that anyone with a skill works without a break.

    Raises InputError if nobody has the skill.
    """
    longest = [window.end - window.start for windows in week_windows(crew, skill) for window in windows]
    if not longest:
        given = f"nobody with the skill {skill!r}, which this batch needs"
        do = f'Add "{skill}" to the skills of a person, or remove the skills line.'
        raise InputError(Problem("crew, person, skills", given, f"a person who can {skill}", do))
    return max(longest)


def too_short(activities: Sequence[Activity], longest: Mapping[str, int]) -> list[Problem]:
    """Problems with activities that do not fit anyone's hours."""
    found: dict[str, Problem] = {}
    for each in activities:
        if each.people and each.minutes > longest[each.skill]:
            given = f"hours of at most {clock_text(longest[each.skill])} without a break for {each.skill!r}"
            wanted = f"{clock_text(each.minutes)} without a break for: {each.what}"
            do = "Give somebody longer hours, or change the minutes of that work in the shop file."
            found.setdefault(each.skill, Problem("crew, person, hours", given, wanted, do))
    return list(found.values())
