"""Ticks of the saw page in a book: which events they become, and what they say about the boards of a plan.

`data` is the data of the saw page for one plan (`documents.saw`): its steps, layouts and parts. A row is an event as
the page sends it, in the columns of a sheet of events.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

from woodshop.errors import InputError, Problem
from woodshop.records.events import Event, NewEvent, effective, new_event
from woodshop.records.kinds import FIELDS, UNDO, shown_value
from woodshop.records.rows import COLUMN_NAMES, events_from_rows
from woodshop.records.store import Book, new_book, open_book
from woodshop.units.lengths import Length

CUTS, CUT, STARTED = "cuts made", "layout cut", "plan started"
SPOILED, BAD_STRETCH, UNUSABLE = "pieces spoiled", "board with bad stretch", "board unusable"
_KINDS = (CUTS, CUT, SPOILED, BAD_STRETCH, UNUSABLE, UNDO)
_STOCK = ("stock", "offcut", "board")
_SIGNS = 16  # of a plan's digest, in events
MOST_ROWS, MOST_TEXT = 200, 300
"""The most rows in one message, and the longest text in one."""
Row = Mapping[str, str]


def plan_mark(digest: str) -> str:
    """The first characters of a plan's digest, which name the plan in events."""
    return digest[:_SIGNS]


def own_book(design: Path) -> Path:
    """The book for the ticks of a design that names no book."""
    return design.with_name(f"{design.stem}-saw.book")


def files_at_saw(design: Path, named: Path | None, given: Path | None = None) -> dict[str, str]:
    """The names of the files for words about ticks: the design's, and that of the book which gets them.

    `named` is the book that the design names. If it names none, `given` is the book of the plan, which is not named
    here, because a copy of a book gives the same result; without it the book is one for ticks only. "from" says which
    book it is: "design", "option" or "ticks".
    """
    if named is None and given is not None:
        return {"design": design.name, "book": "", "from": "option"}
    found, whence = (own_book(design), "ticks") if named is None else (named, "design")
    return {"design": design.name, "book": found.name, "from": whence}


@dataclass(frozen=True, slots=True)
class Refused:
    """A row that was not entered, by its id, and why."""

    id: str
    problem: Problem


@dataclass(frozen=True, slots=True)
class Ticked:
    """What became of the rows of one message: the ids that are in the book now, those refused, and notes for people."""

    entered: tuple[str, ...]
    refused: tuple[Refused, ...]
    notes: tuple[str, ...] = ()


def checked_rows(sent: object) -> list[Row]:
    """The rows of a message as texts by column. Raises InputError with every problem if it is anything else."""
    where = "ticks"
    if not isinstance(sent, list) or len(sent) > MOST_ROWS:
        raise InputError(Problem(where, "no list of ticks, or too many", f"up to {MOST_ROWS} ticks", "Send fewer."))
    found: list[Problem] = []
    rows: list[Row] = []
    for n, each in enumerate(sent, 1):
        place = f"tick {n}"
        if not isinstance(each, dict):
            found.append(Problem(place, "no tick", "a column and a text for each thing known", "Send it again."))
            continue
        texts: dict[str, str] = {}
        for name, value in each.items():
            if name not in COLUMN_NAMES:
                found.append(Problem(place, f"a column {ascii(name)[:40]}", "a column of events", "Leave it out."))
            elif isinstance(value, bool) or not isinstance(value, str | int):
                found.append(
                    Problem(f"{place}, {name}", "neither text nor a whole number", "one of them", "Correct it.")
                )
            elif isinstance(value, str) and (len(value) > MOST_TEXT or not value.isprintable()):
                found.append(
                    Problem(f"{place}, {name}", "a text too long or not on one line", "a short text", "Correct it.")
                )
            elif isinstance(value, int) and not 0 <= value < 10**9:
                found.append(Problem(f"{place}, {name}", "a number out of range", "0 to 999,999,999", "Correct it."))
            else:
                texts[name] = str(value)
        if not texts.get("id", "").strip():
            found.append(Problem(place, "no id", "an id of its own for each tick", "Send it again."))
        rows.append(texts)
    if found:
        raise InputError(*found[:20])
    return rows


