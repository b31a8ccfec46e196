"""The story stick: every crosscut length of the batch at full size, on strips to glue to a stick.

To set a stop without reading a tape, hold the zero of the stick at the blade and the stop at a mark.
Every mark is measured from the same zero, and every strip shows the distance from zero at both of its ends.
"""

from dataclasses import dataclass
from itertools import pairwise

from woodshop.documents.packet.layouts import needs_of
from woodshop.drawing.pages.plates import Plate, footed, lines_of, page_size, points, room_on, stacked, write_plates
from woodshop.drawing.values.paper import Box, Mark, Ring, Segment, Sheet, Stroke, Word, sheet_of
from woodshop.drawing.values.style import STYLE
from woodshop.drawing.views.tiles import OVERLAP
from woodshop.plan.values import PlannedBatch
from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length, inch, millimetre

TITLE = "Story stick"
_STRIP = {"in": inch(8), "mm": millimetre(200)}  # the length of the stick on one strip
_ROUND = {"in": inch("1/4"), "mm": millimetre(5)}
_PAST = {"in": inch("1/8"), "mm": millimetre(3)}  # the minimum from the last mark of a strip to its end
_CLEAR = inch(2)  # space for a label
_LANE, _HEAD, _BASE = 16.0, 20.0, 4.5  # the heights of a row of labels, of the text above, and of a base line
_LEAST_LANES = 4
_PAD = 3.0
_LABEL = 210.0  # points: a longer label is broken into lines


@dataclass(frozen=True, slots=True)
class Stop:
    """A crosscut length, and the pieces of that length as (mark, count), in the order of the marks."""

    length: Length
    pieces: tuple[tuple[str, int], ...]


def stops(planned: PlannedBatch) -> tuple[Stop, ...]:
    """Every crosscut length of the wood, shortest first, rounded up to a tape mark as in the plan."""
    found: dict[Length, list[tuple[str, int]]] = {}
    for need in needs_of(planned):
        if need.part.material.is_sawn:
            found.setdefault(need.part.length.up_to(planned.batch.saw.mark), []).append((need.mark, need.count))
    return tuple(Stop(length, tuple(pieces)) for length, pieces in sorted(found.items()))


def story_stick_pdf(planned: PlannedBatch) -> bytes:
    """The story stick as a PDF; a single page with a note if no wood is cut."""
    title = f"{TITLE}: {planned.batch.pages.title}"
    return write_plates(story_stick_plates(planned), title=title, subject="Crosscut lengths of the batch, full size")


def story_stick_plates(planned: PlannedBatch) -> list[Plate]:
    """The pages of the story stick. Marks that do not fit on one stick go on two or more."""
    batch = planned.batch
    banner = "DO NOT CUT" if planned.report.has_errors else ""
    size = page_size(batch.pages.paper, lying=True)
    room = room_on(size, bool(banner))
    all_stops = stops(planned)
    for sticks in range(1, len(all_stops) + 2):
        blocks: list[tuple[str, Sheet]] = [("How to use it", _instructions(room.wide, bool(all_stops)))]
        drawn = [strips(all_stops[n::sticks], batch.unit) for n in range(sticks)]
        for n, each in enumerate(drawn):
            name = f"stick {n + 1} of {sticks}, " if sticks > 1 else ""
            blocks += [(f"{name}{title}", strip) for title, strip in each or ()]
        if None not in drawn and all(strip.size[1] <= room.high for _, strip in blocks):
            break
    has_inches = batch.unit == "in" or batch.wording.both
    plates = stacked(blocks, size, f"{TITLE}: {batch.pages.title}", banner, with_inches=has_inches)
    return footed(plates, batch.name, f"{len(all_stops)} lengths")


def _instructions(wide: float, any_stops: bool) -> Sheet:
    text = (
        "Cut the strips out and glue them end to end on a straight stick: the cut left edge of each goes on the "
        "dashed line of the strip before it, register marks on each other. Saw the stick off square at zero. To "
        "set a stop, unplug the saw. Hold zero to the near side of the blade, at a tooth set that way, and bring "
        "the stop to the mark. Cut one, and try it against the stick. All marks start from the one zero."
        if any_stops
        else "No wood is crosscut in this batch."
    )
    return sheet_of(list(lines_of(text, wide, STYLE.body)))


def strips(marks: tuple[Stop, ...], unit: str) -> list[tuple[str, Sheet]] | None:
    """The strips of one stick, all of the same width, each with its name. Returns None if a label does not fit."""
    if not marks:
        return []
    joints = _joints([stop.length for stop in marks], unit)
    laid: list[list[PlacedMark]] = []
    for low, high in pairwise(joints):
        here = [stop for stop in marks if low < stop.length <= high]
        labels = _labels(here, low, points(high - low), unit)
        if labels is None:
            return None
        laid.append(labels)
    lanes = max(_LEAST_LANES, *(placed.top for labels in laid for placed in labels))
    return [(f"strip {n + 1} of {len(laid)}", _strip(labels, n, joints, lanes, unit)) for n, labels in enumerate(laid)]


def _joints(lengths: list[Length], unit: str) -> list[Length]:
    """The ends of the strips, none longer than a page, with space for a label before the first mark if possible.

    A joint is slightly past a mark, at a round position; the last strip has the full length.
    """
    most, round_to, past = _STRIP[unit], _ROUND[unit], _PAST[unit]
    joints = [ZERO]
    while lengths[-1] > joints[-1] + most:
        low, high = joints[-1], joints[-1] + most
        places = {(x + past).up_to(round_to) for x in lengths if low + most / 2 < x} | {high}
        ahead = {p: min(x for x in lengths if x > p) - p for p in places if p <= high}
        wide = [p for p, room in ahead.items() if room >= _CLEAR]
        joints.append(max(wide) if wide else max(ahead, key=lambda p: (ahead[p], p)))
    return [*joints, joints[-1] + most]


