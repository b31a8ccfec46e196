"""Code shared by all commands: the group, --json, printing, reading. Errors become one message and an exit code.

Exit codes: 0 clean or warnings only; 1 errors found; 2 usage; 3 input that cannot be read or contradicts itself, or
results that cannot be written; 4 nothing can be cut, or no crew could finish in time. With 2, 3 and 4 nothing is
written. Runs that are cut short have their own codes: 74 output cannot be written; 130 interrupted; 141 the program
that reads the output has ended; 143 terminated.
"""

import errno
import json
import os
import signal
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from functools import wraps
from pathlib import Path
from shutil import get_terminal_size
from types import FrameType
from typing import TYPE_CHECKING, Any

import click

from woodshop.errors import InputError, Problem, WoodshopError

if TYPE_CHECKING:
    from woodshop.drawing.values.model import Section


class _File(click.Path):
    """A path whose name can be printed, because messages show it."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        try:
            os.fspath(value).encode("utf-8")
        except UnicodeEncodeError:
            self.fail(f"{value!a} is not valid UTF-8. Rename it.", param, ctx)
        return super().convert(value, param, ctx)


FILE = _File(path_type=Path)
DATE = click.DateTime(formats=["%Y-%m-%d"])
OUTPUT_FAILED, INTERRUPTED, PIPE_CLOSED, ENDED = 74, 130, 141, 128


def print_json(value: Any) -> None:
    """Prints a value as JSON on standard output."""
    text = json.dumps(value, indent=1, ensure_ascii=False)
    try:
        text.encode(getattr(sys.stdout, "encoding", None) or "utf-8")
    except UnicodeEncodeError:  # half a character, or a terminal without it
        text = json.dumps(value, indent=1)
    click.echo(text)


def show(section: "Section", as_json: bool, is_markdown: bool = False) -> None:
    """Prints a section on standard output: its data if `as_json` is true, or its text at the width of the terminal. If
    `is_markdown` is true, the text is formatted only on a terminal.
    """
    if as_json:
        from woodshop.drawing.pens.section_json import section_json

        print_json(section_json(section))
        return
    from woodshop.drawing.pens.text import markdown_text, section_text

    is_terminal = sys.stdout.isatty()
    has_bold = is_terminal and os.environ.get("TERM", "dumb") != "dumb" and not os.environ.get("NO_COLOR")
    width = get_terminal_size().columns if is_terminal else None
    if is_markdown and width is not None:
        click.echo(markdown_text(section_text(section), width, has_bold))
        return
    click.echo(section_text(section, width, has_bold))


def say(text: str) -> None:
    """Prints progress or a problem on standard error; continues if that stream is closed or full."""
    with suppress(OSError, ValueError):
        click.echo(text, err=True)


def claim(folder: Path | None, names: Iterable[str] = ()) -> None:
    """Reserves a result folder (if not None) until this command ends. `names` are the files to be written.

    Raises InputError if no result can be written there, or another run has the folder.
    """
    from woodshop.files.folder import claimed

    if folder is not None:
        click.get_current_context().with_resource(claimed(folder, names))


def command(function: Callable[..., int | None]) -> Callable[..., None]:
    """Makes a command that takes --json, reports errors in one way, and exits with its function's code."""

    @wraps(function)
    def run(*args: Any, **kwargs: Any) -> None:
        as_json = kwargs["as_json"]
        try:
            code = function(*args, **kwargs) or 0
        except UnicodeEncodeError as why:
            code = _reported(InputError(_no_character(why)), as_json)
        except WoodshopError as error:
            code = _reported(error, as_json)
        sys.exit(code)

    return click.option("--json", "as_json", is_flag=True, help="Print machine-readable JSON.")(run)


def _reported(error: WoodshopError, as_json: bool) -> int:
    if as_json:
        print_json({"errors": problems_json(error)})
    else:
        for problem in error.problems:
            say(f"error: {problem}")
    return error.exit_code


def _no_character(why: UnicodeEncodeError) -> Problem:
    given = f"text with {why.object[why.start : why.end]!a}, which is not a whole character"
    return Problem("the command or a file", given, "text in UTF-8", "Type that text again.")


