"""Commands for prices and seasons: quotes, comparisons, stores, syrup, packing and winter rounds."""

from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from woodshop.cli.checking import book_options, stop_for_errors
from woodshop.cli.frame import FILE, claim, command, main, say, show
from woodshop.cli.planning import effort_of, efforts
from woodshop.errors import InputError, Problem
from woodshop.units.lengths import Length

if TYPE_CHECKING:
    from woodshop.units.wording import LengthUnit


@main.command()
@click.argument("design", type=FILE)
@click.option(
    "--vary", multiple=True, metavar="KEY=V1,V2", help="Setting to change, and the values to try. Repeat for each key."
)
@click.option(
    "--picture",
    type=FILE,
    help="Draw the differences in cost to this new .svg or .pdf file.",
)
@book_options
@efforts
@command
def compare(
    design: Path,
    vary: tuple[str, ...],
    picture: Path | None,
    book: Path | None,
    as_of: int | None,
    quick: bool,
    thorough: bool,
    as_json: bool,
) -> None:
    """Compare the cost of a design with the cost of variations on it.

    KEY is a key of the design (board.mounting, hives.sugar, "quilt box.height", wood, saw.rip_kerf), a price
    (price.1x6), or lumberyards. With several --vary, every combination is tried.

    Example: woodshop compare designs/six-tens.toml --vary "board.mounting=stapled under,flush rabbet" --quick
    """
    from woodshop.design.schema import load
    from woodshop.design.settings.labels import paper_of
    from woodshop.documents.answers.comparison import check_ending, comparison_picture, comparison_section
    from woodshop.files.one_file import refuse_existing, write_new
    from woodshop.plan.book.reading import read_with_book
    from woodshop.trade.compare import compare as run
    from woodshop.trade.compare import read_varies

    if picture is not None:
        check_ending(picture)
        refuse_existing(picture, "the picture")
    wanted = read_with_book(design, book, as_of)
    outcomes = run(
        design, read_varies(vary), effort_of(quick, thorough), say, book=wanted.book, inventory=wanted.inventory
    )
    if picture is not None:
        raw = load(design, "design")
        title = f"{raw.get('title') or raw.get('batch')}: cost against choice"
        paper = raw.get("paper") or paper_of(raw.get("unit", "in"))
        write_new(picture, comparison_picture(outcomes, picture, title, paper), "the picture")
        say(f"costs drawn to {picture}")
    show(comparison_section(outcomes), as_json)


@main.command()
@click.argument("design", type=FILE)
@click.option("--shop", "shop_file", type=FILE, help="Shop file: labor, times, margin, tax, terms.")
@click.option("--out", type=FILE, help="Folder to write to. Default: out/<batch>-quotes.")
@click.option(
    "--beside", metavar="BATCH", help="Show what the book says was bought for this batch, next to the buy list."
)
@book_options
@efforts
@command
def quote(
    design: Path,
    shop_file: Path | None,
    out: Path | None,
    beside: str | None,
    book: Path | None,
    as_of: int | None,
    quick: bool,
    thorough: bool,
    as_json: bool,
) -> int:
    """Quote each customer, with costs to the cent. Without --shop, split only the cost of materials among customers.

    Example: woodshop quote designs/ridge-club.toml --shop designs/creekside-shop.toml --out out/ridge-club-quotes
    """
    from woodshop.checks.check_batch import check_batch
    from woodshop.design.lumberyard.stocked import read_stocked
    from woodshop.design.settle.settle import settle
    from woodshop.documents.shop.from_book import book_sections
    from woodshop.documents.shop.quote import quote_files, quote_section
    from woodshop.drawing.values.model import joined
    from woodshop.files.folder import write_folder
    from woodshop.plan.book.reading import read_booked
    from woodshop.plan.buying.where_to_buy import plan_to_buy
    from woodshop.plan.plan_batch import book_to_json
    from woodshop.plan.work.shop_file import no_shop, read_shop
    from woodshop.trade.costing import run_cost
    from woodshop.trade.earlier_bill import paid_for
    from woodshop.trade.quotes import quotes_of, with_breaks
    from woodshop.units.lengths import lengths_in

    effort = effort_of(quick, thorough)
    claim(out)
    wanted = read_booked(design, book, as_of)
    if beside is not None:
        paid_for(wanted.inventory, beside)
    lumberyard = read_stocked(wanted)
    with lengths_in(wanted.unit):
        shop = no_shop(lumberyard.currency) if shop_file is None else read_shop(shop_file)
    batch = settle(wanted, lumberyard)
    units, report = check_batch(batch)
    if report.has_errors:
        return stop_for_errors(
            report, as_json, "Nothing was written. Fix the errors first: an item that does not fit is not quoted."
        )
    folder = out if out is not None else Path("out") / f"{batch.name}-quotes"
    claim(folder)
    planned = plan_to_buy(batch, units, report, progress=say, effort=effort)
    with lengths_in(batch.unit):
        run = run_cost(planned, shop)
        quotes = () if shop.is_bill else quotes_of(planned, run, shop)
        if quotes and shop.quote.quantities:
            quotes = with_breaks(
                quotes, wanted, lumberyard, shop=shop, progress=say, effort="quick" if effort == "default" else effort
            )
        from_book = book_sections(planned, run, shop, beside)
        write_folder(folder, quote_files(planned, run, quotes, shop, from_book), book_to_json(batch))
        show(joined((quote_section(planned, run, quotes, shop, folder), *from_book)), as_json)
    return 0


