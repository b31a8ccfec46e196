"""Plans a design file, or the rest of its plan, and writes the folder. The command and the page both call this."""

from collections.abc import Callable, Mapping
from contextlib import ExitStack
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from woodshop.checks.check_batch import check_batch, measured_batch
from woodshop.cutting.model.plan import Effort
from woodshop.cutting.model.reading import parse_json
from woodshop.design.batch import Batch, Unit
from woodshop.design.design_file import Design, read_design
from woodshop.design.lumberyard.stocked import read_stocked
from woodshop.design.settle.settle import settle
from woodshop.documents.fullsize.labels import refuse_long_labels
from woodshop.documents.packet.what_changed import what_changed_section
from woodshop.documents.result import RESULT_NAMES, result_files, result_section
from woodshop.drawing.values.model import Section, joined
from woodshop.errors import InputError, Problem
from woodshop.files.folder import claimed, write_folder
from woodshop.files.one_file import read_text_file
from woodshop.findings import Report
from woodshop.plan.book.reading import read_booked
from woodshop.plan.book.rest import design_since, progress_since, read_since
from woodshop.plan.book.saw_ticks import files_at_saw
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.plan.plan_batch import book_to_json
from woodshop.plan.prove_batch import prove_batch
from woodshop.plan.rest.earlier_plan import EarlierPlan, read_earlier, read_sealed
from woodshop.plan.rest.plan_rest import PlanOfRest, plan_rest
from woodshop.plan.rest.progress import Progress
from woodshop.plan.rest.reading import read_counts, read_progress, with_counts
from woodshop.plan.values import PlannedBatch
from woodshop.plan.written_plan import read_planned
from woodshop.schedule.late_orders import ImpossibleDatesError
from woodshop.schedule.schedule_batch import schedule_batch
from woodshop.schedule.schedule_json import WrittenSchedule, read_schedule
from woodshop.schedule.scheduled import ScheduledBatch
from woodshop.schedule.values import Schedule
from woodshop.units.wording import LengthUnit

Say = Callable[[str], None]
RESULTS = Path("out")
"""The folder that holds the folder of each batch, if no other is given."""


@dataclass(frozen=True, slots=True)
class DesignPlan:
    """What planning a design gave.

    If the check found errors, `planned` is None and nothing was written. Otherwise the result is in `folder`. If the
    due dates cannot be kept, `scheduled` is None and `impossible` says why. `rest` is given if only the rest of an
    earlier plan was planned.
    """

    batch: Batch
    report: Report
    folder: Path
    planned: PlannedBatch | None = None
    scheduled: ScheduledBatch | None = None
    impossible: str = ""
    rest: PlanOfRest | None = None

    @property
    def section(self) -> Section:
        """The message after the folder is written. It has no blocks if nothing was written."""
        if self.planned is None:
            return Section("", ())
        section = result_section(self.planned, self.folder, self.scheduled, self.impossible)
        if self.rest is None:
            return section
        return joined((what_changed_section(self.rest, self.batch.unit), section))


def settled_design(design: Design, shown: LengthUnit | None = None) -> Batch:
    """The settled batch of a design whose orders and book have been read. Reads its lumberyards.

    Texts are in the unit `shown`, by default that of the design.
    """
    return settle(design, read_stocked(design), shown)


def settled_file(path: Path, book: Path | None = None, as_of: int | None = None) -> Batch:
    """The settled batch of a design file. `book` replaces the design's own book, which is read up to event `as_of`, or
    to its end if None. Raises InputError if anything cannot be read, contradicts itself, or fits on no label.
    """
    batch = settled_design(read_booked(path, book, as_of))
    refuse_long_labels(batch)
    return batch


def checked_file(
    path: Path, book: Path | None = None, as_of: int | None = None, say: Say = lambda line: None
) -> tuple[Batch, tuple[Unit, ...], Report]:
    """The batch, the units and the report of a checked design file. `path`, `book` and `as_of` are as in
    `settled_file`; `say` takes lines of progress.
    """
    batch = settled_file(path, book, as_of)
    units, report, _ = measured_batch(batch, say)
    return batch, units, report