def problems_json(error: WoodshopError) -> list[dict[str, str]]:
    """The JSON of every problem of an error."""
    return [{"where": p.where, "given": p.given, "wanted": p.wanted, "do": p.do} for p in error.problems]


class _PipeClosed(Exception):
    """The program that reads the output has ended."""


class _Ended(BaseException):
    """A signal asked the process to end."""

    def __init__(self, number: int) -> None:
        super().__init__(number)
        self.number = number


RENAMED_COMMANDS = {"recount": "woodshop plan DESIGN --rest. See: woodshop guide rest"}
"""Commands of earlier versions, each with the command that replaces it."""


class _Commands(click.Group):
    """The command group. A run ended by a signal has its own exit code and no traceback."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args and args[0] in RENAMED_COMMANDS:
            ctx.fail(f"{args[0]} is no longer a command. Use {RENAMED_COMMANDS[args[0]]}.")
        return super().resolve_command(ctx, args)

    def make_context(self, *args: Any, **extra: Any) -> click.Context:
        with _pipes():
            return super().make_context(*args, **extra)

    def invoke(self, ctx: click.Context) -> Any:
        with _pipes():
            return super().invoke(ctx)

    def main(  # type: ignore[override]
        self, args: Any = None, prog_name: Any = None, standalone_mode: bool = True, **extra: Any
    ) -> Any:
        def run() -> Any:
            return super(_Commands, self).main(args, prog_name, standalone_mode=False, **extra)

        if not standalone_mode:
            return run()
        sys.exit(_code(run))


@contextmanager
def _pipes() -> Iterator[None]:
    try:
        yield
    except BrokenPipeError:
        raise _PipeClosed from None


def _code(run: Callable[[], Any]) -> int:
    """The exit code of a run."""
    try:
        with _ending():
            try:
                done = run()
                code = done if isinstance(done, int) else 0
            except SystemExit as why:
                code = why.code if isinstance(why.code, int) else int(why.code is not None)
            if sys.stdout is not None:
                sys.stdout.flush()
            return code
    except click.ClickException as why:
        with suppress(OSError):
            why.show()
        return why.exit_code
    except (KeyboardInterrupt, EOFError, click.Abort):
        say("interrupted")
        return INTERRUPTED
    except _Ended as why:
        return ENDED + why.number
    except (_PipeClosed, BrokenPipeError):
        _drop_output()
        return PIPE_CLOSED
    except OSError as why:
        _drop_output()
        is_output = why.filename is None and why.errno in (errno.ENOSPC, errno.EIO, errno.EDQUOT, errno.EBADF)
        where = "standard output" if is_output else str(why.filename or "a system file")
        given = f"a place that cannot be read or written ({why.strerror})"
        say(f"error: {where}: given {given}; wanted a place to write. Check the free space and the permissions.")
        return OUTPUT_FAILED


def _drop_output() -> None:
    """Discards the rest of the output, because writing it would fail again as the process ends."""
    with suppress(OSError, ValueError, AttributeError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, sys.stdout.fileno())
        os.close(nowhere)


@contextmanager
def _ending() -> Iterator[None]:
    """Turns a termination signal into an exception, so that unfinished work is undone; only in the main thread."""

    def end(number: int, frame: FrameType | None) -> None:
        raise _Ended(number)

    kept: dict[int, Any] = {}
    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        with suppress(ValueError):
            if number is not None and signal.getsignal(number) == signal.SIG_DFL:
                kept[number] = signal.signal(number, end)
    try:
        yield
    finally:
        for number, before in kept.items():
            signal.signal(number, before)


@click.group(cls=_Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="woodshop")
def main() -> None:
    """Plan winter hive hardware: check the fit, lay out the cuts, price it and draw it.

    Start with a design file: your hives and what to make for them. "woodshop new" writes one. "woodshop guide" explains
    how.
    """


def read_text(path: Path) -> str:
    """The text of a JSON file named by the user. Raises InputError if it cannot be read."""
    from woodshop.files.one_file import read_text_file

    return read_text_file(path, "a JSON file")
