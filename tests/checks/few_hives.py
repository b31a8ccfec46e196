"""Batches of five-frame hives, quick to measure, and what is asked of them in several tests."""

from pathlib import Path
from typing import Any

from woodshop.checks.check_batch import measured_batch
from woodshop.checks.variation import Population, populations
from woodshop.design.batch import Batch
from woodshop.design.design_file import design_of
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.make_units import make_units
from woodshop.design.settings.tolerances import Tolerances
from woodshop.design.settle.settle import settle

EVERY_BOARD = ("fondant rim", "wire bottom", "spacer strips")


def batch_of(
    designs: Path,
    *,
    hives: str = "",
    more: str = "",
    makes: str = "",
    board: str = "",
    unit: str = "in",
    frames: int = 5,
) -> Batch:
    """A batch of five-frame hives in one box, quick to measure; TOML lines are added to its tables."""
    text = f"""
format = "woodshop-design/2"
batch = "few"
unit = "{unit}"
lumberyard = "creekside-lumberyard.toml"
{more}
[board]
{board}
[[hives]]
frames = {frames}
count = 4
{"" if "[[hives.body]]" in hives else 'boxes = ["deep"]'}
{hives or 'gap = ["1/4", "1/4", "1/4"]'}
[[make]]
item = {list(EVERY_BOARD)}
{makes}
"""
    import tomllib

    def tupled(value: Any) -> Any:
        if isinstance(value, dict):
            return {key: tupled(each) for key, each in value.items()}
        return tuple(tupled(each) for each in value) if isinstance(value, list) else value

    design = design_of(tupled(tomllib.loads(text, parse_float=str)), designs / "few.toml")
    return settle(design, read_lumberyards(design.lumberyards))


def one_of(batch: Batch) -> tuple[Population, Tolerances]:
    units = {unit.line.item.name: unit for unit in make_units(batch)}
    ((_, of),) = populations(units)
    assert batch.conditions.tolerances is not None
    return of, batch.conditions.tolerances


def findings_of(batch: Batch) -> dict[str, Any]:
    _, report, _ = measured_batch(batch)
    return {finding.code: finding for finding in report.findings}
