"""Commands used before checking: write a design, list items, explain words and sources."""

import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from woodshop.cli.frame import FILE, command, main, print_json, say, show
from woodshop.errors import InputError, Problem

if TYPE_CHECKING:
    from woodshop.units.lengths import Length
    from woodshop.units.wording import LengthUnit


unit_option = click.option(
    "--unit", type=click.Choice(["in", "mm"]), default="in", show_default=True, help="Unit of the sizes shown."
)


@main.command()
@click.argument("name", required=False)
@click.option("--board", is_flag=True, help="List the [board] settings, shared by all parts of a fondant board.")
@click.option("--picture", type=FILE, help="Draw the item to this new .svg or .pdf file.")
@unit_option
@command
def items(name: str | None, board: bool, picture: Path | None, unit: "LengthUnit", as_json: bool) -> None:
    """List the items you can make, or the settings of one. --picture draws it for a 10-frame box.

    Example: woodshop items "quilt box" --picture quilt-box.pdf
    """
    from woodshop.documents.answers.listings import board_section, item_section, items_section

    if picture is not None:
        _draw(name, picture, as_json)
        return
    if name is None:
        show(board_section(unit) if board else items_section(), as_json)
        return
    show(item_section(name, board, unit), as_json)


def _draw(name: str | None, picture: Path, as_json: bool) -> None:
    from woodshop.documents.answers.listings import item_picture
    from woodshop.files.one_file import write_new

    if name is None:
        raise InputError(
            Problem(
                "items, --picture", "no item", "the name of the item to draw", 'Example: woodshop items "quilt box".'
            )
        )
    write_new(picture, item_picture(name, picture), "the picture")
    if as_json:
        print_json({"item": name, "picture": str(picture)})
    else:
        click.echo(f"{name} drawn into {picture}")


@main.command()
@click.argument("file", required=False, type=FILE)
@click.option(
    "--for",
    "kind",
    type=click.Choice(["beginner", "shop"]),
    default="beginner",
    show_default=True,
    help="Who builds: a beginner, or a shop with orders.",
)
@click.option("--frames", type=int, multiple=True, help="Frames in a box. Repeat for each group of hives.")
@click.option("--count", type=int, multiple=True, help="Number of hives. Repeat for each group.")
@click.option(
    "--gap", multiple=True, help='Gap measured over the top bars, "1/4" or "1/4, 5/16, 1/4". Repeat for each group.'
)
@click.option("--width", multiple=True, help="Outside width of a box, across the front. Repeat for each group.")
@click.option("--name", multiple=True, help="Name of the hives. Repeat for each group.")
@click.option("--customer", multiple=True, help="Owner of the hives. Repeat for each group.")
@click.option(
    "--make",
    multiple=True,
    help="An item to make. Repeat for each. Default: a fondant board; with --for shop, a quilt box as well.",
)
@click.option(
    "--set",
    multiple=True,
    metavar="NAME=VALUE",
    help='A setting of the board or an item, or a key of the design: "mounting=flush rabbet", "quilt box.skirt=0", '
    '"wood=20 mm", "saw.mark=1 mm", "hives.cover=flat" (for all hives). See: woodshop explain settings, and keys.',
)
@click.option(
    "--pattern",
    multiple=True,
    help="Pattern of the boxes, such as Dadant-Blatt; one for all, or repeat for each group. See: woodshop patterns.",
)
@click.option(
    "--measure",
    is_flag=True,
    help="Ask for the sizes of a box and a frame that have no published pattern, or that --pattern does not have.",
)
@click.option("--batch", help="Name of the batch. Default: the file name.")
@click.option("--title", help="Heading of every page.")
@click.option("--unit", type=click.Choice(["in", "mm"]), help="Unit for lengths that do not name one. Default: in.")
@click.option("--lumberyard", multiple=True, help="Lumberyard file, relative to FILE. Repeat for several.")
@click.option("--on-by", help="Date the hardware must be on the hives, such as 2026-11-26.")
@command
def new(file: Path | None, kind: str, measure: bool, as_json: bool, **given: Any) -> None:
    """Write a new design file with every key explained. Asks up to three questions if options are missing. --measure
    asks for the sizes of a box and a frame as well, in the order of the tape.

    Writes to FILE, which must not exist yet. Without FILE, or with "-", prints to standard output.

    Example: woodshop new first-winter.toml --frames 10 --count 6 --gap 1/4 --lumberyard creekside-lumberyard.toml
    """
    from woodshop.documents.answers.new_design import RAISED, as_answers, measured_design, new_design, questions
    from woodshop.files.one_file import refuse_existing, write_new

    place = None if file is None or str(file) == "-" else file
    if place is not None:
        refuse_existing(place, "the design file")
    if not any(given.values()) and _is_terminal():
        for key, question in questions(kind):
            given[key] = tuple(click.prompt(question, default="", show_default=False, err=True).split(";"))
    if len(given["pattern"]) > 1:
        given["raised"] = RAISED[given["unit"] or "in"]
    stem, title = (place.stem, place.name) if place else ("", "the new design")
    answers = as_answers(kind, stem, given)
    left: tuple[str, ...] = ()
    wrong: tuple[Problem, ...] = ()
    if measure:
        answers = as_answers(kind, stem, given, _from_tape(kind, given))
        text, left, wrong = measured_design(answers, title)
    else:
        text = new_design(answers, title)
    if place is not None:
        write_new(place, text.encode("utf-8"), "the design file")
        for lumberyard in answers.lumberyards:
            if not (place.parent / lumberyard).exists():
                say(f"{place.parent / lumberyard} does not exist yet. Write what your lumberyard sells into it.")
    if left:
        say(f"Still to measure: {', '.join(left)}. {title} has the places for them, and everything that you entered.")
    if wrong and place is not None:
        say(f"{place} has everything that you entered. Correct in it what is wrong:")
    if as_json and not wrong:
        written = {"file": str(place) if place else None, "design": text}
        print_json(written | ({"still_to_measure": left} if measure else {}))
    elif not as_json:
        then = "measure these" if left else f"woodshop check {place}"
        click.echo(text if place is None else f"Written: {place}. Next: {then}\n", nl=False)
    if wrong:
        raise InputError(*wrong)


