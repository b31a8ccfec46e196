"""Plan a batch, the rest of a batch, or a cutting job; verify a plan; list orders."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from woodshop.cli.checking import book_options, stop_for_errors
from woodshop.cli.frame import DATE, FILE, claim, command, main, print_json, read_text, say, show
from woodshop.errors import InputError, Problem

if TYPE_CHECKING:
    from woodshop.cutting.model.plan import Effort


def efforts(function: Callable[..., Any]) -> Callable[..., Any]:
    """The options --quick and --thorough; a command accepts only one of them."""
    quick = click.option("--quick", is_flag=True, help="Spend less time searching. The plan may cost slightly more.")
    thorough = click.option("--thorough", is_flag=True, help="Search longer: minutes, or hours for a large order.")
    return quick(thorough(function))


prove_option = click.option(
    "--prove", is_flag=True, help="Go on until the plan is proved the cheapest: minutes, or hours for a large order."
)


def effort_of(quick: bool, thorough: bool) -> "Effort":
    """The planner's effort for these options. Raises UsageError if both are given."""
    if quick and thorough:
        raise click.UsageError("--quick and --thorough were both given; give one of them, or neither.")
    return "quick" if quick else "long" if thorough else "default"


@main.command()
@click.argument("design", type=FILE)
@click.option("--out", type=FILE, help="Folder for this batch. Default: out/<batch>, or out/<batch>-rest with --rest.")
@click.option("--anyway", is_flag=True, help="Write the packet despite errors. Every page says DO NOT CUT.")
@click.option("--rest", is_flag=True, help="Plan only what is still needed from an earlier plan. Keeps what is cut.")
@click.option("--only", metavar="CUSTOMER", help="Print the pages of one customer or order out of the plan as it is.")
@click.option("--earlier", type=FILE, help="With --rest or --only: the plan to use. Default: out/<batch>/plan.json.")
@click.option(
    "--progress",
    type=FILE,
    help="With --rest: sheet of boards cut, and of pieces spoiled, lost or found. Default: the book.",
)
@click.option("--counts", type=FILE, help="With --rest: spreadsheet of new counts, columns hives and count.")
@click.option("--not-bought", is_flag=True, help="With --rest: nothing on the earlier buy list has been bought yet.")
@click.option("--today", type=DATE, metavar="DATE", help="Schedule the work from this day on, such as 2026-11-07.")
@click.option("--offcuts", is_flag=True, help="With --rest: use the offcuts from boards already cut.")
@book_options
@prove_option
@efforts
@command
def plan(
    design: Path,
    out: Path | None,
    anyway: bool,
    rest: bool,
    only: str | None,
    earlier: Path | None,
    progress: Path | None,
    counts: Path | None,
    not_bought: bool,
    today: datetime | None,
    offcuts: bool,
    book: Path | None,
    as_of: int | None,
    prove: bool,
    quick: bool,
    thorough: bool,
    as_json: bool,
) -> int:
    """Check, plan, price and draw a batch, and write its packet.

    With --rest, plan what is still needed after part of an earlier plan has been cut, boards turn out bad, or
    quantities change. With --only, print one customer's packet, for assembling, packing and placing that
    hardware: nothing is replanned.

    Example: woodshop plan designs/hobby-batch.toml --out out/hobby-batch
    """
    effort = effort_of(quick, thorough)
    given = {
        "--earlier": earlier is not None,
        "--progress": progress is not None,
        "--counts": counts is not None,
        "--not-bought": not_bought,
        "--offcuts": offcuts,
    }
    alone = [name for name, is_given in given.items() if is_given]
    if only is not None:
        others = {
            "--rest": rest,
            **given,
            "--as-of": as_of is not None,
            "--today": today is not None,
            "--prove": prove,
            "--quick": quick,
            "--thorough": thorough,
        }
        wrong = [name for name, is_given in others.items() if is_given and name != "--earlier"]
        if wrong:
            raise click.UsageError(f"{wrong[0]} was given with --only, which plans nothing; remove one of them.")
        return _plan_only(design, only, out, earlier, book, anyway=anyway, as_json=as_json)
    if rest and prove:
        raise click.UsageError("--prove was given with --rest, whose plans are not proved; remove one of them.")
    if alone and not rest:
        raise click.UsageError(f"{alone[0]} was given without --rest; add --rest, or remove it.")
    from woodshop.documents.plan_design import plan_design, plan_rest_of_design

    first_day = None if today is None else today.date()
    if rest:
        found = plan_rest_of_design(
            design, out=out, earlier=earlier, progress=progress, counts=counts, is_bought=not not_bought,
            offcuts=offcuts, anyway=anyway, book=book, as_of=as_of, today=first_day, effort=effort, say=say,
        )  # fmt: skip
    else:
        found = plan_design(
            design,
            out=out,
            anyway=anyway,
            book=book,
            as_of=as_of,
            today=first_day,
            effort=effort,
            prove=prove,
            say=say,
        )
    if found.planned is None:
        return stop_for_errors(found.report, as_json, _ERRORS)
    show(found.section, as_json)
    return 1 if found.report.has_errors else 0


