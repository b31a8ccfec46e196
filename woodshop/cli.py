"""The commands: parse, call, print. Errors become one message and an exit code here, and nowhere else.

Exit codes: 0 clean or warnings only; 1 errors found; 2 usage; 3 input that cannot be read or contradicts
itself; 4 nothing can be cut. With 2, 3 and 4 nothing is written.
"""

import json
import sys
from collections.abc import Callable
from functools import wraps
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from woodshop.errors import InputError, Problem, WoodshopError

if TYPE_CHECKING:
    from woodshop.batch.values import Batch, Unit
    from woodshop.findings import Finding, Report

FILE = click.Path(path_type=Path)


def _as_json(value: Any) -> None:
    click.echo(json.dumps(value, indent=1, ensure_ascii=False))


def _say(text: str) -> None:
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
                _as_json({"errors": [_problem_json(problem) for problem in error.problems]})
            else:
                for problem in error.problems:
                    _say(f"error: {problem}")
            code = error.exit_code
        sys.exit(code)

    return click.option("--json", "as_json", is_flag=True, help="Print JSON for machines.")(run)


def _problem_json(problem: Problem) -> dict[str, str]:
    return {"where": problem.where, "given": problem.given, "wanted": problem.wanted, "do": problem.do}


@click.group(context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="woodshop")
def main() -> None:
    """Plan, prove, cut and draw winter hive hardware.

    Start with a design file: which hives you have and what to make for them. "woodshop new" writes one.
    """


@main.command()
@click.argument("name", required=False)
@click.option("--picture", type=FILE, help="Draw the item into this new file, .svg or .pdf.")
@command
def items(name: str | None, picture: Path | None, as_json: bool) -> None:
    """List what can be made, and what can be set of it. --picture draws it as it comes out for a 10-frame box.

    Example: woodshop items "quilt box" --picture quilt-box.pdf
    """
    from woodshop.documents.listings import item_listing, items_listing, span

    if picture is not None:
        _draw(name, picture, as_json)
        return
    if name is None:
        listing = items_listing()
        if as_json:
            _as_json({"items": listing})
            return
        for each in listing:
            click.echo(f"{each['name']:16} {each['summary']}")
        click.echo('\nSee "woodshop items NAME" for what can be set.')
        return
    one = item_listing(name)
    if as_json:
        _as_json(one)
        return
    click.echo(f"{one['name']}: {one['summary']}\n\n{one['picture']}\n")
    for title, rows in (("Settings of its own", one["parameters"]), ("Settings of the board", one["board"])):
        if rows:
            click.echo(title)
        for row in rows:
            click.echo(f"  {row['name']:16} {', '.join(filter(None, (row['help'], span(row))))}")
            click.echo(f"  {'':16} default {row['default']} ({row['source']})")


def _draw(name: str | None, picture: Path, as_json: bool) -> None:
    from woodshop.documents.new_file import write_new
    from woodshop.documents.pictures import item_picture

    if name is None:
        raise InputError(
            Problem("items, --picture", "no item", "the name of the item to draw", 'As in: woodshop items "quilt box".')
        )
    write_new(picture, item_picture(name, picture), "the picture")
    if as_json:
        _as_json({"item": name, "picture": str(picture)})
    else:
        click.echo(f"{name} drawn into {picture}")


