"""Check a design before any wood is cut."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from woodshop.cli.frame import FILE, command, main, print_json, say

if TYPE_CHECKING:
    from woodshop.batch.values import Batch, Unit
    from woodshop.findings import Finding, Report


@main.command()
@click.argument("design", type=FILE)
@click.option("--explain", is_flag=True, help="Say with each finding where its limits come from.")
@click.option("--map", "map_file", type=FILE, help="Draw the bee space of each hive into this new file, .pdf or .svg.")
@command
def check(design: Path, explain: bool, map_file: Path | None, as_json: bool) -> int:
    """Check a design before any wood is cut.

    Example: woodshop check designs/hobby-batch.toml
    """
    batch, units, report = checked(design)
    if map_file is not None:
        _draw_map(batch, units, map_file)
    if as_json:
        from woodshop.documents.listings import findings_json

        print_json(findings_json(report))
        return 1 if report.has_errors else 0
    for line in batch.lines:
        click.echo(f"{line.address:34} {line.arithmetic}")
    click.echo("")
    print_report(report, explain)
    return 1 if report.has_errors else 0


def _draw_map(batch: "Batch", units: "tuple[Unit, ...]", path: Path) -> None:
    from woodshop.documents.bee_map import bee_map_file
    from woodshop.documents.new_file import write_new

    write_new(path, bee_map_file(units, path, unit=batch.unit, paper=batch.paper), "the bee-space map")
    say(f"bee space drawn into {path}")


@main.command()
@click.argument("design", type=FILE)
@click.option("--explain", is_flag=True, help="Give every source, not only where they disagree.")
@command
def openings(design: Path, explain: bool, as_json: bool) -> None:
    """List every opening of what is made: its clear size, who passes it, and where sources disagree.

    Example: woodshop openings designs/production-run.toml
    """
    from woodshop.documents.openings import openings_lines, openings_told

    batch, units, _ = checked(design)
    if as_json:
        print_json({"openings": openings_told(units, batch.unit)})
        return
    for line in openings_lines(units, batch.unit, explain):
        click.echo(line)


def checked(design: Path) -> "tuple[Batch, tuple[Unit, ...], Report]":
    """A design, read, settled and checked: the batch, its units, the report."""
    from woodshop.batch.design import read_design
    from woodshop.batch.plan import check_batch
    from woodshop.batch.settle import settle
    from woodshop.batch.yards import read_yards

    wanted = read_design(design)
    batch = settle(wanted, read_yards(wanted.yards))
    units, report = check_batch(batch)
    return batch, units, report


def print_report(report: "Report", explain: bool) -> None:
    """Print the findings, like ones together; with `explain`, where their limits come from."""
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
