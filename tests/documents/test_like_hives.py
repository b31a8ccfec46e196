"""Like hives are no more work than one: what stands alike is measured, graded and drawn once, whatever the count."""

import io
from pathlib import Path
from typing import Any

import pypdf
import pytest

from woodshop.checks import hives as check_hives
from woodshop.checks.check_batch import check_batch
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.make_units import make_units
from woodshop.design.settle.settle import settle
from woodshop.documents.answers import check_tables as gap_table
from woodshop.documents.fullsize.labels import MOST_LABELS
from woodshop.documents.packet.layouts import numbered_layouts
from woodshop.documents.packet.parts import needs_of
from woodshop.documents.result import result_files
from woodshop.hive.gaps.grading import bee_space
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.plan.values import PlannedBatch

HEAD = 'format = "woodshop-design/2"\nbatch = "many"\nunit = "in"\nlumberyard = "creekside-lumberyard.toml"\n'
HIVES = '[[hives]]\nname = "lumberyard {n}"\nframes = 10\ncount = 2\ngap = ["1/4", "5/16"]\n'
MANY = 40


def test_like_hives_are_measured_and_graded_once_and_all_named(
    designs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lumberyard = (designs / "creekside-lumberyard.toml").read_text(encoding="utf-8")
    (tmp_path / "creekside-lumberyard.toml").write_text(lumberyard, encoding="utf-8")
    make = '[[make]]\nitem = ["fondant rim", "wire bottom", "spacer strips"]\n'
    path = tmp_path / "many.toml"
    path.write_text(HEAD + "".join(HIVES.format(n=n) for n in range(MANY)) + make, encoding="utf-8")
    wanted = read_design(path)
    units = make_units(settle(wanted, read_lumberyards(wanted.lumberyards)))
    done = {"measured": 0, "graded": 0}

    def measure(jobs: Any, name: str, own: Any) -> Any:
        done[name] += jobs
        return own

    over_cores, graded = check_hives.over_cores, gap_table._graded
    monkeypatch.setattr(
        check_hives, "over_cores", lambda work, jobs, many: over_cores(work, measure(len(jobs), "measured", jobs), many)
    )
    monkeypatch.setattr(gap_table, "_graded", lambda *given: measure(1, "graded", graded(*given)))
    groups = check_hives.measure_hives(units)
    rows = gap_table.gap_rows(groups, bee_space())
    assert len(groups) == MANY
    assert done == {"measured": 2, "graded": 1}, "one hive, at two gaps over its bars"
    ((names, _),) = rows
    assert len(names) == MANY


def _packet_of(folder: Path, count: int) -> tuple[PlannedBatch, dict[str, bytes]]:
    """Two kinds of hive, as many of each, with a rim and a floor: planned, and all files of it."""
    kinds = [f'[[hives]]\nname = "lumberyard {n}"\nframes = {n}\ncount = {count}\ngap = "5/16"\n' for n in (10, 5)]
    path = folder / f"many-{count}.toml"
    path.write_text(HEAD + "".join(kinds) + '[[make]]\nitem = ["fondant rim", "wire bottom"]\n', encoding="utf-8")
    wanted = read_design(path)
    batch = settle(wanted, read_lumberyards(wanted.lumberyards))
    planned = plan_to_buy(batch, *check_batch(batch), effort="quick")
    return planned, result_files(planned, lambda _: None)


@pytest.mark.slow("all documents of two kinds of hive, twice")
def test_files_and_pages_grow_with_kinds_and_layouts_and_not_with_hives(designs: Path, tmp_path: Path) -> None:
    lumberyard = (designs / "creekside-lumberyard.toml").read_text(encoding="utf-8")
    (tmp_path / "creekside-lumberyard.toml").write_text(lumberyard, encoding="utf-8")
    (few, little), (many, much) = _packet_of(tmp_path, 4), _packet_of(tmp_path, MOST_LABELS)

    def rest(files: dict[str, bytes]) -> set[str]:
        return {name for name in files if "layout-" not in name}

    def pages(files: dict[str, bytes], name: str) -> int:
        return len(pypdf.PdfReader(io.BytesIO(files[name])).pages)

    assert rest(little) == rest(much)
    assert sum(name.startswith("bee-space-") and name.endswith(".svg") for name in much) == 2
    assert sum(name.startswith("drawings/part-") for name in much) == len(needs_of(many)) == len(needs_of(few))
    layouts = len(numbered_layouts(many))
    assert sum(name.startswith("drawings/layout-") for name in much) == layouts
    sizes = sum(len(each.plan.job.blanks) for each in many.plans)
    assert layouts <= 4 * sizes
    assert pages(much, "packet.pdf") <= pages(little, "packet.pdf") + layouts
    assert pages(much, "report.pdf") <= pages(little, "report.pdf") + 2
    assert pages(much, "labels.pdf") <= pages(little, "labels.pdf")
    assert len(much["cuts.csv"].splitlines()) == 1 + sum(len(each.pieces) for each in numbered_layouts(many))
