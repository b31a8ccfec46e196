"""A small run of two groups of hives, planned once, and rests of it."""

import json
from pathlib import Path
from typing import Any

from woodshop.checks.check_batch import check_batch
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.orders.lines import read_run
from woodshop.design.settle.settle import settle
from woodshop.plan.plan_batch import batch_to_json, plan_batch
from woodshop.plan.rest.earlier_plan import EarlierPlan, read_earlier
from woodshop.plan.rest.plan_rest import PlanOfRest, plan_rest
from woodshop.plan.rest.progress import LayoutCut, Progress
from woodshop.plan.rest.reading import with_counts

DESIGN = """format = "woodshop-design/2"
batch = "b"
unit = "in"
lumberyard = "lumberyard.toml"
[[hives]]
name = "tens"
frames = 10
width = "16 1/4"
count = 8
gap = "1/4"
[[hives]]
name = "eights"
frames = 8
width = "13 3/4"
count = 6
gap = "1/4"
[[shed]]
item = "fondant rim"
hives = "tens"
have = 2
[[make]]
item = ["fondant rim", "wire bottom"]
[[make]]
item = "quilt box"
hives = "tens"
"""


class SmallRun:
    """A design planned once, and rests of it."""

    def __init__(self, folder: Path, designs: Path) -> None:
        self.folder = folder
        (folder / "lumberyard.toml").write_bytes((designs / "creekside-lumberyard.toml").read_bytes())
        (folder / "design.toml").write_text(DESIGN)
        self.design = read_run(folder / "design.toml")
        self.lumberyard = read_lumberyards(self.design.lumberyards)
        batch = settle(self.design, self.lumberyard)
        units, report = check_batch(batch)
        self.text = json.dumps(batch_to_json(plan_batch(batch, units, report, effort="quick")))
        (folder / "plan.json").write_text(self.text)
        self.earlier: EarlierPlan = read_earlier(self.text, "plan.json")

    def rest(self, progress: Progress, earlier: EarlierPlan | None = None, **how: Any) -> PlanOfRest:
        batch = settle(with_counts(self.design, progress.counts), self.lumberyard)
        units, report = check_batch(batch)
        return plan_rest(earlier or self.earlier, batch, units, report, progress, **({"effort": "quick"} | how))

    def cut(self, part: int, of: int) -> tuple[LayoutCut, ...]:
        """A share of the boards of every layout, the first ones."""
        return tuple(
            LayoutCut(number, self.earlier.plans[m].layouts[n].times * part // of)
            for number, (m, n) in self.earlier.layouts.items()
        )