@main.command()
@click.option(
    "--strength", help="Sugar to water by weight, such as 1:1 or 2:1. Default: 2:1, or 1:1 for sugar left on a board."
)
@click.option("--sugar", help="Sugar available, such as 10 lb.")
@click.option("--volume", help="Syrup wanted, such as 2 gal or 8 L.")
@click.option("--stores-wanted", help="Stores that one hive should have, such as 60 lb. Needs --stores-there.")
@click.option("--stores-there", help="Stores the hive has now.")
@click.option("--hives", type=int, default=1, show_default=True, help="Number of such hives.")
@click.option("--board-weight", help="Weight of one board with its leftover sugar, such as 9 lb. Needs --board-tare.")
@click.option("--board-tare", help="Weight of that board empty.")
@click.option("--board-water", help="Water left in its sugar, by weight, such as 5%.")
@click.option("--boards", type=int, default=1, show_default=True, help="Number of such boards.")
@command
def syrup(as_json: bool, **asked: Any) -> None:
    """Calculate syrup by weight, sugar for light hives, and water to add to sugar left on a board.

    Example: woodshop syrup --strength 1:1 --sugar "10 lb"
    """
    from woodshop.documents.answers.season import syrup_section

    show(syrup_section(**asked), as_json)


@main.command()
@click.argument("stores_file", metavar="FILE", type=FILE)
@command
def stores(stores_file: Path, as_json: bool) -> None:
    """Compare each hive's stores with its target. Shows sugar and syrup to buy, and the last day to feed.

    Example: woodshop stores designs/orchard-stores.toml
    """
    from woodshop.documents.answers.season import stores_section
    from woodshop.trade.season.stores import read_stores

    show(stores_section(read_stores(stores_file)), as_json)


@main.command()
@click.argument("design", type=FILE)
@click.option("--out", type=FILE, help="Folder to write to. Default: out/<batch>-season.")
@click.option("--table", nargs=2, metavar="LENGTH WIDTH", help="Size of a table, such as 8ft 4ft.")
@click.option(
    "--tables", type=click.IntRange(1, 1000), help="Number of tables. Without it, the times for one to four are shown."
)
@click.option("--guard-day", type=click.DateTime(["%Y-%m-%d"]), help="Day the mouse guards go on, such as 2026-10-10.")
@book_options
@command
def season(
    design: Path,
    out: Path | None,
    table: tuple[str, str] | None,
    tables: int | None,
    guard_day: datetime | None,
    book: Path | None,
    as_of: int | None,
    as_json: bool,
) -> int:
    """Plan the packing of a batch: tables, days, weights, cartons. Writes a winter checklist for each apiary.

    Example: woodshop season designs/hobby-batch.toml --tables 2 --out out/hobby-season
    """
    from woodshop.checks.check_batch import check_batch
    from woodshop.documents.plan_design import settled_design
    from woodshop.documents.shop.season_sheets import season_files, season_of, season_section
    from woodshop.files.folder import write_folder
    from woodshop.plan.book.reading import read_booked
    from woodshop.plan.plan_batch import book_to_json
    from woodshop.units.lengths import lengths_in

    claim(out)
    batch = settled_design(read_booked(design, book, as_of))
    sizes = None if table is None else (_table_side(table[0], batch.unit), _table_side(table[1], batch.unit))
    units, report = check_batch(batch)
    if report.has_errors:
        return stop_for_errors(report, as_json, "Nothing was written. Fix the errors first.")
    day: date | None = None if guard_day is None else guard_day.date()
    folder = out if out is not None else Path("out") / f"{batch.name}-season"
    claim(folder)
    with lengths_in(batch.unit):
        found = season_of(batch, units, sizes, tables, day)
        section = season_section(found, folder)
        write_folder(folder, season_files(found, section.data), book_to_json(batch))
        show(section, as_json)
    return 0


def _table_side(text: str, unit: "LengthUnit") -> Length:
    from woodshop.units.lengths import ZERO, inch, read_length
    from woodshop.units.wording import wording_of

    try:
        length = read_length(text, unit)
    except ValueError:
        length = ZERO
    if not inch(6) <= length <= inch(1200):
        such, said = "2400 1200" if unit == "mm" else "8ft 4ft", wording_of(unit).said
        do = f"Give length and width, such as --table {such}."
        raise InputError(Problem("--table", repr(text), said("a length from 6 in to 100 ft"), do))
    return length
