"""Due dates and the days of work for them, from the schedule or, if there is none, counted back from the due dates."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from woodshop.design.batch import Batch, DueDate, Hives, Unit, due_dates, packed_boards
from woodshop.documents.days.goals import late_lots
from woodshop.documents.lists import plain
from woodshop.drawing.values.model import Align, Block, Column, Heading, KeepTogether, Paragraph, Table
from woodshop.plan.cost import cost_rows
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import fact
from woodshop.schedule.calendar import day_of
from woodshop.schedule.stage_values import lots_of
from woodshop.schedule.values import Schedule
from woodshop.units.wording import date_text, in_short, weekday_in_short, weekday_text

_MOST_DAYS = 10  # rows of the table; further days are counted
_FEW = 3  # orders or apiaries listed in sentences; more get a table
_MOST_ORDERS = 4  # orders named for one day; further orders are counted


_CUT = ("saw",)
_BENCH = ("assemble", "paint", "fill", "pack", "wrap")
_SENT = ("fit", "hand over")


@dataclass(frozen=True, slots=True, kw_only=True)
class LotDates:
    """The dates of an order, or of the user's own hives in one apiary.

    `build` is the first day of work on it at the bench, `pack` the last day on which its boards are packed, `send` the
    last day on which it is put on the hives or handed over. Each is None if there is no such work. `late` says how
    many days after `due` it is finished, rounded up.
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

    `resaw` is the last day on which boards are resawn, and `rest` the full days that they rest before they are planed;
    None and 0 if no board is resawn. If `is_latest` is true, work begins as late as the due dates allow. If
    `is_default` is true, the crew is a default.
    """

    begin: date
    buy: date | None
    saw: tuple[date, date] | None
    lots: tuple[LotDates, ...]
    is_latest: bool
    is_default: bool
    resaw: date | None = None
    rest: int = 0

    def built_first(self, hives: Iterable[Hives]) -> LotDates | None:
        """The lot of these hives that is built first, or None if no date is known."""
        wanted = set(hives)
        own = [lot for lot in self.lots if lot.build is not None and wanted & set(lot.groups)]
        return min(own, key=lambda lot: lot.build or date.max, default=None)


def batch_dates(planned: PlannedBatch, schedule: Schedule | None) -> BatchDates | None:
    """The dates of a batch from its schedule, or None if there is no schedule or nothing is left to do."""
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
        days_late = late.get(lot.name, 0)
        if days_late and lot.due is not None and send:  # the schedule does not count days before its first one
            days_late = max(days_late, (send[-1] - lot.due).days)
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
                late=days_late,
            )
        )
    buy, saw = of("", ("buy",)), of("", _CUT)
    resaw = [
        day_of(calendar, each.end - 1).day for each in worked if activities[each.activity].key.startswith("resaw/")
    ]
    return BatchDates(
        begin=day_of(calendar, min(each.start for each in worked)).day,
        buy=buy[-1] if buy else None,
        saw=(saw[0], saw[-1]) if saw else None,
        lots=tuple(lots),
        is_latest=schedule.project.is_backward,
        is_default=planned.batch.crew.is_default,
        resaw=max(resaw, default=None),
        rest=planned.batch.crew.resting_days if resaw else 0,
    )


def due_blocks(batch: Batch, units: tuple[Unit, ...]) -> list[Block]:
    """The due dates of hives and the days to pack, earliest first. The result is empty if no day is given."""
    days = due_dates(batch.hives)
    if not days:
        return []
    packed = {name for name, _, _ in packed_boards(batch, units)}
    row = fact("mix.drying_days")
    first = next(((day, count) for day in days if (count := _packed(day, packed))), None)
    blocks: list[Block] = []
    if len(days) > 1:
        blocks += [Heading("Due dates", 2), _table(days, packed, int(row.number))]
    if len(days) > _MOST_DAYS:
        blocks.append(
            Paragraph(
                f"{len(days) - _MOST_DAYS} later days are in report.pdf, Number and cost of each item.", small=True
            )
        )
    if first is not None:
        day, count = first
        by = date_text(day.day - timedelta(days=int(row.number)))
        whose = "" if len(days) == 1 else f" {count} fondant {'board' if count == 1 else 'boards'}"
        due = f"They are due on {date_text(day.day)}" + (f" ({_whose(day, packed)})." if len(days) > 1 else ".")
        text = (
            f"Packed sugar dries for {row.number} days. "
            f"Pack the {'first' + whose if whose else 'fondant boards'} by {by}. {due} Cut and build before that."
        )
        blocks.append(Paragraph(text, lead="Work back from the date."))
    return [KeepTogether(tuple(blocks))] if blocks else []


def _packed(day: DueDate, packed: set[str]) -> int:
    """The number of boards to pack for this day."""
    return sum(each.to_pack for each in day.hives if (each.name or each.format) in packed)


def _whose(day: DueDate, packed: set[str] | None = None) -> str:
    """The orders due on this day, or only the orders with boards to pack if `packed` is given."""
    hives = tuple(each for each in day.hives if packed is None or _packed(DueDate(day.day, (each,)), packed))
    orders = [plain(words) for words in DueDate(day.day, hives).orders]
    more = len(orders) - _MOST_ORDERS
    return "; ".join(orders[:_MOST_ORDERS]) + (f"; and {more} more" if more > 0 else "")


def _table(days: tuple[DueDate, ...], packed: set[str], drying: int) -> Table:
    columns = (
        Column("due", weight=4),
        Column("for", weight=10),
        Column("hives", Align.RIGHT, weight=2),
        Column("to pack", Align.RIGHT, weight=2),
        Column("pack by", weight=4),
    )
    rows = []
    for day in days[:_MOST_DAYS]:
        count = _packed(day, packed)
        by = in_short(day.day - timedelta(days=drying)) if count else ""
        rows.append((in_short(day.day), _whose(day), str(day.count), str(count or ""), by))
    return Table(columns, tuple(rows))


def date_blocks(dates: BatchDates, lots: tuple[LotDates, ...] | None = None) -> list[Block]:
    """The days to begin, buy, saw, pack and load, from the schedule; if there are many orders, a row for each.

    If `lots` is given, only these lots are listed, without the work for the whole batch.
    """
    words = [*_run_words(dates)] if lots is None else []
    lots = tuple(lot for lot in (dates.lots if lots is None else lots) if lot.send or lot.pack or lot.due)
    blocks: list[Block] = []
    if len(lots) <= _FEW:
        words += _lot_texts(lots)
    else:
        blocks += [Heading("Dates", 2), _lot_table(lots[:_MOST_DAYS])]
        more = len(lots) - _MOST_DAYS
        words += [f"{more} more orders are in days.pdf."] if more > 0 else []
    if any(lot.late for lot in lots):
        words.append("Some orders are late: days.pdf says what would cure it.")
    words.append(
        "Each day, for one person on weekends (a default, as no crew is given): days.pdf."
        if dates.is_default
        else "Each day and person: days.pdf."
    )
    lead = "Working back from due dates." if dates.is_latest else "Days of work."
    blocks.append(Paragraph(" ".join(words), lead=lead))
    return [KeepTogether(tuple(blocks))]


def _run_words(dates: BatchDates) -> Iterator[str]:
    """Sentences about the work that all orders share."""
    verb = "Buy" if dates.buy == dates.begin else "Begin"
    yield f"{verb} {'by' if dates.is_latest else 'on'} {weekday_text(dates.begin)}, {dates.begin.year}."
    if dates.buy is not None and dates.buy != dates.begin:
        yield f"Buy by {weekday_in_short(dates.buy)}."
    if dates.resaw is not None:
        days = f"{dates.rest} day{'s' if dates.rest > 1 else ''}"
        rest = f": they rest for {days} before they are planed" if dates.rest else ""
        yield f"Resaw boards by {weekday_in_short(dates.resaw)}{rest}."
    if dates.saw is not None:
        first, last = dates.saw
        yield (
            f"Saw on {weekday_in_short(first)}."
            if first == last
            else (f"Saw from {weekday_in_short(first)} to {weekday_in_short(last)}.")
        )


def _lot_texts(lots: Sequence[LotDates]) -> Iterator[str]:
    """A sentence about each lot, with its name if there are several, and its due date if the due dates differ."""
    for lot in lots:
        words = [] if lot.pack is None else [f"pack by {weekday_in_short(lot.pack)}"]
        if lot.send is not None:
            words.append(f"{'put on the hives' if lot.is_own else 'hand over'} {weekday_in_short(lot.send)}")
        if lot.due is not None and len({each.due for each in lots}) > 1:
            words.append(f"due {weekday_in_short(lot.due)}")
        if lot.late:
            words.append(_late(lot))
        text = ", ".join(words)
        if text:
            yield f"{plain(lot.name)}: {text}." if len(lots) > 1 else f"{text[:1].upper()}{text[1:]}."


def _late(lot: LotDates) -> str:
    return f"{lot.late} day{'s' if lot.late > 1 else ''} late"


def _lot_table(lots: Sequence[LotDates]) -> Table:
    own = {lot.is_own for lot in lots}
    sent = "put on" if own == {True} else "hand over" if own == {False} else "hand over, put on"
    columns = (
        Column("due", weight=4),
        Column("for", weight=9),
        Column("hives", Align.RIGHT, weight=2),
        Column("to pack", Align.RIGHT, weight=2),
        Column("pack by", weight=4),
        Column(sent, weight=4),
    )
    rows = []
    for lot in lots:
        days = ["" if day is None else weekday_in_short(day) for day in (lot.due, lot.pack, lot.send)]
        late = f" ({_late(lot)})" if lot.late else ""
        rows.append((days[0], plain(lot.name), str(lot.hives), str(lot.boards or ""), days[1], f"{days[2]}{late}"))
    return Table(columns, tuple(rows))


def date_texts(dates: BatchDates) -> dict[str, str]:
    """The dates in two lines for the terminal: for the whole batch, and for its orders."""
    lots = dates.lots
    found = {"begin": " ".join(_run_words(dates))}
    packed, sent = ([day for lot in lots if (day := getattr(lot, key)) is not None] for key in ("pack", "send"))
    words: list[str] = []
    if len(lots) <= _FEW:
        words += _lot_texts(lots)
    else:
        words += [f"Pack from {in_short(min(packed))} to {in_short(max(packed))}."] if packed else []
        words += [f"{len(lots)} orders leave from {in_short(min(sent))} to {in_short(max(sent))}."] if sent else []
        late = [lot for lot in lots if lot.late]
        words += [f"{len(late)} late: {'; '.join(plain(lot.name) for lot in late)}."] if late else []
    return found | {"days": " ".join((*words, "See days.pdf."))}
