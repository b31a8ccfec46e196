"""What every command stands in: the group, --json, printing, reading. Errors become one message and an exit code here.

Exit codes: 0 clean or warnings only; 1 errors found; 2 usage; 3 input that cannot be read or contradicts
itself; 4 nothing can be cut. With 2, 3 and 4 nothing is written.
"""

import json
import sys
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import Any

import click

from woodshop.errors import InputError, Problem, WoodshopError

FILE = click.Path(path_type=Path)


def print_json(value: Any) -> None:
    """Print a value for machines, on standard output."""
    click.echo(json.dumps(value, indent=1, ensure_ascii=False))


def say(text: str) -> None:
    """Print progress or a problem, on standard error."""
    click.echo(text, err=True)


def command(function: Callable[..., int | None]) -> Callable[..., None]:
    """A command that takes --json, reports errors in one way, and exits with its function's code."""

    @wraps(function)
    def run(*args: Any, **kwargs: Any) -> None:
        as_json = kwargs["as_json"]
        try:
            code = function(*args, **kwargs) or 0
        except WoodshopError as error:
            if as_json:
                print_json({"errors": problems_json(error)})
            else:
                for problem in error.problems:
                    say(f"error: {problem}")
            code = error.exit_code
        sys.exit(code)

    return click.option("--json", "as_json", is_flag=True, help="Print JSON for machines.")(run)


def problems_json(error: WoodshopError) -> list[dict[str, str]]:
    """Every problem of an error for machines."""
    return [{"where": p.where, "given": p.given, "wanted": p.wanted, "do": p.do} for p in error.problems]


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="woodshop")
def main() -> None:
    """Plan, prove, cut and draw winter hive hardware.

    Start with a design file: which hives you have and what to make for them. "woodshop new" writes one.
    """


def read_text(path: Path) -> str:
    """The text of a JSON file that the user named. Raises InputError when it cannot be read."""
    try:
        return path.read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError) as why:
        reason = why.strerror if isinstance(why, OSError) else "no UTF-8 text"
        raise InputError(
            Problem(str(path), f"a file that cannot be read ({reason})", "a JSON file", "Check its name and rights.")
        ) from why
