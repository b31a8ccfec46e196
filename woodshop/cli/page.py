"""The command that starts the page."""

from contextlib import suppress
from importlib.util import find_spec
from pathlib import Path

import click

from woodshop.cli.frame import FILE, command, main, print_json, say
from woodshop.errors import InputError, Problem

NEEDED = ("nicegui", "tomlkit")
"""The packages that only the page needs."""


@main.command()
@click.argument("folder", required=False, type=FILE, default=Path("."))
@click.option("--port", type=click.IntRange(1, 65535), help="Port of the page. Default: 7420, or a free one.")
@click.option("--no-browser", is_flag=True, help="Print the address, but open no browser.")
@command
def page(folder: Path, port: int | None, no_browser: bool, as_json: bool) -> None:
    """Do the whole job in your browser, on this computer alone. Press Ctrl-C to end it.

    The page opens the designs in FOLDER (default: this folder), and writes the same files as the other commands.

    Example: woodshop page designs
    """
    if missing := [name for name in NEEDED if find_spec(name) is None]:
        raise InputError(
            Problem(
                "page",
                f"an installation without {' and '.join(missing)}",
                "woodshop with the page",
                "Install it: pip install '.[page]' in the woodshop folder.",
            )
        )
    from woodshop.page.serve import start

    def announce(address: str) -> None:
        if as_json:
            print_json({"address": address})
        else:
            click.echo(f"The page is at {address}\nIt is for this computer alone. Press Ctrl-C to end it.")

    with suppress(KeyboardInterrupt):  # the server may also end by itself when the signal comes
        start(folder, port, announce, opens_browser=not no_browser)
    say("The page has ended. Your designs are saved.")