@dataclass(frozen=True, slots=True)
class PlacedMark:
    """A mark on a strip: its position in points, the height of its tick in lanes, and its text."""

    x: float
    top: int
    words: tuple[Word, ...]


def _labels(here: list[Stop], low: Length, room: float, unit: str) -> list[PlacedMark] | None:
    """Labels next to their ticks, each in the lowest lane where it does not touch another label or tick.

    A label is to the left of its tick, unless the tick is near the left edge of the strip or crosses a label that is to
    the right of another tick. Returns None if a label crosses the right edge of the strip.
    """
    written = {points(stop.length - low): _lines(stop, unit) for stop in here}
    wide = {x: max(_long(line) for line in lines) for x, lines in written.items()}
    to_right: set[float] = set()
    for x in written:
        if x - wide[x] < 3 * _PAD or any(j < x < j + wide[j] + 3 * _PAD for j in to_right):
            to_right.add(x)
    if any(x + wide[x] + 3 * _PAD > room for x in to_right):
        return None
    boxes: list[Box] = []
    ticks: list[Segment] = []
    placed: list[PlacedMark] = []
    for x in (*sorted(to_right, reverse=True), *(each for each in written if each not in to_right)):
        lines = written[x]
        start = x + _PAD if x in to_right else x - _PAD - wide[x]
        lane = 0
        while _is_occupied(box := _room(start, wide[x], lane, len(lines)), boxes, ticks):
            lane += 1
        top = lane + len(lines)
        boxes.append(box)
        ticks.append(((x, 0.0), (x, top * _LANE)))
        words = []
        for n, line in enumerate(lines):
            at = start
            for word in line:
                words.append(word.moved(at, (top - n - 1) * _LANE + _BASE))
                at += word.width + _PAD
        placed.append(PlacedMark(x, top, tuple(words)))
    return placed


def _is_occupied(box: Box, boxes: list[Box], ticks: list[Segment]) -> bool:
    return any(box.meets(other) for other in boxes) or any(box.crossed_by(*tick) for tick in ticks)


def _long(line: list[Word]) -> float:
    return sum(word.width for word in line) + _PAD * (len(line) - 1)


def _room(start: float, wide: float, lane: int, lines: int) -> Box:
    return Box(start - _PAD + 0.5, lane * _LANE, start + wide + _PAD - 0.5, (lane + lines) * _LANE)


def _lines(stop: Stop, unit: str) -> list[list[Word]]:
    """A label: the length in bold, a note if it is too short for a stop, and the pieces, wrapped if needed."""
    lines = [[Word(stop.length.text(unit), 0.0, 0.0, size=STYLE.label_text, strong=True)]]
    short = ["mark only, no stop"] if stop.length < fact("saw.hands_away").length_in(unit) else []
    for text in [*short, *(f"{mark} x {count}" for mark, count in stop.pieces)]:
        last = lines[-1]
        longer = sum(word.width for word in last) + _PAD * len(last) + Word(text, 0.0, 0.0, size=STYLE.small).width
        if len(last) > 1 and longer > _LABEL:
            lines.append([Word(text, 0.0, 0.0, size=STYLE.small)])
        elif len(last) > 1 or len(lines) > 1:
            last[-1] = Word(f"{last[-1].text}, {text}", 0.0, 0.0, size=STYLE.small)
        else:
            last.append(Word(text, 0.0, 0.0, size=STYLE.small))
    return lines


def _strip(labels: list[PlacedMark], n: int, joints: list[Length], lanes: int, unit: str) -> Sheet:
    """One strip: its outline, its marks, the joints at its ends with their register marks, and its position."""
    low, end = joints[n], joints[n + 1]
    first, last = n == 0, n == len(joints) - 2
    long, high = points(end - low), lanes * _LANE + _HEAD
    right = long + (0.0 if last else points(OVERLAP))
    marks: list[Mark] = [Stroke(((0.0, 0.0), (right, 0.0), (right, high), (0.0, high)), STYLE.hidden, closed=True)]
    for placed in labels:
        marks.append(Stroke(((placed.x, 0.0), (placed.x, placed.top * _LANE)), STYLE.hidden))
        marks += placed.words
    if first:
        marks.append(Stroke(((0.0, 0.0), (0.0, high)), STYLE.heavy))
    for x, is_joint in ((0.0, not first), (long, not last)):
        if is_joint:
            marks.append(Stroke(((x, 0.0), (x, high)), STYLE.hidden, STYLE.cut_dash))
            marks += _register(x, high - _HEAD / 2)
    base = high - _HEAD / 2 - 3.0
    words = "zero: saw off here" if first else f"{low.text(unit)} from zero"
    left = Word(words, 8.0 if first else 12.0, base, size=STYLE.small)
    far = Word(f"{end.text(unit)} from zero", 0.0, base, size=STYLE.small)
    name = Word(f"strip {n + 1} of {len(joints) - 1}", 0.0, base, size=STYLE.small, strong=True)
    marks += [left, far.moved(long - far.width - 12.0, 0.0)]
    if long > left.width + far.width + name.width + 60.0:
        marks.append(name.moved((long - name.width) / 2, 0.0))
    return sheet_of(marks)


def _register(x: float, y: float) -> list[Mark]:
    r = 6.0
    cross = (((x - r, y), (x + r, y)), ((x, y - r), (x, y + r)))
    return [Ring(x, y, r, weight=STYLE.thin), *(Stroke(line, STYLE.thin) for line in cross)]
