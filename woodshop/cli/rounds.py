"""The season's sums: stores before winter; the packing station, cartons and winter rounds of a batch."""

from datetime import date, datetime
from pathlib import Path

import click

from woodshop.cli.checking import stop_for_errors
from woodshop.cli.frame import FILE, claim, command, main, show
from woodshop.errors import InputError, Problem
from woodshop.units.lengths import Length


@main.command()
@click.argument("stores_file", metavar="FILE", type=FILE)
@command
def stores(stores_file: Path, as_json: bool) -> None:
    """Hold each hive's stores against those wanted: sugar and syrup to buy, the last day to feed it.

    Example: woodshop stores designs/orchard-stores.toml
    """
    from woodshop.documents.answers.stores import stores_section
    from woodshop.trade.season.stores import read_stores

    show(stores_section(read_stores(stores_file)), as_json)


@main.command()
@click.argument("design", type=FILE)
@click.option("--out", type=FILE, help="The folder to write to. Default: out/<batch>-season.")
@click.option("--table", nargs=2, metavar="LENGTH WIDTH", help="The size of a table, as 8ft 4ft.")
@click.option("--tables", type=click.IntRange(1, 1000), help="How many tables there are. Default: up to four are told.")
@click.option("--guard-day", type=click.DateTime(["%Y-%m-%d"]), help="The day that mouse guards go on, as 2026-10-10.")
@command
def season(
    design: Path,
    out: Path | None,
    table: tuple[str, str] | None,
    tables: int | None,
    guard_day: datetime | None,
    as_json: bool,
) -> int:
    """Work out tables and days to pack a batch, weights and cartons; write a sheet for each apiary's winter rounds.

    Example: woodshop season designs/hobby-batch.toml --tables 2 --out out/hobby-season
    """
    from woodshop.checks.check_batch import check_batch
    from woodshop.design.lumberyard.lumberyards import read_yards
    from woodshop.design.orders.run import read_run
    from woodshop.design.settle.settle import settle
    from woodshop.documents.shop.season_sheets import season_files, season_of, season_section
    from woodshop.files.folder import write_folder

    sizes = None if table is None else (_table_side(table[0]), _table_side(table[1]))
    claim(out)
    wanted = read_run(design)
    batch = settle(wanted, read_yards(wanted.yards))
    units, report = check_batch(batch)
    if report.has_errors:
        return stop_for_errors(report, as_json, "Nothing was written: fix the errors first.")
    day: date | None = None if guard_day is None else guard_day.date()
    folder = out if out is not None else Path("out") / f"{batch.name}-season"
    claim(folder)
    found = season_of(batch, units, sizes, tables, day)
    section = season_section(found, folder)
    write_folder(folder, season_files(found, section.data))
    show(section, as_json)
    return 0


def _table_side(text: str) -> Length:
    from woodshop.units.lengths import ZERO, inch, read_length

    try:
        length = read_length(text)
    except ValueError:
        length = ZERO
    if not inch(6) <= length <= inch(1200):
        do = "Give length and width, such as --table 8ft 4ft."
        raise InputError(Problem("--table", repr(text), "a length from 6 in to 100 ft", do))
    return length