@dataclass(slots=True)
class SawBook:
    """The book that gets the ticks of a design. `is_own` says that it is for ticks only, because the design names none.

    To be used in one thread. The file of an own book is written with the first tick.
    """

    path: Path
    is_own: bool
    _book: Book | None = None
    _events: list[Event] = field(default_factory=list)

    def close(self) -> None:
        """Closes the file."""
        if self._book is not None:
            self._book.connection.close()
        self._book, self._events = None, []

    def events(self) -> Sequence[Event]:
        """All events so far. Raises InputError if the book cannot be read."""
        if self._book is None:
            if self.is_own and not self.path.exists():
                return ()
            self._book, self._events = open_book(self.path), []
        try:
            self._events += self._book.events(len(self._events) + 1)
        except InputError:
            self.close()
            raise
        return self._events

    def enter(self, data: Mapping[str, Any], rows: Sequence[Row]) -> Ticked:
        """Enters rows of a plan's page, each one once, and returns when they are on the disk.

        Raises InputError if the book cannot be opened or written.
        """
        self.events()
        if self._book is None:
            new_book(self.path, str(data["unit"]))
            self.events()
        assert self._book is not None
        book = self._book
        known = {event.id: event for event in self._events}
        refused: list[Refused] = []
        entered: list[str] = []
        new: list[NewEvent] = []
        for row in rows:
            try:
                sent = _event_of(row, data, known, {each.id for each in new}, book)
            except InputError as why:
                refused.append(Refused(row["id"].strip(), why.problems[0]))
                continue
            if sent.id in known:
                entered.append(sent.id)
            elif all(each.id != sent.id for each in new):
                new.append(sent)
        if new:
            self.begin(data)
        done, notes = _added(book, new, refused)
        self.events()
        return Ticked((*entered, *done), tuple(refused), tuple(notes))

    def begin(self, data: Mapping[str, Any]) -> None:
        """Enters in an own book, once, that work with a plan has begun: what is entered after that counts for it."""
        mark = plan_mark(data["plan"])
        if not self.is_own or any(each.id == f"{mark}-started" for each in self.events()):
            return
        started = new_event(STARTED, {"batch": data["batch"], "plan": mark}, "", f"{mark}-started")
        if self._book is None:
            new_book(self.path, str(data["unit"]), sent=[started])
        else:
            self._book.add([started])
        self.events()


def _added(book: Book, new: Sequence[NewEvent], refused: list[Refused]) -> tuple[list[str], list[str]]:
    """Adds the events, all at once if that is possible, else one by one. A board that the book does not have on hand is
    left out of its event, with a note."""
    if not new:
        return [], []
    try:
        book.add(new)
        return [each.id for each in new], []
    except InputError:
        pass
    done: list[str] = []
    notes: dict[str, None] = {}
    for each in new:
        fields = Event(0, each.id, each.kind, each.day, each.payload, 1, "").fields
        without = {name: value for name, value in fields.items() if name not in _STOCK or _is_mark(each.kind, name)}
        try:
            book.add([each])
        except InputError as why:
            if without == fields:
                refused.append(Refused(each.id, why.problems[0]))
                continue
            try:
                book.add([new_event(each.kind, without, each.day, each.id, where=each.where)])
            except InputError as again:
                refused.append(Refused(each.id, again.problems[0]))
                continue
            name = ", ".join(str(fields[name]) for name in _STOCK if name in fields and name not in without)
            notes[f"The book does not have {name} on hand. Enter what you bought: woodshop book add."] = None
        done.append(each.id)
    return done, list(notes)


def _is_mark(kind: str, name: str) -> bool:
    return kind == BAD_STRETCH and name == "board"


