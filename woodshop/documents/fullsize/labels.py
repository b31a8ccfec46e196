"""Labels: for each hive, for each item and, on request, for each piece cut at the saw."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from woodshop.design.batch import Batch, BatchLine, Hives, first_due
from woodshop.design.settings.labels import LabelSettings
from woodshop.documents.packet.layouts import needs_of
from woodshop.documents.packet.parts import cells_of
from woodshop.drawing.pages.plates import LabelLine, Plate, label_plates, labels_footed, write_plates
from woodshop.drawing.values.style import missing
from woodshop.errors import InputError, Problem
from woodshop.hardware.registry import BoardPart
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import lengths_in
from woodshop.units.wording import in_short

TITLE = "Labels"
MOST_LABELS = 20_000
"""The maximum number of labels of one kind (hives, items, pieces). Beyond it, identical labels are printed once."""
_TOLD = 6  # labels named in one message; the rest are counted


@dataclass(frozen=True, slots=True)
class LabelText:
    """A label's lines, and its name in messages."""

    what: str
    lines: tuple[LabelLine, ...]


def hive_labels(batch: Batch) -> Iterator[LabelText]:
    """A label for each hive: its name, its number out of the total, its owner, its box, its form and the date."""
    total = sum(hives.count for hives in batch.hives)
    for hives in batch.hives:
        name = hives.name or "hive"
        for number in _numbers(hives.count, total):
            yield _label(
                f"hive label, {name}",
                LabelLine(name, 13.0, strong=True),
                LabelLine(f"hive {number}", 11.5, strong=True),
                LabelLine(", ".join(filter(None, (_order(hives), hives.customer)))),
                LabelLine(_format(hives), 11.5),
                LabelLine("" if hives.is_packed else hives.form),
                LabelLine(_day(batch, (hives,))),
            )


def unit_labels(batch: Batch) -> Iterator[LabelText]:
    """A label for each made item: its name, its number out of the total, its hives, their owner and the date."""
    total = sum(line.count for line in batch.lines)
    for line in batch.lines:
        shared = not line.item.is_per_hive
        where = "the whole batch" if shared else ", ".join(filter(None, (line.hives.name, _format(line.hives))))
        for number in _numbers(line.count, total):
            yield _label(
                f"{line.item.name} label, {where}",
                LabelLine(line.item.title, 12.0, strong=True),
                LabelLine(number, 11.5, strong=True),
                LabelLine(where, 11.5),
                LabelLine("" if shared else ", ".join(filter(None, (_order(line.hives), line.hives.customer)))),
                LabelLine("" if shared else _form(line)),
                LabelLine(_day(batch, batch.hives if shared else (line.hives,))),
            )


def piece_labels(planned: PlannedBatch) -> Iterator[LabelText]:
    """A label for each piece to cut: its mark, its number out of the total, its size and its address."""
    unit = planned.batch.unit
    needs = needs_of(planned)
    total = sum(need.count for need in needs)
    for need in needs:
        cells = cells_of(need.part)
        sizes = [str(each) for each in cells] or [each.number(unit) for each in need.part.size]
        size = f"{' x '.join(sizes)} {'cells' if cells else unit}"
        for number in _numbers(need.count, total):
            yield _label(
                f"piece label, {need.mark}",
                LabelLine(f"{need.mark}   {number}", 14.0, strong=True),
                LabelLine(size, 11.5),
                LabelLine(need.address, 9.0),
            )


def _numbers(count: int, total: int) -> Iterator[str]:
    """The text on each of `count` identical labels, or on one label to copy if `total` labels are too many to print.

    >>> list(_numbers(2, 2)), list(_numbers(7_000, 30_000))
    (['1 of 2', '2 of 2'], ['__ of 7000, print 7000'])
    """
    if total > MOST_LABELS:
        yield f"__ of {count}, print {count}"
        return
    for n in range(1, count + 1):
        yield f"{n} of {count}"


def labels_pdf(planned: PlannedBatch) -> bytes | None:
    """The labels that the design requests, or None if there are none.

    Raises InputError with every label whose text does not fit, even in the smallest type.
    """
    plates = label_pages(planned)
    if not plates:
        return None
    title = f"{TITLE}: {planned.batch.pages.title}"
    return write_plates(plates, title=title, subject="Labels for hives, items and pieces")


