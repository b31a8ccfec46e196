"""Unchanged counts change nothing, whatever was bought or cut: over the demo designs and small ones."""

import json
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from tests.nightly import IS_NIGHT
from tests.plan.rest.small_run import DESIGN
from woodshop.checks.check_batch import check_batch
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.cutting.layouts.fewer_layouts import EFFORTS
from woodshop.design.batch import Batch, Unit
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.orders.lines import read_run
from woodshop.design.settle.settle import settle
from woodshop.findings import Report
from woodshop.plan.buying import groups as buying_plans
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.rest import least_change
from woodshop.plan.rest.earlier_plan import EarlierPlan, read_earlier
from woodshop.plan.rest.plan_rest import plan_rest
from woodshop.plan.rest.progress import LayoutCut, Progress

SMALL = {
    "boards": DESIGN,
    "spare pieces kept": DESIGN.replace('unit = "in"\n', 'unit = "in"\nsurplus = "spare"\n'),
    "by worth": DESIGN.replace("[[shed]]", '[worth]\nlayout = "1.00"\nsetting = "0.25"\noffcut = "0.20"\n[[shed]]', 1),
}
DEMOS = ("hobby-batch", "order-run", "two-lumberyards") if IS_NIGHT else ()


@pytest.fixture(scope="module", params=[*SMALL, *DEMOS])
def planned(
    request: pytest.FixtureRequest, designs: Path, tmp_path_factory: pytest.TempPathFactory
) -> tuple[EarlierPlan, Batch, tuple[Unit, ...], Report]:
    folder = tmp_path_factory.mktemp("designs")
    for each in designs.iterdir():
        (folder / each.name).write_bytes(each.read_bytes())
    (folder / "lumberyard.toml").write_bytes((folder / "creekside-lumberyard.toml").read_bytes())
    text = SMALL.get(request.param) or (folder / f"{request.param}.toml").read_text()
    path = folder / "rest.toml"
    path.write_text(
        text.replace('ready_made = "mouse guard"', "")
    )  # the rest of a plan refuses what is bought ready-made
    design = read_run(path)
    batch = settle(design, read_lumberyards(design.lumberyards))
    units, report = check_batch(batch)
    made = plan_to_buy(batch, units, report, effort="quick")
    return read_earlier(json.dumps(batch_to_json(made)), "plan.json"), batch, units, report


def half(old: EarlierPlan, part: int) -> tuple[LayoutCut, ...]:
    return tuple(LayoutCut(number, old.plans[m].layouts[n].times * part // 2) for number, (m, n) in old.layouts.items())


@pytest.mark.invariant
@pytest.mark.parametrize("how", ["nothing bought", "all bought", "half of each layout cut"])
def test_unchanged_counts_change_nothing(planned: Any, how: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is bought, no board is saved or added, and every layout is the old one, as often as it was left."""
    old, batch, units, report = planned
    monkeypatch.setattr(buying_plans, "plan_any", None)
    if batch.worth is not None and not IS_NIGHT:
        monkeypatch.setitem(EFFORTS, "quick", EFFORTS["quick"] // 10)
        monkeypatch.setitem(least_change.TRIES, "quick", 8)
    cut = half(old, 1) if how == "half of each layout cut" else ()
    progress = Progress(cut=cut, bought=() if how == "nothing bought" else None)
    found = plan_rest(old, batch, units, report, progress, effort="quick")
    assert found.lines == ()
    assert {row.fate for row in found.layouts} <= {"stays"}
    assert all(each.kept == each.boards for each in found.changes)
    if how == "nothing bought":
        assert found.rest.total == found.was
        assert [(p.what, p.count, p.price.minor) for p in found.rest.purchases] == [
            (line.what, line.count, line.price) for line in old.bought
        ]
    else:
        assert found.rest.purchases == ()
    rest = {each.job.material: each.plan for each in found.rest.plans}
    done = {old.layouts[row.layout]: row.times for row in cut}
    for material, plan in old.plans.items():
        wanted: Counter[Any] = Counter()
        for n, layout in enumerate(plan.layouts):
            places = frozenset((p.id, p.x, p.y, p.length, p.width, p.spare) for p in layout.pieces)
            wanted[layout.stock, places] += layout.times - done.get((material, n), 0)
        laid: Counter[Any] = Counter()
        for layout in rest[material].layouts if material in rest else ():
            places = frozenset((p.id, p.x, p.y, p.length, p.width, p.spare) for p in layout.pieces)
            laid[layout.stock.removeprefix("bought "), places] += layout.times
        assert laid == +wanted
    for plan in rest.values():
        assert check_plan(plan) == ()
        assert prove_plan(plan) == ()
    for row in found.stock:
        is_bought_now = how == "nothing bought" and not row.what.startswith("offcut")
        assert row.buy == (row.planned if is_bought_now else 0)
        assert row.left == 0
