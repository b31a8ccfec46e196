"""The stages of a batch with their finished shares, calculated from the events in the shop's book or on a sheet.

Buying is finished when the stock is bought, and sawing when the boards of the layouts are cut. Finished units have been
machined and assembled. Packed units start to dry at the end of the day of packing. Sold units have been handed over,
and units on hives have been put on. A stage is finished at least as far as any later stage of the same lot.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from fractions import Fraction

from woodshop.design.batch import Hives
from woodshop.design.lumberyard.stocked import bare
from woodshop.design.settle.unit_forms import items_of
from woodshop.errors import InputError, Problem
from woodshop.hardware.catalogue import board_names, folded
from woodshop.hardware.registry import BoardPart
from woodshop.plan.book.happened import Happened
from woodshop.plan.first_boards import first_boards
from woodshop.plan.values import PlannedBatch
from woodshop.schedule.stage_values import Lot, Resting, Stage
from woodshop.schedule.stages import MINUTES_A_DAY

_BACKWARD = ("hand over", "fit", "wrap", "fill", "dry", "pack", "staple", "paint", "clamp", "assemble")


def with_done(
    planned: PlannedBatch,
    stages: Sequence[Stage],
    lots: Sequence[Lot],
    happened: Sequence[Happened],
    today: date,
) -> tuple[Stage, ...]:
    """The stages with their finished shares as of the morning of `today`.

    Raises InputError for an event after that day, or for a layout that the plan does not have.
    """
    late = [each for each in happened if each.day is not None and each.day > today]
    if late:
        do = "Give a later day with --today, or correct the event."
        raise InputError(Problem(late[0].where, str(late[0].day), f"a day up to {today}, which is today", do))
    own = [each for each in happened if each.fields.get("batch", planned.batch.name) == planned.batch.name]
    return _Done(planned, {lot.name: lot for lot in lots}, own, today).applied(stages)


@dataclass
class _Done:
    planned: PlannedBatch
    lots: Mapping[str, Lot]
    happened: Sequence[Happened]
    on_day: date
    finished: Counter[int] = field(default_factory=Counter)
    packed: dict[str, list[tuple[int, date]]] = field(default_factory=dict)
    gone: dict[str, Fraction] = field(default_factory=dict)
    cut: dict[tuple[str, bool], Fraction] = field(default_factory=dict)
    bought: set[str] = field(default_factory=set)

    def applied(self, stages: Sequence[Stage]) -> tuple[Stage, ...]:
        self._finish()
        self._pack()
        self._send()
        self._cut()
        self._buy()
        shares = {stage.key: self._share(stage) for stage in stages}
        is_begun = bool(self.finished) or any(share for (_, is_first), share in self.cut.items() if not is_first)
        for stage in stages:
            if (stage.key.startswith("first ") or stage.key in ("build first", "try first")) and is_begun:
                shares[stage.key] = Fraction(1)
            if stage.key == "run" and (is_begun or any(self.cut.values())):
                shares[stage.key] = Fraction(1)
        for name in self.lots:
            share = Fraction(0)
            for kind in _BACKWARD:
                for stage in stages:
                    if stage.lot == name and stage.key.split("/")[0].split(" ")[0] == kind.split(" ")[0]:
                        share = shares[stage.key] = max(share, shares[stage.key])
        return tuple(replace(stage, done=shares[stage.key], resting=tuple(self._resting(stage))) for stage in stages)

    def _share(self, stage: Stage) -> Fraction:
        """The finished share of a stage, from the events about this stage alone."""
        kind, _, name = stage.key.partition("/")
        if stage.kind == "buy":
            return Fraction(1 if name in self.bought else 0)
        if stage.kind in ("fit", "hand over"):
            return self.gone.get(stage.lot, Fraction(0))
        if stage.kind == "pack":
            return Fraction(sum(count for count, _ in self.packed.get(stage.lot, ())), stage.units)
        if stage.kind == "dry":
            dry = sum(count for count, day in self.packed.get(stage.lot, ()) if self._minutes(day) <= 0)
            return Fraction(dry, stage.units)
        made = sum(self.planned.units[n].line.count for n in stage.serves)
        share = Fraction(sum(self.finished[n] for n in stage.serves), made) if made else Fraction(0)
        if kind.split(" ")[-1] in ("saw", "snip"):
            share = max(share, self.cut.get((name, kind.startswith("first ")), Fraction(0)))
        return share

    def _minutes(self, packed: date) -> int:
        """For how many minutes from this morning boards packed on the day `packed` must still dry."""
        dry = packed + timedelta(days=1 + self.planned.batch.crew.drying_days)
        return (dry - self.on_day).days * MINUTES_A_DAY

    def _resting(self, stage: Stage) -> Iterator[Resting]:
        """The shares of a lot that were packed and are still drying."""
        if stage.kind != "dry":
            return
        before = 0
        for count, day in self.packed.get(stage.lot, ()):
            if self._minutes(day) > 0:
                yield Resting(Fraction(before, stage.units), Fraction(before + count, stage.units), self._minutes(day))
            before += count

    # ---- what the events say -----------------------------------------------------------------------

    def _groups(self, box: str) -> list[Hives]:
        """The groups of hives that an event calls `box`, in order of due date."""
        plain = folded(box)
        every = [hives for lot in self.lots.values() for hives in lot.groups]
        ways = (
            [each for each in every if folded(each.name) == plain],
            [each for each in every if plain in folded(each.name).split(", ")],
            [each for each in every if folded(each.format) == plain],
        )
        return next((way for way in ways if way), [])

    def _of_kind(self, *kinds: str) -> Iterator[Happened]:
        return (each for each in self.happened if each.kind in kinds)

    def _finish(self) -> None:
        for event in self._of_kind("units finished", "units scrapped"):
            sign = 1 if event.kind == "units finished" else -1
            names = items_of(event.fields["item"], event.fields.get("form", "")) or (event.fields["item"],)
            groups = {hives.name for hives in self._groups(event.fields["box"])}
            for name in names:
                left = int(event.fields["count"])
                for n, unit in enumerate(self.planned.units):
                    line = unit.line
                    is_for = not line.item.is_per_hive or line.hives.name in groups
                    if folded(line.item.name) != folded(name) or not is_for:
                        continue
                    room = line.count - self.finished[n] if sign > 0 else self.finished[n]
                    taken = min(left, max(0, room))
                    self.finished[n] += sign * taken
                    left -= taken

    def _pack(self) -> None:
        (rim,) = board_names(BoardPart.RIM)
        room = {hives.name: hives.to_pack for lot in self.lots.values() for hives in lot.groups}
        lot_of = {hives.name: lot.name for lot in self.lots.values() for hives in lot.groups}
        for event in self._of_kind("units packed"):
            if rim not in items_of(event.fields["item"], event.fields.get("form", "")):
                continue
            left = int(event.fields["count"])
            for hives in self._groups(event.fields["box"]):
                taken = min(left, room[hives.name])
                room[hives.name] -= taken
                left -= taken
                if taken:
                    self.packed.setdefault(lot_of[hives.name], []).append((taken, event.day or self.on_day))
        for own in self.packed.values():
            own.sort(key=lambda each: each[1])

    def _send(self) -> None:
        """Finds the share of each lot that is on the hives, or that its customer has."""
        for lot in self.lots.values():
            names = {hives.name for hives in lot.groups}
            wanted: Counter[str] = Counter()
            for unit in self.planned.units:
                if unit.line.item.is_per_hive and unit.line.hives.name in names:
                    wanted[unit.line.item.name] += min(unit.line.hives.count, unit.line.count + unit.line.kept)
            sent: Counter[str] = Counter()
            for event in self._of_kind("units fitted" if lot.is_own else "units sold"):
                fields = event.fields
                is_theirs = fields.get("order") == lot.groups[0].order if not lot.is_own else True
                if is_theirs and names & {each.name for each in self._groups(fields.get("line_box") or fields["box"])}:
                    for name in items_of(fields["item"], fields.get("form", "")):
                        sent[name] += int(fields["count"])
            if wanted:
                total = sum(min(sent[name], count) for name, count in wanted.items())
                self.gone[lot.name] = Fraction(total, sum(wanted.values()))

    def _cut(self) -> None:
        first = first_boards(self.planned)
        known: dict[int, tuple[int, int]] = {}
        for p, plan in enumerate(self.planned.plans):
            for n in range(len(plan.plan.layouts)):
                known[plan.numbers[n] if plan.numbers else len(known) + 1] = p, n
        times: Counter[tuple[int, int]] = Counter()
        for event in self._of_kind("layout cut"):
            number = int(event.fields["layout"])
            place = known.get(number)
            if place is None or self.planned.plans[place[0]].job.material.name != event.fields["material"]:
                given = f"layout {number} of {event.fields['material']}"
                wanted = "a layout of this plan, with its material"
                raise InputError(Problem(event.where, given, wanted, "Copy both from the packet."))
            times[place] += int(event.fields["times"])
        for p, plan in enumerate(self.planned.plans):
            own, name = first[p], plan.job.material.name
            is_apart = own.is_cut_first and not (self.planned.cut_before or self.planned.there)
            totals, cuts = [0, 0], [0, 0]
            for n, layout in enumerate(plan.plan.layouts):
                early = own.times[n] if is_apart else 0
                done = min(times[p, n], layout.times)
                totals[0] += early
                totals[1] += layout.times - early
                cuts[0] += min(early, done)
                cuts[1] += max(0, done - early)
            for number in (0, 1):
                self.cut[name, not number] = Fraction(cuts[number], totals[number]) if totals[number] else Fraction(0)

    def _buy(self) -> None:
        yards = [terms.lumberyard for terms in self.planned.batch.lumberyard.terms]
        had: Counter[str] = Counter()
        for event in self._of_kind("stock bought"):
            had[bare(event.fields["stock"], yards)] += int(event.fields["count"])
        wanted = [each for each in self.planned.purchases if not each.is_spare]
        lacking = {each.lumberyard for each in wanted if had[bare(each.what, yards)] < each.count}
        self.bought = {each.lumberyard for each in self.planned.purchases} - lacking
