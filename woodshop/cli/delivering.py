"""The command for deliveries: which finished units go to which order, and the documents to go with them."""

from collections import Counter
from datetime import datetime
from pathlib import Path

import click

from woodshop.cli.book import AS_OF
from woodshop.cli.frame import FILE, claim, command, main, say, show


@main.command()
@click.argument("book", type=FILE)
@click.option(
    "--day", required=True, type=click.DateTime(["%Y-%m-%d"]), help="Day of the delivery, such as 2026-11-13."
)
@click.option("--shop", "shop_file", type=FILE, help="Shop file: name, sales tax, terms. Needed for invoices.")
@click.option("--order", "orders", multiple=True, help="Print documents for this order only. Repeat for each order.")
@click.option("--whole", is_flag=True, help="Deliver only orders that can be filled completely.")
@AS_OF
@click.option("--paper", type=click.Choice(["letter", "a4"]), help="Default: letter if the book uses inches, else a4.")
@click.option("--out", type=FILE, help="Folder to write to. Default: out/<book>-delivery-<last event>.")
@command
def deliver(
    book: Path,
    day: datetime,
    shop_file: Path | None,
    orders: tuple[str, ...],
    whole: bool,
    as_of: int | None,
    paper: str | None,
    out: Path | None,
    as_json: bool,
) -> None:
    """Allocate finished units to the orders in the book. Writes a pick list, packing slips, invoices, and a list of
    shortages.

    Nothing is entered in the book. Import sales.csv once the units are handed over.

    Example: woodshop deliver shop.book --day 2026-11-13 --shop designs/creekside-shop.toml
    """
    from woodshop.documents.shop.delivery import delivery_files, delivery_section
    from woodshop.files.folder import write_folder
    from woodshop.plan.work.shop_file import read_shop
    from woodshop.records.steps import order_line
    from woodshop.records.store import open_book
    from woodshop.trade.delivery import FinishedKind, delivery_of, invoice_of, orders_named

    claim(out)
    shop = None if shop_file is None else read_shop(shop_file)
    with open_book(book) as opened:
        for notice in opened.notices:
            say(f"warning: {notice}")
        state = opened.state(as_of)
        events = opened.events(1, as_of)
    sold_before: Counter[tuple[str, FinishedKind]] = Counter()
    for event in events:
        if event.kind == "units sold" and "order" in event.fields:
            sold_before[event.fields["order"], FinishedKind(*order_line(event.fields))] += 1
    delivery = delivery_of(state, day.date(), is_whole_only=whole)
    going = orders_named(delivery, orders)
    invoices = [] if shop is None else [invoice_of(delivery, each, shop) for each in going]
    folder = out if out is not None else Path("out") / f"{book.stem}-delivery-{delivery.number}"
    claim(folder)
    on = paper or ("letter" if state.unit == "in" else "a4")
    write_folder(
        folder, delivery_files(delivery, going, invoices=invoices, shop=shop, sold_before=sold_before, paper=on)
    )
    section = delivery_section(delivery, going, invoices=invoices, shop=shop, folder=folder, is_full=bool(orders))
    show(section, as_json)
