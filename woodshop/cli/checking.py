"""Check a design before any wood is cut."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from woodshop.cli.frame import FILE, command, main, problems_json, say, show
from woodshop.errors import WoodshopError

if TYPE_CHECKING:
    from woodshop.checks.first_article import MeasuredUnit
    from woodshop.checks.hives import HiveGroup
    from woodshop.checks.variation import MovedHives, WhatIf
    from woodshop.design.batch import Batch, Unit
    from woodshop.findings import Report


def book_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """The options --book (the shop's book) and --as-of (the last event in it to use)."""
    book = click.option("--book", type=FILE, help="The shop's book. Default: the book that the design names, if any.")
    as_of = click.option(
        "--as-of", type=click.IntRange(min=0), help="Use the book as it stood after this event. Default: the last."
    )
    return book(as_of(function))


@main.command()
@click.argument("design", type=FILE)
@click.option(
    "--explain", metavar="CODE", help="Explain one finding: the rule, its numbers in this design, its sources."
)
@click.option("--band", metavar="NAME", help="Compare the gaps with this published range of bee space.")
@click.option("--map", "map_file", type=FILE, help="Draw the bee space of each hive to this new .pdf or .svg file.")
@click.option(
    "--gaps", is_flag=True, help="Show every gap, and the winter state of the sugar, the mesh and the top of each hive."
)
@click.option("--moves", is_flag=True, help="Estimate how wood movement and tolerances change the gaps.")
@click.option(
    "--measured", type=FILE, help="Check the first article, using the sizes you measured on it, from this file."
)
@click.option("--sheet", type=FILE, help="Write a blank measuring sheet to this new file.")
@book_options
@command
def check(
    design: Path,
    explain: str | None,
    band: str | None,
    map_file: Path | None,
    gaps: bool,
    moves: bool,
    measured: Path | None,
    sheet: Path | None,
    book: Path | None,
    as_of: int | None,
    as_json: bool,
) -> int:
    """Check a design before you cut wood. With --measured, check the first article.

    Lists what is wrong, why it matters and what to do.

    Example: woodshop check designs/hobby-batch.toml
    """
    from woodshop.checks.cold import cold_tops
    from woodshop.documents.answers.check_tables import gap_section, sugar_section
    from woodshop.documents.answers.hives import unit_section
    from woodshop.documents.report.cold_top import cold_section
    from woodshop.documents.report.mesh import mesh_section
    from woodshop.documents.report.report import explained_here, findings_section, made_section, verdict_line
    from woodshop.documents.report.variation import moves_section
    from woodshop.drawing.values.model import Paragraph, Section, joined
    from woodshop.files.one_file import refuse_existing
    from woodshop.hive.gaps.grading import bee_space
    from woodshop.reference.limits import named_band
    from woodshop.units.lengths import lengths_in

    for path, what in ((map_file, "the bee-space map"), (sheet, "the sheet")):
        if path is not None:
            refuse_existing(path, what)
    if band is not None:
        band = named_band(band, "--band")
    one: MeasuredUnit | None = None
    if measured is None:
        batch, units, report, groups = _measured(_settled(design, band, book, as_of))
    else:
        one, report, groups = _unit_measured(_settled(design, band, book, as_of), measured)
        batch, units = one.batch, one.units
    refused = _refused(batch, units) if one is None else None
    with lengths_in(batch.unit):
        explained = explained_here(report, explain) if explain is not None else ()
    if map_file is not None:
        _draw_map(batch, units, map_file)
    if sheet is not None:
        _write_sheet(batch, units, sheet)
    unit = batch.unit
    hives = [mesh_section(groups, unit), cold_section(cold_tops(units, batch.conditions.climate), unit)]
    if not gaps:
        hives = [Section("", (), each.data) for each in hives]
    hives.insert(0, gap_section(groups, bee_space(batch.conditions.band, unit), unit, is_brief=not gaps))
    if moves:
        hives.append(moves_section(*_moved(batch, units, theirs=as_json), batch.conditions.tolerances, unit))
    verdict = Section("", () if refused else (Paragraph(verdict_line(report)),))
    made = made_section(batch, is_brief=not gaps) if one is None else unit_section(one)
    more = (
        "More: --gaps shows every gap, --moves shows how sizes vary, --explain CODE explains a finding, woodshop guide "
        "checks lists all findings."
    )
    problems = Section("", (), {"errors": problems_json(refused)} if refused else {})
    whole = joined(
        (
            verdict,
            findings_section(report, None if gaps else batch),
            made,
            sugar_section(batch, units, is_brief=not gaps),
            *hives,
            Section("", () if gaps else (Paragraph(more),)),
            problems,
        )
    )
    show(whole if explain is None else replace(whole, blocks=explained), as_json)
    for problem in () if as_json or refused is None else refused.problems:
        say(f"error: {problem}")
    if report.has_errors or refused is None:
        return 1 if report.has_errors else 0
    return refused.exit_code


def _refused(batch: "Batch", units: "tuple[Unit, ...]") -> WoodshopError | None:
    """The error that would stop `plan` for these units; None if there is none."""
    from woodshop.plan.buying.where_to_buy import refuse_what_plan_refuses
    from woodshop.units.lengths import lengths_in

    try:
        with lengths_in(batch.unit):
            refuse_what_plan_refuses(batch, units)
    except WoodshopError as why:
        return why
    return None


def _moved(
    batch: "Batch", units: "tuple[Unit, ...]", *, theirs: bool
) -> "tuple[tuple[MovedHives, ...], tuple[WhatIf, ...]]":
    """The full variation of the gaps, and the effect of each default if it is wrong. `theirs` adds the gaps of the
    user's own boxes, which only the JSON shows.
    """
    from woodshop.checks.variation import FULL, moved_hives, what_if
    from woodshop.documents.report.variation import worst
    from woodshop.hive.gaps.grading import bee_space

    limits = bee_space(batch.conditions.band, batch.unit)
    if batch.conditions.tolerances is None:
        return (), ()
    moved = moved_hives(units, batch.conditions.tolerances, limits, count=FULL, theirs=theirs, progress=say)
    if not moved:
        return (), ()
    say("trying other values for the defaults")
    return moved, what_if(worst(moved), batch.conditions.tolerances, limits, batch.unit)


def _draw_map(batch: "Batch", units: "tuple[Unit, ...]", path: Path) -> None:
    from woodshop.documents.bee_map.bee_map import bee_map_file
    from woodshop.files.one_file import write_new

    write_new(
        path,
        bee_map_file(units, path, unit=batch.unit, paper=batch.pages.paper, band_name=batch.conditions.band),
        "the bee-space map",
    )
    say(f"bee space drawn to {path}")


def _unit_measured(batch: "Batch", file: Path) -> "tuple[MeasuredUnit, Report, tuple[HiveGroup, ...]]":
    """The hives remade with the sizes measured in this file, the findings about them, and their measured groups."""
    from woodshop.checks.check_batch import check_made
    from woodshop.checks.first_article import measured_unit
    from woodshop.design.make_units import make_units
    from woodshop.design.measured_files import read_unit_file

    one = measured_unit(batch, make_units(batch), read_unit_file(file, batch.unit))
    return one, *check_made(one.batch, one.units, say, prices=False)


def _write_sheet(batch: "Batch", units: "tuple[Unit, ...]", path: Path) -> None:
    from woodshop.documents.answers.hives import blank_file
    from woodshop.files.one_file import write_new

    write_new(path, blank_file(units, batch.unit).encode("utf-8"), "the sheet")
    say(f"sizes to measure written to {path}")


@main.command()
@click.argument("design", type=FILE)
@click.option("--explain", is_flag=True, help="List every source, not only sources that disagree.")
@command
def openings(design: Path, explain: bool, as_json: bool) -> None:
    """List every opening: its clear size, what can pass, and where sources disagree.

    Example: woodshop openings designs/production-run.toml
    """
    from woodshop.documents.answers.check_tables import openings_section
    from woodshop.documents.plan_design import checked_file

    batch, units, _ = checked_file(design, say=say)
    show(openings_section(units, batch.unit, explain), as_json)


def _measured(batch: "Batch") -> "tuple[Batch, tuple[Unit, ...], Report, tuple[HiveGroup, ...]]":
    """The batch, its units, the report of its check, and the measured groups of hives."""
    from woodshop.checks.check_batch import measured_batch

    units, report, groups = measured_batch(batch, say)
    return batch, units, report, groups


def _settled(design: Path, band: str | None, book: Path | None, as_of: int | None) -> "Batch":
    from woodshop.documents.plan_design import settled_file

    batch = settled_file(design, book, as_of)
    return batch if band is None else replace(batch, conditions=replace(batch.conditions, band=band))


def stop_for_errors(report: "Report", as_json: bool, why: str) -> int:
    """Prints the findings (JSON if `as_json` is true) and `why` nothing was done. Returns the exit code for errors."""
    from woodshop.documents.report.report import findings_section

    show(findings_section(report), as_json)
    if not as_json:
        say(why)
    return 1