def _event_of(row: Row, data: Mapping[str, Any], known: Mapping[str, Event], sent: set[str], book: Book) -> NewEvent:
    """The event of a row, checked against the plan. Raises InputError."""
    event = events_from_rows([("tick", row)], book.unit, book.currency)[0]
    fields = Event(0, event.id, event.kind, event.day, event.payload, 1, "").fields
    if event.kind not in _KINDS:
        raise InputError(Problem("tick", event.kind, f"one of {', '.join(_KINDS)}", "Use: woodshop book add."))
    if event.kind == UNDO:
        of = known.get(fields["of"])
        if fields["of"] not in sent and not _is_of(of, data, known):
            raise InputError(Problem("tick, of", "no tick of this plan", "the id of a tick of this plan", "Leave it."))
    else:
        problems = list(_faults(event.kind, fields, data))
        if problems:
            raise InputError(*problems)
    old = known.get(event.id)
    if old is not None and not _is_same(old, event.kind, fields):
        do = "Reload the page."
        raise InputError(Problem("tick, id", "an id that the book has for another event", "an id of its own", do))
    return event


def _is_of(event: Event | None, data: Mapping[str, Any], known: Mapping[str, Event]) -> bool:
    """Whether an event was entered by the saw page of this plan, or undoes such an event."""
    while event is not None and event.kind == UNDO:
        event = known.get(event.fields["of"])
    return event is not None and event.kind in _KINDS and event.fields.get("plan") == plan_mark(data["plan"])


def _is_same(old: Event, kind: str, fields: Mapping[str, Any]) -> bool:
    """Whether the book's event is the same thing; the board may have been left out of it."""
    own = old.fields
    names = (set(own) | set(fields)) - set(_STOCK)
    return old.kind == kind and all(own.get(name) == fields.get(name) for name in names)


def _faults(kind: str, fields: Mapping[str, Any], data: Mapping[str, Any]) -> Iterator[Problem]:
    """Everything in an event that does not agree with the plan."""
    do = "Reload the page. If it stays, save the ticks to a file."
    layouts = {each["number"]: each for each in data["layouts"]}
    steps = {each["key"]: each for each in data["steps"]}
    if fields.get("batch") != data["batch"] or fields.get("plan") != plan_mark(data["plan"]):
        yield Problem("tick, plan", "another plan", "the plan of this page", do)
    layout = layouts.get(fields.get("layout", 0))
    step = steps.get(fields.get("step", ""))
    if kind != CUT and step is None:
        yield Problem("tick, step", "no step of this plan", "a step of this plan", do)
    if kind != SPOILED:
        if layout is None or layout["material"] != fields.get("material"):
            yield Problem("tick, layout", "no layout of this plan", "a layout with its material", do)
        elif fields.get("times", fields.get("count", 1)) > layout["times"]:
            yield Problem("tick", "more boards than planned", f"at most {layout['times']}", do)
        elif step is not None and all(each["layout"] != layout["number"] for each in step["boards"]):
            yield Problem("tick, layout", "a layout that is not cut at this step", "one that is", do)
    elif data["parts"].get(fields.get("part"), {}).get("material") != fields.get("material"):
        yield Problem("tick, part", "no part of this plan", "a letter of this plan, with its material", do)


def rows_of(events: Sequence[Event], data: Mapping[str, Any]) -> list[dict[str, str]]:
    """The events of a plan's page and their undos, as rows in the order of the book. Corrections are applied."""
    latest = {event.id: (day, fields) for event, day, fields in effective(events)}
    found: list[dict[str, str]] = []
    ids: set[str] = set()
    for event in events:
        day, fields = latest.get(event.id, (event.day, event.fields))
        if event.kind == UNDO:
            if fields["of"] not in ids:
                continue
        elif event.kind not in _KINDS or fields.get("plan") != plan_mark(data["plan"]):
            continue
        ids.add(event.id)
        texts = {name: shown_value(FIELDS[name], value) for name, value in fields.items()}
        found.append({"kind": event.kind, "id": event.id} | ({"day": day} if day else {}) | texts)
    return found


@dataclass(frozen=True, slots=True)
class BoardsDone:
    """How many boards of each layout are begun (cut into and still good) and how many are completed."""

    begun: Mapping[int, int]
    completed: Mapping[int, int]

    @property
    def is_unfinished(self) -> bool:
        """Whether a board is begun and not completed."""
        return any(count > self.completed.get(layout, 0) for layout, count in self.begun.items())