def plan_design(
    design: Path,
    *,
    out: Path | None = None,
    results: Path = RESULTS,
    anyway: bool = False,
    book: Path | None = None,
    as_of: int | None = None,
    today: date | None = None,
    effort: Effort = "default",
    prove: bool = False,
    say: Say,
) -> DesignPlan:
    """Checks, plans, prices, schedules and draws a design, and writes its folder: `out`, or `results`/<batch>.

    `book` and `as_of` are as in `settled_file`. With errors, nothing is written unless `anyway` is true. Work begins on
    `today`, or on the crew's own first day, or is planned back from the due dates. `effort` is that of the planner and
    the scheduler; with `prove`, the search for proofs goes on much longer. `say` takes lines of progress. Raises
    InputError for input that cannot be used or a folder that cannot be written, and NothingToCutError.
    """
    with ExitStack() as kept:
        if out is not None:
            kept.enter_context(claimed(out, RESULT_NAMES))
        batch, units, report = checked_file(design, book, as_of, say)
        folder = out if out is not None else results / batch.name
        if report.has_errors and not anyway:
            return DesignPlan(batch, report, folder)
        kept.enter_context(claimed(folder, RESULT_NAMES))
        planned = plan_to_buy(batch, units, report, progress=say, effort=effort)
        planned = prove_batch(planned, effort, say, prove=prove)
        found, impossible = _scheduled(planned, today, effort, say)
        replaced = _replaced(folder, batch.name, say)
        names = files_at_saw(design, read_design(design).book, book)
        files = result_files(
            planned, progress=say, scheduled=found, replaced=replaced, impossible=impossible, files=names
        )
        write_folder(folder, files, book_to_json(batch))
    return DesignPlan(batch, report, folder, planned, found, impossible)


def plan_rest_of_design(
    design: Path,
    *,
    out: Path | None = None,
    results: Path = RESULTS,
    earlier: Path | None = None,
    progress: Path | None = None,
    counts: Path | None = None,
    is_bought: bool = True,
    offcuts: bool = False,
    anyway: bool = False,
    book: Path | None = None,
    as_of: int | None = None,
    today: date | None = None,
    effort: Effort = "default",
    say: Say,
) -> DesignPlan:
    """Plans what an earlier plan still needs, and writes its folder: `out`, or `results`/<batch>-rest.

    `earlier` is the earlier plan, by default `results`/<batch>/plan.json. What has happened is read from the sheet
    `progress`, or from the book. `counts` is a sheet of new counts of hives. If `is_bought` is false, nothing on the
    earlier buy list has been bought. `offcuts` uses what is left of boards already cut. `anyway`, `book`, `as_of`,
    `today`, `effort`, `say` and what it raises are as in `plan_design`.
    """
    named = read_design(design, book)
    name = named.batch
    where = earlier if earlier is not None else results / name / "plan.json"
    folder = out if out is not None else results / f"{name}-rest"
    refuse_folder_of(where, folder)
    with claimed(folder, RESULT_NAMES):
        text = _json_text(where)
        before = read_earlier(text, str(where))
        if progress is None and named.book is not None:
            since = read_since(parse_json(text, str(where)), named, as_of, str(where))
            wanted = design_since(since, named)
            done = progress_since(since, wanted, read_stocked(wanted))
            if not is_bought:
                asked = "the book, which says what was bought, or --not-bought"
                raise InputError(Problem("--not-bought", "both", asked, "Leave --not-bought away."))
        else:
            wanted = read_booked(design, book, before.book_event)
            done = Progress() if progress is None else read_progress(progress, wanted.unit)
        done = replace(done, keeps_offcuts=offcuts, counts={} if counts is None else read_counts(wanted, counts))
        if not is_bought:
            if progress is not None:
                asked = "--progress, or --not-bought"
                do = "Leave --not-bought away; if only part was bought, give it in rows with the event bought."
                raise InputError(Problem("--not-bought", "both", asked, do))
            done = replace(done, bought=())
        return planned_rest(
            wanted, before, where, done, folder, anyway=anyway, today=today, effort=effort, say=say,
            place=str(progress or "progress"), files=files_at_saw(design, read_design(design).book, book),
        )  # fmt: skip