def _plan_only(
    design: Path,
    only: str,
    out: Path | None,
    earlier: Path | None,
    book: Path | None,
    *,
    anyway: bool,
    as_json: bool,
) -> int:
    from woodshop.documents.fullsize.drawings import slug
    from woodshop.documents.packet.due import batch_dates
    from woodshop.documents.packet.one_customer import ONLY_NAMES, customer_files, customer_section
    from woodshop.documents.plan_design import planned_before, refuse_folder_of, schedule_beside
    from woodshop.files.folder import write_folder
    from woodshop.plan.one_customer import hives_named, of_hives
    from woodshop.plan.plan_batch import book_to_json
    from woodshop.units.lengths import lengths_in

    claim(out, ONLY_NAMES)
    planned, where = planned_before(
        design, earlier=earlier, book=book, look=lambda batch: hives_named(batch, only), say=say
    )
    customer, hives = hives_named(planned.batch, only)
    name = slug(customer) or f"customer-{planned.batch.hives.index(hives[0]) + 1}"
    folder = out if out is not None else Path("out") / f"{planned.batch.name}-only-{name}"
    refuse_folder_of(where, folder)
    claim(folder, ONLY_NAMES)
    part = of_hives(planned, hives)
    if part.report.has_errors and not anyway:
        return stop_for_errors(part.report, as_json, _ERRORS)
    say(f"drawing the pages of {customer}")
    with lengths_in(planned.batch.unit):
        files = customer_files(planned, part, customer, batch_dates(planned, schedule_beside(where, say)))
    write_folder(folder, files, book_to_json(planned.batch))
    show(customer_section(part, customer, str(folder), str(where)), as_json)
    return 1 if part.report.has_errors else 0


_ERRORS = "Nothing was written. Fix the errors first, or use --anyway for a packet marked DO NOT CUT."


@main.command()
@click.argument("job", type=FILE)
@click.option("--out", type=FILE, help="Write the plan to this file, and its proof beside, instead of printing it.")
@prove_option
@efforts
@command
def cut(job: Path, out: Path | None, prove: bool, quick: bool, thorough: bool, as_json: bool) -> None:
    """Plan a cutting job from a JSON file and print the plan as JSON.

    With --out, a proof tree is written beside the plan if one is found: plan-proof.json.gz.

    Example: woodshop cut job.json --out plan.json
    """
    from woodshop.cutting.layouts.fewer_layouts import fewer_layouts
    from woodshop.cutting.model.job import read_job
    from woodshop.cutting.model.lumber_job import is_lumber_job
    from woodshop.cutting.model.plan import is_plan, plan_to_json
    from woodshop.cutting.model.proof import is_proof, packed
    from woodshop.cutting.planner.plan_job import plan as plan_job
    from woodshop.cutting.planner.proof_tree import PROVE_NODES, TREE_NODES, proved_by_tree
    from woodshop.drawing.values.model import Data, Paragraph, Section
    from woodshop.files.one_file import json_bytes, refuse_other, replace_file

    effort = effort_of(quick, thorough)
    if out is None and prove:
        raise click.UsageError("--prove was given without --out; add --out PLAN, so that the proof can be kept.")
    text = read_text(job)
    if is_lumber_job(text):
        if prove:
            raise click.UsageError("--prove was given for a job in several thicknesses, which gets no proof tree.")
        _cut_lumber(text, job, out, effort, as_json)
        return
    beside = None if out is None else out.with_name(f"{out.stem}-proof.json.gz")
    if out is not None and beside is not None:
        refuse_other(out, "a plan", is_plan, job)
        refuse_other(beside, "a proof", is_proof, job)
    found = plan_job(read_job(text), effort=effort, progress=say)
    found = fewer_layouts(found, effort=effort, progress=say)
    if out is None or beside is None:
        print_json(plan_to_json(found))
        return
    found = proved_by_tree(found, PROVE_NODES if prove else TREE_NODES[effort], say, is_open=prove)
    if found.proof is not None:
        replace_file(beside, packed(found.proof.text), "a proof", is_proof, job)
        found = replace(found, proof=replace(found.proof, file=beside.name))
    replace_file(out, json_bytes(plan_to_json(found)), "a plan", is_plan, job)
    if found.proof is None:
        beside.unlink(missing_ok=True)  # the proof of an earlier plan
    summed: Data = {"cost": found.cost, "bound": found.bound, "gap": found.gap, "assurance": found.assurance}
    words = ", ".join(f"{key} {value}" for key, value in summed.items())
    show(Section("", (Paragraph(words),), summed), as_json)