@main.command()
@click.argument("file", required=False, type=FILE)
@click.option("--for", "kind", type=click.Choice(["beginner", "shop"]), default="beginner", show_default=True)
@click.option("--frames", type=int, multiple=True, help="Frames in a box; again for each group of hives.")
@click.option("--count", type=int, multiple=True, help="How many hives; again for each group.")
@click.option(
    "--gap", multiple=True, help='Measured over the top bars, "1/4" or "1/4, 5/16, 1/4"; again for each group.'
)
@click.option("--width", multiple=True, help="Outside of a box across the front; again for each group.")
@click.option("--name", multiple=True, help="Name of the hives; again for each group.")
@click.option("--customer", multiple=True, help="Whose hives they are; again for each group.")
@click.option(
    "--make",
    multiple=True,
    help="An item to make; again for each. Default: a fondant board; in a shop a quilt box too.",
)
@click.option("--set", multiple=True, metavar="NAME=VALUE", help='As "mounting=flush rabbet", "quilt box.skirt=0".')
@click.option("--pattern", type=click.Choice(["Langstroth", "British National"]), help="Pattern of the boxes.")
@click.option("--batch", help="Name of the batch. Default: the file's.")
@click.option("--title", help="What stands at the head of every page.")
@click.option("--unit", type=click.Choice(["in", "mm"]), help="What a length without a unit is in. Default: in.")
@click.option("--yard", multiple=True, help="The yard file, as seen from FILE; several may be given.")
@click.option("--on-by", help="The day by which it is on the hives, as 2026-11-26.")
@command
def new(file: Path | None, kind: str, as_json: bool, **given: Any) -> None:
    """Write a new design file, every key of it explained. Asks three questions where no flag answers them.

    It goes to FILE, which must not be there yet; to standard output without FILE, or when it is "-".

    Example: woodshop new first-winter.toml --frames 10 --count 6 --gap 1/4 --yard creekside-yard.toml
    """
    from woodshop.documents.answers import as_answers, questions
    from woodshop.documents.new_design import new_design
    from woodshop.documents.new_file import write_new

    if not any(given.values()) and _is_terminal():
        for key, question in questions(kind):
            given[key] = tuple(click.prompt(question, default="", show_default=False, err=True).split(";"))
    place = None if file is None or str(file) == "-" else file
    answers = as_answers(kind, place.stem if place else "", given)
    text = new_design(answers, place.name if place else "the new design")
    if place is not None:
        write_new(place, text.encode("utf-8"), "the design file")
        for yard in answers.yards:
            if not (place.parent / yard).exists():
                _say(f"There is no {place.parent / yard} yet: write into it what your yard sells.")
    if as_json:
        _as_json({"file": str(place) if place else None, "design": text})
    else:
        click.echo(text if place is None else f"Written: {place}. Next: woodshop check {place}\n", nl=False)


def _is_terminal() -> bool:
    return sys.stdin.isatty()


@main.command()
@click.argument("design", type=FILE)
@click.option("--explain", is_flag=True, help="Say with each finding where its limits come from.")
@command
def check(design: Path, explain: bool, as_json: bool) -> int:
    """Check a design before any wood is cut.

    Example: woodshop check designs/hobby-batch.toml
    """
    batch, _, report = _checked(design)
    if as_json:
        from woodshop.documents.listings import findings_json

        _as_json(findings_json(report))
        return 1 if report.has_errors else 0
    for line in batch.lines:
        click.echo(f"{line.address:34} {line.arithmetic}")
    click.echo("")
    _print_report(report, explain)
    return 1 if report.has_errors else 0


def _checked(design: Path) -> "tuple[Batch, tuple[Unit, ...], Report]":
    from woodshop.batch.design import read_design
    from woodshop.batch.plan import check_batch
    from woodshop.batch.settle import settle
    from woodshop.batch.yards import read_yards

    wanted = read_design(design)
    batch = settle(wanted, read_yards(wanted.yards))
    units, report = check_batch(batch)
    return batch, units, report


def _print_report(report: "Report", explain: bool) -> None:
    from woodshop.documents.report import grouped

    if not report.findings:
        click.echo("Nothing found: everything that is checked fits.")
    for places, finding in grouped(report.findings):
        click.echo(_finding_text(places, finding))
        if explain:
            click.echo(f"    source: {finding.source}")


def _finding_text(places: tuple[str, ...], finding: "Finding") -> str:
    head = f"{finding.severity.upper():8} {finding.code}: {'; '.join(places)}"
    return f"{head}\n    {finding.value}; wanted: {finding.limits}\n    {finding.change}"


@main.command()
@click.argument("design", type=FILE)
@click.option("--out", type=FILE, help="The folder for this batch. Default: out/<batch>.")
@click.option("--anyway", is_flag=True, help="Write the packet in spite of errors; every page says DO NOT CUT.")
@command
def plan(design: Path, out: Path | None, anyway: bool, as_json: bool) -> int:
    """Check, plan, cost and draw a batch, and write its packet.

    Example: woodshop plan designs/hobby-batch.toml --out out/hobby-batch
    """
    from woodshop.batch.plan import plan_batch
    from woodshop.documents.result import result_files, summary
    from woodshop.documents.write import write_folder

    batch, units, report = _checked(design)
    if report.has_errors and not anyway:
        if as_json:
            from woodshop.documents.listings import findings_json

            _as_json(findings_json(report))
        else:
            _print_report(report, explain=False)
            _say("Nothing was written: mend the errors first, or give --anyway for a packet marked DO NOT CUT.")
        return 1
    planned = plan_batch(batch, units, report, progress=_say)
    folder = out if out is not None else Path("out") / batch.name
    write_folder(folder, result_files(planned, progress=_say))
    told = summary(planned, folder)
    if as_json:
        _as_json(told)
    else:
        for key, value in told.items():
            click.echo(f"{key:10} {value}")
    return 1 if report.has_errors else 0


