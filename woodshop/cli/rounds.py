"""The season's sums by the hive: stores before winter."""

from pathlib import Path

import click

from woodshop.cli.frame import FILE, command, main, print_json


@main.command()
@click.argument("stores_file", metavar="FILE", type=FILE)
@command
def stores(stores_file: Path, as_json: bool) -> None:
    """Hold each hive's stores against those wanted: sugar and syrup to buy, the last day to feed it.

    Example: woodshop stores designs/orchard-stores.toml
    """
    from woodshop.documents.stores import stores_lines, stores_told
    from woodshop.trade.stores import read_stores

    found = read_stores(stores_file)
    if as_json:
        print_json(stores_told(found))
        return
    for line in stores_lines(found):
        click.echo(line)
