"""The sums of the season: syrup, light hives, what a board left."""

from typing import Any

import click

from woodshop.cli.frame import command, main, show


@main.command()
@click.option("--strength", help="Sugar to water by weight, as 1:1 or 2:1. Default: 2:1; 1:1 for what a board left.")
@click.option("--sugar", help="The sugar there is, as 10 lb.")
@click.option("--volume", help="The syrup wanted, as 2 gal or 8 L.")
@click.option("--stores-wanted", help="What one hive should hold, as 60 lb; with --stores-there.")
@click.option("--stores-there", help="What it holds now.")
@click.option("--hives", type=int, default=1, show_default=True, help="How many hives like it.")
@click.option("--board-weight", help="One board with what is left on it, as 9 lb; with --board-tare.")
@click.option("--board-tare", help="That board empty.")
@click.option("--board-water", help="Water left in its sugar by weight, as 5 %.")
@click.option("--boards", type=int, default=1, show_default=True, help="How many boards like it.")
@command
def syrup(as_json: bool, **asked: Any) -> None:
    """Work out syrup by weight, sugar for light hives, and what to do with sugar left on a board.

    Example: woodshop syrup --strength 1:1 --sugar "10 lb"
    """
    from woodshop.documents.answers.season import syrup_section

    show(syrup_section(**asked), as_json)