@dataclass(frozen=True, slots=True)
class _Counted:
    """Ticks and boards found bad, by step and layout; and the steps of the boards of a layout, by list and layout: the
    number of the step, its board, and whether it cuts into the board (squaring an end does not)."""

    ticks: Counter[tuple[int, int]]
    bad: Counter[tuple[int, int]]
    chains: Mapping[tuple[int, int], list[tuple[int, Mapping[str, Any], bool]]]

    def bad_after(self, chain: Sequence[tuple[int, Mapping[str, Any], bool]], layout: int) -> int:
        """Boards found bad at these steps."""
        return sum(self.bad[n, layout] for n, _, _ in chain)

    def begun(self, chain: Sequence[tuple[int, Mapping[str, Any], bool]], layout: int) -> int:
        """Good boards that are cut into."""
        most = 0
        for at, (n, _, is_cut) in enumerate(chain):
            if is_cut:
                most = max(most, self.ticks[n, layout] - self.bad_after(chain[at + 1 :], layout))
        return most


def _counted(events: Sequence[Event], data: Mapping[str, Any]) -> _Counted:
    mark = plan_mark(data["plan"])
    places = {step["key"]: n for n, step in enumerate(data["steps"])}
    ticks: Counter[tuple[int, int]] = Counter()
    bad: Counter[tuple[int, int]] = Counter()
    for event, _, fields in effective(events):
        if fields.get("plan") == mark and fields.get("step") in places:
            key = places[fields["step"]], fields.get("layout", 0)
            if event.kind == CUTS:
                ticks[key] += fields["times"]
            elif event.kind in (UNUSABLE, BAD_STRETCH):
                bad[key] += fields.get("count", 1)
    chains: dict[tuple[int, int], list[tuple[int, Mapping[str, Any], bool]]] = {}
    for n, step in enumerate(data["steps"]):
        for board in step["boards"]:
            is_cut = step["is_cut"] and not board["is_trim"]
            chains.setdefault((step["list"], board["layout"]), []).append((n, board, is_cut))
    return _Counted(ticks, bad, chains)


def boards_done(events: Sequence[Event], data: Mapping[str, Any]) -> BoardsDone:
    """What the ticks in a book say about the boards of each layout of a plan.

    A board is begun once a cut other than squaring an end is ticked; a board found bad after that is not counted.
    """
    found = _counted(events, data)
    begun: Counter[int] = Counter()
    completed: Counter[int] = Counter()
    for (_, layout), chain in found.chains.items():
        begun[layout] += found.begun(chain, layout)
        good = chain[0][1]["times"] - found.bad_after(chain, layout)
        completed[layout] += max(0, min(good, *(found.ticks[n, layout] for n, _, _ in chain)))
    return BoardsDone(+begun, +completed)


# ---- boards squared on an earlier plan -------------------------------------------------------

_SQUARED = "squared"  # in the ids of ticks that a newer plan takes over
_SquaredSize = tuple[str, int, int]


def _squares(board: Mapping[str, Any]) -> int:
    """What a board's first step squares off its end, in the unit of its layout, or 0 if it squares none."""
    ends = [places[0][1] for along, places in board["cuts"] if not along and places[0][0] == 0]
    return int(ends[0]) if board["is_trim"] and ends else 0


def _squared(events: Sequence[Event], data: Mapping[str, Any]) -> Counter[int]:
    """Good boards of each layout that have an end squared and are not cut into."""
    found = _counted(events, data)
    boards: Counter[int] = Counter()
    for (_, layout), chain in found.chains.items():
        n, board, _ = chain[0]
        if _squares(board):
            gone = found.bad_after(chain[1:], layout) + found.begun(chain, layout)
            boards[layout] += max(0, min(board["times"], found.ticks[n, layout]) - gone)
    return +boards


def _layouts(data: Mapping[str, Any]) -> dict[int, Mapping[str, Any]]:
    """The layouts of a plan on boards that were not set aside, by number."""
    return {int(each["number"]): each for each in data["layouts"] if not each["bad"]}


def _size(layout: Mapping[str, Any]) -> _SquaredSize:
    return layout["material"], layout["width"], layout["length"]


