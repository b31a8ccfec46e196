"""What a batch would cost if something were otherwise."""

from pathlib import Path

import click

from woodshop.cli.frame import FILE, command, main, say, show
from woodshop.cli.planning import effort_of, efforts


@main.command()
@click.argument("design", type=FILE)
@click.option("--vary", multiple=True, metavar="KEY=V1,V2", help="What to change, and to what; again for each key.")
@click.option("--picture", type=FILE, help="Draw what each choice costs into this new file, .svg or .pdf.")
@efforts
@command
def compare(
    design: Path, vary: tuple[str, ...], picture: Path | None, quick: bool, thorough: bool, as_json: bool
) -> None:
    """Run a batch under changes, and show what each costs beside the design as it stands.

    KEY is a key of the design (board.mounting, hives.sugar, "quilt box.height", wood), of the saw (saw.rip_kerf), of
    a price (price.1x6), or yards. Several --vary multiply.

    Example: woodshop compare designs/six-tens.toml --vary "board.mounting=stapled under,flush rabbet" --quick
    """
    from woodshop.design.schema import load
    from woodshop.documents.answers.comparison import comparison_section
    from woodshop.documents.answers.comparison_picture import check_ending, comparison_picture
    from woodshop.files.writing import refuse_taken, write_new
    from woodshop.trade.compare import compare as run
    from woodshop.trade.vary import read_varies

    if picture is not None:
        check_ending(picture)
        refuse_taken(picture, "the picture")
    outcomes = run(design, read_varies(vary), effort_of(quick, thorough), say)
    if picture is not None:
        raw = load(design, "design")
        title = f"{raw.get('title') or raw.get('batch')}: cost against choice"
        paper = "a4" if raw.get("paper") == "a4" else "letter"
        write_new(picture, comparison_picture(outcomes, picture, title, paper), "the picture")
        say(f"costs drawn into {picture}")
    show(comparison_section(outcomes), as_json)