def planned_rest(
    design: Design,
    before: EarlierPlan,
    where: Path,
    done: Progress,
    folder: Path,
    *,
    anyway: bool = False,
    today: date | None = None,
    effort: Effort = "default",
    say: Say,
    place: str = "progress",
    files: Mapping[str, str] | None = None,
) -> DesignPlan:
    """Plans what the plan `before`, in the file `where`, still needs after `done`, and writes it into `folder`.

    `design` has its orders and its stock as they are now. `place` names the place of `done` in messages, `files` the
    files of the saw page. `anyway`, `today`, `effort`, `say` and what it raises are as in `plan_design`.
    """
    batch = settled_design(with_counts(design, done.counts))
    units, report = check_batch(batch)
    if report.has_errors and not anyway:
        return DesignPlan(batch, report, folder)
    found = plan_rest(before, batch, units, report, done, where=place, say=say, effort=effort)
    days, impossible = _scheduled(found.rest, today, effort, say)
    replaced = _replaced(folder, batch.name, say) or _replaced(where.parent, batch.name, say)
    made = result_files(
        found.rest, progress=say, rest=found, scheduled=days, replaced=replaced, impossible=impossible, files=files
    )
    write_folder(folder, made, book_to_json(batch))
    return DesignPlan(batch, report, folder, found.rest, days, impossible, found)


def planned_before(
    design: Path,
    *,
    earlier: Path | None = None,
    results: Path = RESULTS,
    book: Path | None = None,
    look: Callable[[Batch], object] | None = None,
    say: Say,
) -> tuple[PlannedBatch, Path]:
    """The batch as it was planned from this design, and the file of that plan: `earlier`, or by default
    `results`/<batch>/plan.json.

    The book is read up to the plan's last event; `book` replaces the design's own. `look` may refuse the batch before
    it is measured. `say` takes lines of progress. Raises InputError if there is no plan, it plans only the rest of
    another plan, or the design has changed.
    """
    named = read_design(design, book)
    where = earlier if earlier is not None else results / named.batch / "plan.json"
    if earlier is None and not where.exists():
        do = f"Run: woodshop plan {design}. Or give its plan.json with --earlier."
        raise InputError(Problem(str(where), "no plan", f"the plan of {named.batch}", do))
    text = _json_text(where)
    _, written = read_sealed(text, str(where))
    batch = settled_file(design, book, None if named.book is None else written.book_event)
    if look is not None:
        look(batch)
    units, report, _ = measured_batch(batch, say)
    return read_planned(text, str(where), batch, units, report), where


def refuse_folder_of(plan: Path, folder: Path) -> None:
    """Raises InputError if `folder` holds this plan, which would be replaced."""
    if folder.resolve() == plan.parent.resolve():
        given, asked = f"{folder}, the folder of the earlier plan", "another folder, so that the earlier plan is kept"
        raise InputError(Problem("--out", given, asked, "Give another folder, or leave --out away."))


def schedule_beside(plan: Path, say: Say) -> Schedule | None:
    """The schedule in the plan's folder, if it was made for this plan; otherwise None."""
    written = _written_schedule(plan.parent, say)
    _, read = read_sealed(_json_text(plan), str(plan))
    return written.schedule if written is not None and written.plan == read.digest else None


def _scheduled(
    planned: PlannedBatch, today: date | None, effort: Effort, say: Say
) -> tuple[ScheduledBatch | None, str]:
    """The batch scheduled from `today`, or from its own first day, or back from its due dates; or the reason if that is
    impossible.

    Impossible dates are not an error here, because the packet is needed in any case.
    """
    say("scheduling the work")
    try:
        return schedule_batch(planned, today=today, say=say, effort=effort), ""
    except ImpossibleDatesError as why:
        words = [f"{each.where[:1].upper()}{each.where[1:]}: {each.given}. {each.do}" for each in why.problems]
        return None, " ".join(words)


def _replaced(folder: Path, batch: str, say: Say) -> WrittenSchedule | None:
    """The schedule of this batch that a new one in this folder replaces."""
    written = _written_schedule(folder, say)
    return written if written is not None and written.schedule.project.name == batch else None


def _written_schedule(folder: Path, say: Say) -> WrittenSchedule | None:
    """The schedule in a folder of results; None if it is missing or cannot be read."""
    where = folder / "schedule.json"
    if not where.is_file():
        return None
    try:
        return read_schedule(_json_text(where), str(where))
    except InputError as why:
        say(f"not used: {why.problems[0]}")
        return None


def _json_text(path: Path) -> str:
    return read_text_file(path, "a JSON file")