def _read_text(path: Path) -> str:
    try:
        return path.read_bytes().decode("utf-8")
    except (OSError, UnicodeDecodeError) as why:
        reason = why.strerror if isinstance(why, OSError) else "no UTF-8 text"
        raise InputError(
            Problem(str(path), f"a file that cannot be read ({reason})", "a JSON file", "Check its name and rights.")
        ) from why


@main.command()
@click.argument("job", type=FILE)
@click.option("--out", type=FILE, help="Write the plan to this file instead of printing it.")
@command
def cut(job: Path, out: Path | None, as_json: bool) -> None:
    """Plan a neutral cutting job and print the plan as JSON.

    Example: woodshop cut job.json --out plan.json
    """
    from woodshop.cutting.job import read_job
    from woodshop.cutting.plan import plan_to_json
    from woodshop.cutting.planner import plan as plan_job

    found = plan_job(read_job(_read_text(job)), progress=_say)
    text = plan_to_json(found)
    if out is None:
        _as_json(text)
        return
    try:
        out.write_text(json.dumps(text, indent=1) + "\n", encoding="utf-8")
    except OSError as why:
        raise InputError(
            Problem(str(out), f"a file that cannot be written ({why.strerror})", "a place to write", "Choose another.")
        ) from why
    told = {"cost": found.cost, "bound": found.bound, "gap": found.gap, "assurance": found.assurance}
    if as_json:
        _as_json(told)
    else:
        click.echo(", ".join(f"{key} {value}" for key, value in told.items()))


@main.command()
@click.argument("plan_file", metavar="PLAN", type=FILE)
@click.option("--job", "job_file", type=FILE, help="The job that the plan must be for.")
@command
def verify(plan_file: Path, job_file: Path | None, as_json: bool) -> int:
    """Check a plan, or every plan of a batch, with code that shares nothing with the planner.

    Example: woodshop verify out/hobby-batch/plan.json
    """
    from woodshop.batch.verify import verify_file

    told = verify_file(_read_text(plan_file), None if job_file is None else _read_text(job_file))
    bad = any(each["findings"] for each in told)
    if as_json:
        _as_json({"plans": told, "sound": not bad})
        return 1 if bad else 0
    for each in told:
        word = "sound" if not each["findings"] else "NOT SOUND"
        click.echo(f"{each['name']:16} {word}: cost {each['cost']}, no plan below {each['bound']}, gap {each['gap']}")
        for finding in each["findings"]:
            click.echo(f"    {finding['code']}: {finding['place']}: {finding['value']}; wanted {finding['limits']}")
    return 1 if bad else 0


@main.command()
@click.argument("word", required=False)
@command
def sources(word: str | None, as_json: bool) -> None:
    """List every fact with its source, and count them. WORD picks the facts that mention it.

    Example: woodshop sources density
    """
    from woodshop.documents.listings import sources_lines, sources_told

    if as_json:
        _as_json(sources_told(word))
        return
    for line in sources_lines(word):
        click.echo(line)


@main.command()
@click.argument("word", required=False)
@command
def explain(word: str | None, as_json: bool) -> None:
    """Say what a setting, a finding, a fact or a word of the trade means. Without WORD, list what can be asked.

    Example: woodshop explain strip-lifts-rim
    """
    from woodshop.documents.explain import explained, explained_lines, words_told

    if word is None:
        listed = words_told()
        if as_json:
            _as_json(listed)
            return
        for kind, names in listed.items():
            click.echo(f"{kind}: {', '.join(names)}\n")
        return
    told = explained(word)
    if as_json:
        _as_json(told)
        return
    for line in explained_lines(told):
        click.echo(line)


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
    from woodshop.documents.season import season_lines, syrup_told

    told = syrup_told(**asked)
    if as_json:
        _as_json(told)
        return
    for line in season_lines(told):
        click.echo(line)


if __name__ == "__main__":
    main()
