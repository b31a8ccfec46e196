"""The dates of a batch from its schedule: when to begin, buy and saw, and for each order when to pack and load."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from woodshop.design.batch import Hives, packed_boards
from woodshop.documents.days.goals import late_lots
from woodshop.plan.cost import cost_rows
from woodshop.plan.values import PlannedBatch
from woodshop.schedule.calendar import day_of
from woodshop.schedule.stages import lots_of
from woodshop.schedule.values import Schedule

_CUT = ("saw",)
_BENCH = ("assemble", "paint", "fill", "pack", "wrap")
_SENT = ("fit", "hand over")


@dataclass(frozen=True, slots=True, kw_only=True)
class LotDates:
    """The dates of an order, or of the user's own hives of one apiary.

    `build` is the first day of work on it at the bench, `pack` the last day on which its boards are packed, `send` the
    last day on which it is put on the hives or handed over. They are None if there is no such work. `late` is the
    number of days after `due`, a started day as a whole one.
    """

    name: str
    groups: tuple[Hives, ...]
    hives: int
    boards: int
    is_own: bool
    due: date | None
    build: date | None
    pack: date | None
    send: date | None
    late: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BatchDates:
    """The dates of a batch. `begin` is the first day of work, `saw` the first and last day at a saw.

    If `is_latest` is true, work begins as late as the due dates allow. If `is_default` is true, the crew is a default.
    """

    begin: date
    buy: date | None
    saw: tuple[date, date] | None
    lots: tuple[LotDates, ...]
    is_latest: bool
    is_default: bool

    def built_first(self, hives: Iterable[Hives]) -> LotDates | None:
        """Of the lots of these hives, the one that is built first; None if no date is known."""
        wanted = set(hives)
        own = [lot for lot in self.lots if lot.build is not None and wanted & set(lot.groups)]
        return min(own, key=lambda lot: lot.build or date.max, default=None)


def batch_dates(planned: PlannedBatch, schedule: Schedule | None) -> BatchDates | None:
    """The dates of a batch by its schedule, or None if it has none or nothing is left to do."""
    if schedule is None:
        return None
    days: dict[tuple[str, str], list[date]] = {}
    calendar = schedule.project.days
    activities = {each.key: each for each in schedule.project.activities}
    worked = [each for each in schedule.bookings if each.people]
    if not worked:
        return None
    for each in worked:
        activity = activities[each.activity]
        own = days.setdefault((activity.lot, activity.kind), [])
        own += [day_of(calendar, each.start).day, day_of(calendar, each.end - 1).day]

    def of(lot: str, kinds: Iterable[str]) -> list[date]:
        return sorted(day for kind in kinds for day in days.get((lot, kind), ()))

    late = dict(late_lots(schedule))
    packed = {name: count for name, count, _ in packed_boards(planned.batch, planned.units)}
    lots = []
    for lot in lots_of(planned.batch, cost_rows(planned.batch, planned.units), packed):
        build, pack, send = (of(lot.name, kinds) for kinds in (_BENCH, ("pack",), _SENT))
        lots.append(
            LotDates(
                name=lot.name,
                groups=lot.groups,
                hives=lot.hives,
                boards=lot.boards,
                is_own=lot.is_own,
                due=lot.due,
                build=build[0] if build else None,
                pack=pack[-1] if pack else None,
                send=send[-1] if send else None,
                late=late.get(lot.name, 0),
            )
        )
    buy, saw = of("", ("buy",)), of("", _CUT)
    return BatchDates(
        begin=day_of(calendar, min(each.start for each in worked)).day,
        buy=buy[-1] if buy else None,
        saw=(saw[0], saw[-1]) if saw else None,
        lots=tuple(lots),
        is_latest=schedule.project.is_backward,
        is_default=planned.batch.crew.is_default,
    )
