"""Schedule a batch: who does what, and when."""

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from woodshop.cli.frame import DATE, FILE, claim, command, main, read_text, say, show
from woodshop.cli.planning import effort_of
from woodshop.errors import InputError, Problem

if TYPE_CHECKING:
    from woodshop.plan.book.happened import Happened
    from woodshop.plan.values import PlannedBatch
    from woodshop.schedule.schedule_json import WrittenSchedule


@main.command()
@click.argument("design", type=FILE)
@click.option("--earlier", type=FILE, help="The plan to schedule. Default: out/<batch>/plan.json.")
@click.option("--today", type=DATE, metavar="DATE", help="Schedule what is left from this day on, such as 2026-11-07.")
@click.option(
    "--done", type=FILE, help="What is finished: a sheet of events, as woodshop book export writes it. Needs --today."
)
@click.option("--book", type=FILE, help="The shop's book. Default: the book that the design names, if any.")
@click.option(
    "--replaces", type=FILE, help="The schedule that this one replaces. Default: the last one of this plan, if any."
)
@click.option("--out", type=FILE, help="Folder for the schedule. Default: out/<batch>-days.")
@click.option("--quick", is_flag=True, help="Spend less time searching. The schedule may be slightly worse.")
@click.option("--thorough", is_flag=True, help="Search longer: minutes for a large order.")
@command
def schedule(
    design: Path,
    earlier: Path | None,
    today: datetime | None,
    done: Path | None,
    book: Path | None,
    replaces: Path | None,
    out: Path | None,
    quick: bool,
    thorough: bool,
    as_json: bool,
) -> int:
    """Schedule a planned batch: who does what, and when.

    The cutting is not planned again. Without a first day of work and without --today, work is planned back from the due
    dates, and the schedule says by which day to begin. Without any date, only the time that the work takes is printed.

    Example: woodshop schedule designs/hobby-batch.toml --today 2026-10-03
    """
    from woodshop.documents.days.days import DAYS_NAMES, days_files, schedule_section
    from woodshop.documents.days.goals import late_lots
    from woodshop.documents.plan_design import planned_before
    from woodshop.files.folder import write_folder
    from woodshop.plan.book.happened import Happened, happened_on_sheet
    from woodshop.plan.plan_batch import book_to_json
    from woodshop.plan.rest.earlier_plan import read_sealed
    from woodshop.schedule.schedule_batch import schedule_batch
    from woodshop.units.lengths import lengths_in

    effort = effort_of(quick, thorough)
    claim(out, DAYS_NAMES)
    planned, where = planned_before(design, earlier=earlier, book=book, say=say)
    folder = out if out is not None else Path("out") / f"{planned.batch.name}-days"
    claim(folder, DAYS_NAMES)
    before = _replaced(replaces, (folder, where.parent), planned.batch.name)
    happened: tuple[Happened, ...] = ()
    if done is not None:
        happened = happened_on_sheet(done, planned.batch.unit, planned.batch.lumberyard.currency)
    elif today is not None:
        happened = _in_book(design, book, planned)
    found = schedule_batch(
        planned, today=None if today is None else today.date(), happened=happened, say=say, effort=effort
    )
    with lengths_in(planned.batch.unit):
        if found.schedule is None:
            show(schedule_section(found, None), as_json)
            return 0
        _, plan = read_sealed(read_text(where), str(where))
        write_folder(folder, days_files(found, before, plan.digest), book_to_json(planned.batch))
        show(schedule_section(found, folder), as_json)
    return 1 if late_lots(found.schedule) or planned.report.has_errors else 0


def _in_book(design: Path, book: Path | None, planned: "PlannedBatch") -> "tuple[Happened, ...]":
    """The events since the plan, from the shop's book, if there is one."""
    from woodshop.design.design_file import read_design
    from woodshop.plan.book.happened import happened_in_book

    named = read_design(design, book).book
    if named is None:
        return ()
    return happened_in_book(named, 0 if planned.batch.inventory is None else planned.batch.inventory.number)


def _replaced(replaces: Path | None, folders: tuple[Path, ...], batch: str) -> "WrittenSchedule | None":
    """The schedule in the file `replaces` or, if that is None, in the first folder that has a schedule.

    Raises InputError if the schedule is unsound or belongs to another batch.
    """
    from woodshop.schedule.schedule_json import read_schedule

    known = (folder / "schedule.json" for folder in folders)
    where = replaces if replaces is not None else next((path for path in known if path.is_file()), None)
    if where is None:
        return None
    written = read_schedule(read_text(where), str(where))
    if written.schedule.project.name != batch:
        given = f"a schedule of {written.schedule.project.name!r}"
        do = "Give the schedule of this batch with --replaces, or another folder with --out."
        raise InputError(Problem(str(where), given, f"one of {batch!r}", do))
    return written