def _cut_lumber(text: str, job: Path, out: Path | None, effort: "Effort", as_json: bool) -> None:
    """Plans a job in several thicknesses, for the command `cut`."""
    from woodshop.cutting.lumber.fewer import fewer_lumber_layouts
    from woodshop.cutting.lumber.plan_lumber import plan_lumber
    from woodshop.cutting.model.lumber_job import read_lumber_job
    from woodshop.cutting.model.lumber_plan import LUMBER_PLAN_FORMAT, lumber_plan_to_json
    from woodshop.cutting.model.plan import PLAN_FORMAT, is_plan
    from woodshop.documents.answers.written_plan import bought_section
    from woodshop.files.one_file import json_bytes, refuse_other, replace_file

    is_either = partial(is_plan, formats=(PLAN_FORMAT, LUMBER_PLAN_FORMAT))
    if out is not None:
        refuse_other(out, "a plan", is_either, job)
    found = plan_lumber(read_lumber_job(text), effort=effort, progress=say)
    found = fewer_lumber_layouts(found, effort=effort, progress=say)
    if out is None:
        print_json(lumber_plan_to_json(found))
        return
    replace_file(out, json_bytes(lumber_plan_to_json(found)), "a plan", is_either, job)
    show(bought_section(found), as_json)


@main.command()
@click.argument("plan_file", metavar="PLAN", type=FILE)
@click.option("--job", "job_file", type=FILE, help="Job file. Report an error if the plan is for another job.")
@click.option(
    "--earlier", type=FILE, help="The earlier plan that this one completes. Reconciles every piece and board with it."
)
@click.option(
    "--book", type=FILE, help="The shop's book. Report an error if its events differ from those the plan used."
)
@command
def verify(plan_file: Path, job_file: Path | None, earlier: Path | None, book: Path | None, as_json: bool) -> int:
    """Check a plan file, or a schedule file, with independent code.

    Example: woodshop verify out/hobby-batch/plan.json
    """
    from woodshop.cutting.model.proof import MOST_BYTES, unpacked
    from woodshop.documents.answers.written_plan import verdict_section
    from woodshop.files.folder import is_half_written
    from woodshop.files.one_file import read_file
    from woodshop.plan.verify import verify_file
    from woodshop.schedule.schedule_json import is_schedule_text, verify_schedule_file

    if is_half_written(plan_file.parent):
        given, do = (
            "a folder whose replacement was interrupted",
            "Plan again into this folder. That finishes or undoes the replacement.",
        )
        raise InputError(Problem(str(plan_file.parent), given, "a whole packet, not old and new files mixed", do))
    text = read_text(plan_file)
    if is_schedule_text(text):
        options = {"--job": job_file, "--earlier": earlier, "--book": book}
        for option in (name for name, path in options.items() if path is not None):
            raise click.UsageError(f"{option} was given for a schedule; it is for plans. Remove it.")
        section = verdict_section(verify_schedule_file(text))
        show(section, as_json)
        return 0 if section.data["sound"] else 1
    if book is not None:
        from woodshop.cutting.model.reading import parse_json
        from woodshop.plan.book.reading import refuse_other_book

        raw = parse_json(text, "plan")
        refuse_other_book(raw if isinstance(raw, dict) else {}, book, str(plan_file))
    verdict = verify_file(
        text,
        None if job_file is None else read_text(job_file),
        None if earlier is None else read_text(earlier),
        lambda name: unpacked(read_file(plan_file.parent / name, "the proof that the plan names", MOST_BYTES)),
    )
    section = verdict_section(verdict)
    show(section, as_json)
    return 0 if section.data["sound"] else 1


@main.command()
@click.argument("design", type=FILE)
@book_options
@command
def orders(design: Path, book: Path | None, as_of: int | None, as_json: bool) -> None:
    """List the orders that a design uses, and the hive groups built from them.

    Example: woodshop orders designs/order-run.toml
    """
    from woodshop.design.orders.lines import read_orders
    from woodshop.design.orders.orders import with_orders
    from woodshop.documents.answers.hives import orders_section
    from woodshop.plan.book.reading import read_with_book

    wanted = read_with_book(design, book, as_of)
    if wanted.ordering is None:
        given, do = "a design without orders", "Name a spreadsheet under orders, or write [[order]] lines."
        raise InputError(Problem(design.name, given, "orders, or [[order]] lines", do))
    found = read_orders(wanted.ordering, wanted.inventory)
    with_orders(wanted, found)
    show(orders_section(found, wanted), as_json)
