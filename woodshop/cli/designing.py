"""Before a design is checked: write one, list what can be made, explain words and sources."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from woodshop.cli.frame import FILE, command, main, print_json, say, show
from woodshop.errors import InputError, Problem

if TYPE_CHECKING:
    from woodshop.units.lengths import Length


@main.command()
@click.argument("name", required=False)
@click.option("--board", is_flag=True, help="List the settings of [board], which the parts of a fondant board share.")
@click.option("--picture", type=FILE, help="Draw the item into this new file, .svg or .pdf.")
@command
def items(name: str | None, board: bool, picture: Path | None, as_json: bool) -> None:
    """List what can be made, or the settings of an item. --picture draws it as it comes out for a 10-frame box.

    Example: woodshop items "quilt box" --picture quilt-box.pdf
    """
    from woodshop.documents.answers.listings import board_section, item_section, items_section

    if picture is not None:
        _draw(name, picture, as_json)
        return
    if name is None:
        show(board_section() if board else items_section(), as_json)
        return
    show(item_section(name, with_board=board), as_json)


def _draw(name: str | None, picture: Path, as_json: bool) -> None:
    from woodshop.documents.answers.listings import item_picture
    from woodshop.files.one_file import write_new

    if name is None:
        raise InputError(
            Problem("items, --picture", "no item", "the name of the item to draw", 'As in: woodshop items "quilt box".')
        )
    write_new(picture, item_picture(name, picture), "the picture")
    if as_json:
        print_json({"item": name, "picture": str(picture)})
    else:
        click.echo(f"{name} drawn into {picture}")


@main.command()
@click.argument("file", required=False, type=FILE)
@click.option("--for", "kind", type=click.Choice(["beginner", "shop"]), default="beginner", show_default=True)
@click.option("--frames", type=int, multiple=True, help="Frames in a box; repeat for each group of hives.")
@click.option("--count", type=int, multiple=True, help="How many hives; repeat for each group.")
@click.option(
    "--gap", multiple=True, help='Measured over the top bars, "1/4" or "1/4, 5/16, 1/4"; repeat for each group.'
)
@click.option("--width", multiple=True, help="Outside of a box across the front; repeat for each group.")
@click.option("--name", multiple=True, help="Name of the hives; repeat for each group.")
@click.option("--customer", multiple=True, help="Whose hives they are; repeat for each group.")
@click.option(
    "--make",
    multiple=True,
    help="An item to make; repeat for each. Default: a fondant board; in a shop a quilt box too.",
)
@click.option(
    "--set", multiple=True, metavar="NAME=VALUE", help='Any setting, as "mounting=flush rabbet" or "quilt box.skirt=0".'
)
@click.option("--pattern", type=click.Choice(["Langstroth", "British National"]), help="Pattern of the boxes.")
@click.option("--batch", help="Name of the batch. Default: the file's.")
@click.option("--title", help="The heading of every page.")
@click.option("--unit", type=click.Choice(["in", "mm"]), help="The unit of a length without one. Default: in.")
@click.option("--lumberyard", multiple=True, help="The lumberyard file, as seen from FILE; may be repeated.")
@click.option("--on-by", help="The day when it must be on the hives, as 2026-11-26.")
@command
def new(file: Path | None, kind: str, as_json: bool, **given: Any) -> None:
    """Write a new design file with every key explained. Asks three questions where no option answers them.

    Writes to FILE, which must not exist yet; without FILE, or with "-", to standard output.

    Example: woodshop new first-winter.toml --frames 10 --count 6 --gap 1/4 --lumberyard creekside-lumberyard.toml
    """
    from woodshop.documents.answers.new_design import as_answers, new_design, questions
    from woodshop.files.one_file import refuse_existing, write_new

    place = None if file is None or str(file) == "-" else file
    if place is not None:
        refuse_existing(place, "the design file")
    if not any(given.values()) and _is_terminal():
        for key, question in questions(kind):
            given[key] = tuple(click.prompt(question, default="", show_default=False, err=True).split(";"))
    answers = as_answers(kind, place.stem if place else "", given)
    text = new_design(answers, place.name if place else "the new design")
    if place is not None:
        write_new(place, text.encode("utf-8"), "the design file")
        for lumberyard in answers.lumberyards:
            if not (place.parent / lumberyard).exists():
                say(f"There is no {place.parent / lumberyard} yet: write what your lumberyard sells into it.")
    if as_json:
        print_json({"file": str(place) if place else None, "design": text})
    else:
        click.echo(text if place is None else f"Written: {place}. Next: woodshop check {place}\n", nl=False)


def _is_terminal() -> bool:
    return sys.stdin is not None and not sys.stdin.closed and sys.stdin.isatty()


@main.command()
@click.argument("design", type=FILE)
@click.option("--overhang", help="Allowed at each end and side, over the box or inside it. Default: 1/16 in.")
@click.option("--cost", is_flag=True, help="Plan the batch both ways, and show what each costs.")
@click.option(
    "--keep",
    type=click.IntRange(1, 1000),
    default=2,
    show_default=True,
    help="With --cost: how many of each to keep on a shelf.",
)
@command
def sizes(design: Path, overhang: str | None, cost: bool, keep: int, as_json: bool) -> None:
    """Find the fewest sizes of rim that seat on all boxes of a design.

    Example: woodshop sizes designs/production-run.toml --overhang 1/16
    """
    from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
    from woodshop.design.orders.lines import read_run
    from woodshop.documents.answers.hives import sizes_section
    from woodshop.plan.fewest_rims import allowed_overhang, fewest_for
    from woodshop.trade.stocking import priced

    wanted = read_run(design)
    allowed = allowed_overhang() if overhang is None else _overhang(overhang, wanted.unit)
    found = fewest_for(wanted, read_lumberyards(wanted.lumberyards), allowed)
    money = priced(found, keep, say) if cost else None
    show(sizes_section(found, wanted.unit, money), as_json)


def _overhang(text: str, unit: str) -> "Length":
    from woodshop.units.lengths import LENGTH_WANTED, ZERO, read_length

    try:
        allowed = read_length(text, unit)
    except ValueError as why:
        raise InputError(Problem("sizes, --overhang", repr(text), LENGTH_WANTED, "Mend it.")) from why
    if allowed < ZERO:
        raise InputError(Problem("sizes, --overhang", repr(text), "nothing or more", "Leave out the sign."))
    return allowed


@main.command()
@click.argument("word", required=False)
@command
def sources(word: str | None, as_json: bool) -> None:
    """List every fact with its source, and count them. WORD picks the facts that mention it.

    Example: woodshop sources density
    """
    from woodshop.documents.answers.listings import sources_section

    show(sources_section(word), as_json)


@main.command()
@click.argument("word", required=False)
@command
def explain(word: str | None, as_json: bool) -> None:
    """Explain a setting, a finding, a fact or a word of the trade. Without WORD, list the groups of words.

    Example: woodshop explain strip-lifts-rim
    """
    from woodshop.documents.answers.explain import GROUPS, word_section, words_section

    show(words_section(word) if word is None or word in GROUPS else word_section(word), as_json)


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
