"""The rest of a plan after what the saw page has entered: planned and written beside, to be looked at first."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from woodshop.cutting.model.reading import parse_json
from woodshop.design.design_file import Design, read_design
from woodshop.design.lumberyard.stocked import read_stocked
from woodshop.design.orders.lines import with_read_orders
from woodshop.documents.packet.what_changed import changes_at_saw
from woodshop.documents.plan_design import planned_rest
from woodshop.drawing.values.model import Block, Bullets, Columns, Heading, KeepTogether, Paragraph, Table, with_pages
from woodshop.errors import InputError, Problem
from woodshop.files.one_file import read_text_file
from woodshop.plan.book.rest import BookSince, design_since, progress_since, read_since
from woodshop.plan.book.saw_ticks import files_at_saw, plan_mark
from woodshop.plan.rest.earlier_plan import EarlierPlan, read_earlier
from woodshop.plan.rest.progress import BoardFault, LayoutCut, Progress
from woodshop.records.store import open_book
from woodshop.units.lengths import Length, lengths_in


def propose_rest(
    design: Path,
    earlier: Path,
    into: Path,
    book: Path | None,
    is_own: bool,
    begun: Mapping[int, int],
    off: Mapping[str, Length],
    say: Callable[[str], None],
) -> dict[str, list[dict[str, Any]]]:
    """Plans the rest of the plan in the file `earlier`, writes its packet into the folder `into`, and returns what
    changes at the saw, by unit of length, "in" and "mm", as plain blocks: headings, paragraphs and tables.

    `book` has the ticks, None if there are none; `is_own` says that it is for ticks only. `begun` counts the boards of
    each layout that are cut into: they are finished as planned, so they count as cut. `off` is what was squared off a
    board before it was found bad, by its code: the board is that much shorter. `say` takes lines of progress.
    Raises InputError and NothingToCutError as planning does.
    """
    text = read_text_file(earlier, "a JSON file")
    before = read_earlier(text, str(earlier))
    named = read_design(design)
    wanted, done = _since(named, parse_json(text, str(earlier)), book, is_own, str(earlier))
    cut = {row.layout: row for row in done.cut}
    for layout, times in begun.items():
        if layout not in cut or cut[layout].times < times:
            cut[layout] = LayoutCut(layout, times)
    boards = tuple(_shorter(each, off[each.board], before) if each.board in off else each for each in done.boards)
    done = replace(done, cut=tuple(cut.values()), boards=boards)
    files = files_at_saw(design, named.book)
    found = planned_rest(wanted, before, earlier, done, into, say=say, files=files)
    if found.rest is None:
        raise InputError(Problem(design.name, "a design with errors", "one without", "See: woodshop check."))
    shown = {}
    for unit in ("in", "mm"):
        with lengths_in(unit):
            shown[unit] = _plain(changes_at_saw(found.rest, unit).blocks)
    return shown


def _since(
    design: Design, written: Mapping[str, Any], book: Path | None, is_own: bool, where: str
) -> tuple[Design, Progress]:
    """The design with its stock as it is now, and what has happened since the plan."""
    if not is_own:
        since = read_since(written, design, None, where)
        wanted = design_since(since, design)
        return wanted, progress_since(since, wanted, read_stocked(wanted))
    if "book" in written:
        do = "Name the book in the design again."
        raise InputError(Problem(where, "a plan made with a book", "a plan made without one, as the design now is", do))
    wanted = with_read_orders(replace(design, book=None))
    if book is None:
        return wanted, Progress()
    with open_book(book) as opened:
        latest = opened.state()
        own = next((each for each in latest.batches if each.batch == written["batch"]), None)
        started = own.started.get(plan_mark(str(written["digest"])), 0) if own is not None else 0
        since = BookSince(written, opened.state(started), latest)
    # A book of ticks says nothing of purchases: what the plan lists is bought.
    return wanted, replace(progress_since(since, wanted, read_stocked(wanted)), bought=None)


def _shorter(fault: BoardFault, off: Length, earlier: EarlierPlan) -> BoardFault:
    """The fault of a board that was squared before: its length, and its bad stretches as measured from that end."""
    if fault.layout not in earlier.layouts or fault.length is not None:
        return fault
    material, n = earlier.layouts[fault.layout]
    plan, grid = earlier.plans[material], earlier.grids[material]
    long = grid * next(each.length for each in plan.job.stock if each.id == plan.layouts[n].stock) - off
    return replace(fault, length=long, bad=tuple((low, min(high, long)) for low, high in fault.bad if low < long))


def _plain(blocks: Sequence[Block]) -> list[dict[str, Any]]:
    """The blocks as JSON values for the page."""
    found: list[dict[str, Any]] = []
    for block in blocks:
        if isinstance(block, KeepTogether | Columns):
            found += _plain(block.blocks)
        elif isinstance(block, Heading):
            found.append({"text": with_pages(block.text, {}), "heading": True})
        elif isinstance(block, Paragraph):
            found.append({"text": " ".join(filter(None, (block.lead, with_pages(block.text, {}))))})
        elif isinstance(block, Bullets):
            found += [{"text": with_pages(each, {})} for each in block.items]
        elif isinstance(block, Table):
            rows = [[column.heading for column in block.columns], *block.rows]
            found.append({"rows": [["" if cell is None else str(cell) for cell in row] for row in rows]})
    return found