def _stays(boards: Counter[int], data: Mapping[str, Any]) -> Counter[int]:
    """Those of these boards that a newer plan cuts with the same layout: they count as squared there."""
    layouts = _layouts(data)
    return +Counter({n: min(count, layouts[n]["times"]) for n, count in boards.items() if n in layouts})


def squared_rows(events: Sequence[Event], before: Mapping[str, Any], now: Mapping[str, Any]) -> list[dict[str, str]]:
    """Ticks for the square step of the plan `now`, for the boards that its layouts keep from the plan `before` and that
    have an end squared already. A layout that stays has the same number and the same cuts."""
    mark, stays = plan_mark(now["plan"]), _stays(_squared(events, before), now)
    rows: list[dict[str, str]] = []
    seen: set[int] = set()
    for step in now["steps"]:
        for board in step["boards"]:
            number = int(board["layout"])
            if number not in seen and stays[number] and _squares(board):
                fields = {"batch": now["batch"], "plan": mark, "step": step["key"], "layout": str(number)}
                fields |= {"material": _layouts(now)[number]["material"], "times": str(stays[number])}
                rows.append({"kind": CUTS, "id": f"{mark}-{_SQUARED}-{number}", **fields})
            seen.add(number)
    return rows


def also_squared(events: Sequence[Event], plans: Sequence[Mapping[str, Any]]) -> dict[int, int]:
    """For each layout of the last of these plans: how many boards of its size have an end squared on the plans before,
    besides those that count as squared at its own steps. Each plan is the rest of the one before it."""
    pool: Counter[_SquaredSize] = Counter()
    for before, now in pairwise(plans):
        layouts, mark = _layouts(before), plan_mark(before["plan"])
        found, own = _counted(events, before), _squared(events, before)
        ticked: Counter[_SquaredSize] = Counter()
        for (_, layout), chain in found.chains.items():
            if layout in layouts and _squares(chain[0][1]):
                ticked[_size(layouts[layout])] += found.ticks[chain[0][0], layout]
        for event, _, fields in effective(events):
            if event.id.startswith(f"{mark}-{_SQUARED}-") and fields["layout"] in layouts:
                ticked[_size(layouts[fields["layout"]])] -= fields["times"]
        pool -= ticked
        for number, count in (own - _stays(own, now)).items():
            if number in layouts:
                pool[_size(layouts[number])] += count
    squares = {int(board["layout"]) for step in plans[-1]["steps"] for board in step["boards"] if _squares(board)}
    return {n: pool[_size(each)] for n, each in _layouts(plans[-1]).items() if n in squares and pool[_size(each)]}


def squared_off(events: Sequence[Event], data: Mapping[str, Any]) -> dict[str, Length]:
    """What was squared off each board that was found bad at a later step, by the code chalked on it. Its bad stretch is
    measured from the squared end."""
    codes: dict[str, Length] = {}
    places = {step["key"]: n for n, step in enumerate(data["steps"])}
    chains = _counted((), data).chains
    units = {int(each["number"]): Length(Fraction(*each["unit"])) for each in data["layouts"]}
    for event, _, fields in effective(events):
        if event.kind != BAD_STRETCH or fields.get("plan") != plan_mark(data["plan"]):
            continue
        step, layout = places.get(fields.get("step", ""), 0), fields.get("layout", 0)
        for n, board, _ in chains.get((data["steps"][step]["list"], layout), ())[:1]:
            if n < step and _squares(board):
                codes[fields["board"]] = units[layout] * _squares(board)
    return codes


def pieces_ticked(events: Sequence[Event], data: Mapping[str, Any]) -> Counter[str]:
    """Good pieces of each material that are ticked on the page of a plan."""
    found, mark = _counted(events, data), plan_mark(data["plan"])
    pieces: Counter[str] = Counter()
    for n, step in enumerate(data["steps"]):
        for board in step["boards"]:
            each = sum(step["marks"].get(str(board["layout"]), {}).values())
            material = data["lists"][step["list"]]["material"]
            pieces[material] += each * min(board["times"], found.ticks[n, int(board["layout"])])
    for event, _, fields in effective(events):
        if event.kind == SPOILED and fields.get("plan") == mark:
            pieces[fields["material"]] -= fields["count"]
    return +pieces
