"""What a run costs, split to the cent, and a quote for each customer."""

from pathlib import Path

import click

from woodshop.cli.checking import stop_for_errors
from woodshop.cli.frame import FILE, claim, command, main, say, show
from woodshop.cli.planning import effort_of, efforts


@main.command()
@click.argument("design", type=FILE)
@click.option("--shop", "shop_file", type=FILE, help="The shop file: labour, times, margin, tax, terms.")
@click.option("--out", type=FILE, help="The folder to write to. Default: out/<batch>-quotes.")
@efforts
@command
def quote(design: Path, shop_file: Path | None, out: Path | None, quick: bool, thorough: bool, as_json: bool) -> int:
    """Cost a run to the cent and quote each customer; without --shop, share out the bill for what is bought.

    Example: woodshop quote designs/ridge-club.toml --shop designs/creekside-shop.toml --out out/ridge-club-quotes
    """
    from woodshop.checks.check_batch import check_batch
    from woodshop.design.lumberyard.lumberyards import read_yards
    from woodshop.design.orders.run import read_run
    from woodshop.design.settle.settle import settle
    from woodshop.documents.shop.quote_files import quote_files, quote_section
    from woodshop.files.folder import write_folder
    from woodshop.plan.buying.where_to_buy import plan_to_buy
    from woodshop.plan.work.shop_file import no_shop, read_shop
    from woodshop.trade.costing import run_cost
    from woodshop.trade.quantity_prices import with_breaks
    from woodshop.trade.quotes import quotes_of

    effort = effort_of(quick, thorough)
    claim(out)
    wanted = read_run(design)
    yard = read_yards(wanted.yards)
    shop = no_shop(yard.currency) if shop_file is None else read_shop(shop_file)
    batch = settle(wanted, yard)
    units, report = check_batch(batch)
    if report.has_errors:
        return stop_for_errors(
            report, as_json, "Nothing was written: fix the errors first; what does not fit is not quoted."
        )
    folder = out if out is not None else Path("out") / f"{batch.name}-quotes"
    claim(folder)
    planned = plan_to_buy(batch, units, report, progress=say, effort=effort)
    run = run_cost(planned, shop)
    quotes = () if shop.is_bill else quotes_of(planned, run, shop)
    if quotes and shop.quantities:
        quotes = with_breaks(
            quotes, wanted, yard, shop=shop, progress=say, effort="quick" if effort == "default" else effort
        )
    write_folder(folder, quote_files(planned, run, quotes, shop))
    show(quote_section(planned, run, quotes, shop, folder), as_json)
    return 0