def label_pages(planned: PlannedBatch) -> list[Plate]:
    """The pages of all requested labels; each kind starts on a new page. Raises InputError as `labels_pdf` does."""
    batch, settings = planned.batch, planned.batch.pages.labels
    grid = settings.on(batch.pages.paper)
    plates: list[Plate] = []
    refused: list[LabelText] = []
    odd = ""
    for entry, texts in _kinds(planned, settings):
        made, too_large = label_plates(
            [label.lines for label in texts], grid, batch.pages.paper, frame=settings.frame, entry=entry
        )
        plates += made
        refused += [texts[n] for n in too_large]
        odd += "".join(dict.fromkeys(missing("".join(line.text for label in texts for line in label.lines))))
    if refused:
        raise InputError(*_refusals(refused, f"{grid.width} x {grid.height}"))
    words = f"{batch.name}, print at 100 %"
    if odd:
        words += "; a ? replaces a letter that cannot be printed"
    else:
        high = grid.size[1]
        whole = high.mm.denominator == 1 and (high.inches * 64).denominator != 1  # as a ruler shows it
        words += f"; all labels of a full page are {high.text('mm' if whole else batch.unit)} high"
    return labels_footed(plates, grid, batch.pages.paper, words)


def refuse_long_labels(batch: Batch) -> None:
    """Raises InputError, before planning, with every label of a hive or an item that does not fit."""
    settings, grid = batch.pages.labels, batch.pages.labels.on(batch.pages.paper)
    texts = [*(hive_labels(batch) if settings.hives else ()), *(unit_labels(batch) if settings.units else ())]
    _, too_large = label_plates([each.lines for each in texts], grid, batch.pages.paper, frame=False, entry="")
    if too_large:
        with lengths_in(batch.unit):
            raise InputError(*_refusals([texts[n] for n in too_large], f"{grid.width} x {grid.height}"))


def _kinds(planned: PlannedBatch, settings: LabelSettings) -> Iterator[tuple[str, list[LabelText]]]:
    if settings.hives:
        yield "Hives", list(hive_labels(planned.batch))
    if settings.units:
        yield "Things made", list(unit_labels(planned.batch))
    if settings.pieces:
        yield "Pieces", list(piece_labels(planned))


def _refusals(refused: list[LabelText], size: str) -> list[Problem]:
    """One problem for each text that does not fit, even if many labels have that text."""
    kinds: dict[str, LabelText] = {}
    for label in refused:
        kinds.setdefault(label.what, label)
    problems = []
    for what, label in list(kinds.items())[:_TOLD]:
        text = " / ".join(line.text for line in label.lines)
        given = f"{text!r} for a label of {size}"
        problems.append(
            Problem(f"labels, {what}", given, "text that fits in 8 pt type", "Give larger labels, or shorter names.")
        )
    if len(kinds) > _TOLD:
        rest = f"{len(kinds) - _TOLD} more texts"
        problems.append(Problem("labels", rest, f"text that fits on {size}", "Give larger labels, or shorter names."))
    return problems


def _label(what: str, *lines: LabelLine) -> LabelText:
    return LabelText(what, tuple(line for line in lines if line.text))


def _form(line: BatchLine) -> str:
    """The form of the item (an unassembled kit, or a rim with or without mesh), or "" if it is packed."""
    form, is_bare = line.hives.form, not line.hives.is_packed and line.item.board_part is BoardPart.RIM
    return form if form == "unassembled kit" or is_bare else ""


def _day(batch: Batch, hives: Iterable[Hives]) -> str:
    """The earliest date on which any of these hives are due, as text."""
    first = first_due(hives)
    if first is None:
        return ""
    return f"{'on by' if first.day == batch.days.on_by else 'due'} {in_short(first.day)}"


def _format(hives: Hives) -> str:
    """The format of the box, unless the name of the hives ends with it."""
    return "" if hives.name.endswith(hives.format) else hives.format


def _order(hives: Hives) -> str:
    return f"order {hives.order}" if hives.order else ""
