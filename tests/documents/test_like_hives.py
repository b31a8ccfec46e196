"""Many groups of like hives are no more work than one: what stands alike is measured and graded once."""

from pathlib import Path
from typing import Any

import pytest

from woodshop.checks import hives as check_hives
from woodshop.design.design_file import read_design
from woodshop.design.lumberyard.lumberyard_file import read_yards
from woodshop.design.make_units import make_units
from woodshop.design.settle.settle import settle
from woodshop.documents.report import gap_table
from woodshop.hive.gaps.grading import bee_space

HIVES = '[[hives]]\nname = "yard {n}"\nframes = 10\ncount = 2\ngap = ["1/4", "5/16"]\n'
MANY = 40


def test_like_hives_are_measured_and_graded_once_and_all_named(
    designs: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    yard = (designs / "creekside-yard.toml").read_text(encoding="utf-8")
    (tmp_path / "creekside-yard.toml").write_text(yard, encoding="utf-8")
    head = 'format = "woodshop-design/1"\nbatch = "many"\nunit = "in"\nyard = "creekside-yard.toml"\n'
    make = '[[make]]\nitem = ["fondant rim", "mesh floor", "spacer strips"]\n'
    path = tmp_path / "many.toml"
    path.write_text(head + "".join(HIVES.format(n=n) for n in range(MANY)) + make, encoding="utf-8")
    wanted = read_design(path)
    units = make_units(settle(wanted, read_yards(wanted.yards)))
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