def _from_tape(kind: str, given: dict[str, Any]) -> dict[str, str]:
    """The sizes of a box and a frame as typed, "" if not measured. A gap that is not in `given` is put there.

    Questions after the end of the input are not measured. A text that is no length is asked for again on a terminal.
    Raises InputError if the input ends before the first answer.
    """
    from woodshop.documents.answers.new_design import measures, questions

    unit, taped = given["unit"] or "in", dict[str, str]()
    say("Where to put the tape: woodshop patterns --picture tape.pdf. Press Enter for what you cannot measure.")
    asked = list(measures(given["pattern"][0] if given["pattern"] else ""))
    asked += [] if any(given["gap"]) else [("gap", questions(kind, unit)[-1][1])]
    for n, (name, question) in enumerate(asked):
        typed = partial(_as_length, unit=unit if name != "gap" and _is_terminal() else None)
        try:
            taped[name] = click.prompt(question, default="", show_default=False, err=True, value_proc=typed)
        except click.Abort as why:
            say("")  # the question has no line end yet
            if not any(taped.values()):
                if not isinstance(why.__context__, EOFError):
                    raise
                wanted = "at least one measured size, a line for each question"
                advice = "Give the answers on standard input, or run this on a terminal."
                raise InputError(
                    Problem("--measure", "no answer before the end of the input", wanted, advice)
                ) from None
            taped |= {other: "" for other, _ in asked[n:]}
            break
    if "gap" in taped:
        given["gap"] = (taped.pop("gap"),)
    return taped


def _as_length(text: str, unit: str | None) -> str:
    """The text as typed. Raises click.UsageError if it is neither empty nor a length in this unit, if one is given."""
    from woodshop.units.lengths import length_wanted, read_length

    if unit is not None and text.strip():
        try:
            read_length(text, unit)
        except ValueError:
            raise click.UsageError(f"{text!r} is not {length_wanted(unit)}.") from None
    return text.strip()


