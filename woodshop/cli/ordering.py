"""Orders as they were read, and counts that change once a batch is planned."""

from pathlib import Path

import click

from woodshop.cli.checking import stop_for_errors
from woodshop.cli.frame import FILE, claim, command, main, read_text, say, show
from woodshop.cli.planning import effort_of, efforts
from woodshop.errors import InputError, Problem


@main.command()
@click.argument("design", type=FILE)
@command
def orders(design: Path, as_json: bool) -> None:
    """List the orders of a design as they were read, and the groups of hives that come of them.

    Example: woodshop orders designs/order-run.toml
    """
    from woodshop.design.design_file import read_design
    from woodshop.design.orders.orders import with_orders
    from woodshop.design.orders.reading import read_orders
    from woodshop.documents.answers.order_list import orders_section

    wanted = read_design(design)
    if wanted.ordering is None:
        given, do = "a design without orders", "Name a spreadsheet under orders, or write [[order]] lines."
        raise InputError(Problem(design.name, given, "orders, or [[order]] lines", do))
    found = read_orders(wanted.ordering)
    with_orders(wanted, found)
    show(orders_section(found, wanted), as_json)


@main.command()
@click.argument("design", type=FILE)
@click.option("--plan", "plan_file", type=FILE, required=True, help="The plan.json of the batch as it was planned.")
@click.option("--counts", type=FILE, help="A sheet of new counts: hives, count. Without it the design's own.")
@click.option("--cut", type=FILE, help="A sheet of what is cut: layout and cut, or mark and failed. Implies --bought.")
@click.option("--bought", is_flag=True, help="All on the old buy list has been bought.")
@click.option("--offcuts", is_flag=True, help="What was left of the boards that are cut is at hand: use it.")
@click.option("--out", type=FILE, help="Write the recount, with cutting pages of the rest, to this folder.")
@efforts
@command
def recount(
    design: Path,
    plan_file: Path,
    counts: Path | None,
    cut: Path | None,
    bought: bool,
    offcuts: bool,
    out: Path | None,
    quick: bool,
    thorough: bool,
    as_json: bool,
) -> int:
    """Plan again on new counts: what changes in wood, money and pieces that are cut already.

    Example: woodshop recount designs/order-run.toml --plan out/order-run/plan.json --counts designs/november-counts.csv
    """
    from woodshop.checks.check_batch import check_batch
    from woodshop.design.lumberyard.lumberyards import read_yards
    from woodshop.design.orders.run import read_run
    from woodshop.design.settle.settle import settle
    from woodshop.documents.answers.recount import recount_files, recount_section
    from woodshop.files.folder import write_folder
    from woodshop.plan.rest.reading import counted, read_tally, read_written
    from woodshop.plan.rest.recount import recount as recounted

    effort = effort_of(quick, thorough)
    claim(out)
    old = read_written(read_text(plan_file), str(plan_file))
    wanted = read_run(design)
    if counts is not None:
        wanted = counted(wanted, counts)
    tally = None if cut is None else read_tally(cut, old)
    batch = settle(wanted, read_yards(wanted.yards))
    units, report = check_batch(batch)
    if report.has_errors:
        return stop_for_errors(report, as_json, "Nothing was planned: fix the errors first.")
    found = recounted(
        old, batch, units, report, tally, is_bought=bought, with_offcuts=offcuts, progress=say, effort=effort
    )
    if out is not None:
        write_folder(out, recount_files(found))
    show(recount_section(found, batch.unit), as_json)
    if out is not None and not as_json:
        click.echo(f"Written: {out}")
    return 0