def _is_terminal() -> bool:
    return sys.stdin is not None and not sys.stdin.closed and sys.stdin.isatty()


@main.command()
@click.argument("name", required=False)
@click.option("--picture", type=FILE, help="Draw where to measure a box and a frame, to this new .pdf file.")
@unit_option
@command
def patterns(name: str | None, picture: Path | None, unit: "LengthUnit", as_json: bool) -> None:
    """List the patterns of hives, or the sizes of one with their sources. --picture draws where to measure yours.

    Example: woodshop patterns "British National"
    """
    from woodshop.documents.answers.patterns import pattern_section, patterns_section, tape_picture
    from woodshop.files.one_file import write_new

    if picture is None:
        show(patterns_section() if name is None else pattern_section(name, unit), as_json)
        return
    if picture.suffix.lower() != ".pdf":
        wanted = "a picture ending in .pdf"
        raise InputError(Problem(str(picture), f"the ending {picture.suffix!r}", wanted, "Choose another name."))
    write_new(picture, tape_picture(), "the picture")
    if as_json:
        print_json({"picture": str(picture)})
    else:
        click.echo(f"drawn into {picture}")


@main.command()
@click.argument("design", type=FILE)
@click.option("--overhang", help="Largest overhang or ledge allowed at each end and side. Default: 1/16 in.")
@click.option("--cost", is_flag=True, help="Plan the batch with and without these sizes, and compare the cost.")
@click.option(
    "--keep",
    type=click.IntRange(1, 1000),
    default=2,
    show_default=True,
    help="With --cost: number of each size to keep in stock.",
)
@command
def sizes(design: Path, overhang: str | None, cost: bool, keep: int, as_json: bool) -> None:
    """Find the fewest rim sizes that fit all boxes of a design.

    Example: woodshop sizes designs/production-run.toml --overhang 1/16
    """
    from woodshop.design.lumberyard.stocked import read_stocked
    from woodshop.documents.answers.hives import sizes_section
    from woodshop.plan.book.reading import read_booked
    from woodshop.plan.fewest_rims import allowed_overhang, fewest_for
    from woodshop.trade.stocking import priced

    wanted = read_booked(design)
    allowed = allowed_overhang() if overhang is None else _overhang(overhang, wanted.unit)
    found = fewest_for(wanted, read_stocked(wanted), allowed)
    money = priced(found, keep, say) if cost else None
    show(sizes_section(found, wanted.unit, money), as_json)


def _overhang(text: str, unit: str) -> "Length":
    from woodshop.units.lengths import ZERO, length_wanted, read_length

    try:
        allowed = read_length(text, unit)
    except ValueError as why:
        raise InputError(Problem("sizes, --overhang", repr(text), length_wanted(unit), "Correct this value.")) from why
    if allowed < ZERO:
        raise InputError(Problem("sizes, --overhang", repr(text), "0 or more", "Remove the minus sign."))
    return allowed


@main.command()
@click.argument("word", required=False)
@command
def sources(word: str | None, as_json: bool) -> None:
    """List every fact with its source. With WORD, list only the facts that mention it.

    Example: woodshop sources density
    """
    from woodshop.documents.answers.listings import sources_section

    show(sources_section(word), as_json)


@main.command()
@click.argument("word", required=False)
@unit_option
@command
def explain(word: str | None, unit: "LengthUnit", as_json: bool) -> None:
    """Explain a setting, finding, fact or term. Without WORD, list the groups of words.

    Example: woodshop explain strip-lifts-rim
    """
    from woodshop.documents.answers.explain import GROUPS, word_section, words_section

    show(words_section(word) if word is None or word in GROUPS else word_section(word, unit), as_json)


@main.command()
@click.argument("topic", required=False)
@command
def guide(topic: str | None, as_json: bool) -> None:
    """Read the guide. Without TOPIC, list the topics.

    Example: woodshop guide lumberyard
    """
    from woodshop.documents.answers.guide import guide_section

    commands = {name: (each.help or "").partition("\n")[0] for name, each in sorted(main.commands.items())}
    show(guide_section(topic, commands), as_json, is_markdown=topic is not None)
