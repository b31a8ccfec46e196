"""Every item that is no part of a fondant board, for every box of the table: checked, planned, sound."""

from typing import Any

import pytest

from woodshop.batch.plan import check_batch, plan_batch
from woodshop.cutting.check import check_plan
from woodshop.reference.boxes import box_sizes
from woodshop.shape.part import Role

ITEMS = {
    "vent spacers": "",
    "mouse guard": "",
    "mouse guard, mesh": 'kind = "mesh"\n',
    "bottom closure": "",
    "feeder quilt": 'well_length = "8 in"\nwell_width = "10 in"\nwell_depth = "3 in"\n',
    "bee-space gauge": "gauges = 2\n",
    "cake rim": "",
    "cake rim, rabbets in the ends": 'joint = "rabbet in the ends"\n',
    "cake rim, rabbets in the sides": 'joint = "rabbet in the sides"\n',
    "cake rim, butt, sides inside": 'joint = "butt, sides inside"\n',
}
BOXES = [(size.frames, size.width) for size in box_sizes() if size.frames in (8, 10)]


@pytest.mark.invariant
@pytest.mark.parametrize(("frames", "width"), BOXES, ids=str)
@pytest.mark.parametrize(("name", "unit"), [(n, u) for n in ITEMS for u in ("in", "mm") if u == "in" or "rim" not in n])
def test_it_is_clean_and_its_plan_is_sound(shop: Any, name: str, frames: int, width: Any, unit: str) -> None:
    text = (
        f'format = "woodshop-design/1"\nbatch = "b"\nunit = "{unit}"\nyard = "yard.toml"\n'
        f'[[hives]]\nframes = {frames}\nwidth = "{width}"\ncount = 3\ngap = "1/4 in"\n'
        f'[[make]]\nitem = "{name.partition(",")[0]}"\n{ITEMS[name]}'
    )
    batch = shop.batch(text)
    units, report = check_batch(batch)
    assert [str(f) for f in report.findings if f.severity != "note"] == []
    planned = plan_batch(batch, units, report)
    for each in planned.plans:
        assert check_plan(each.plan, each.job.job) == ()
    laid = sum(len(lay.pieces) * lay.times for each in planned.plans for lay in each.plan.layouts)
    wanted = sum(len(u.assembly.with_role(Role.MADE)) * u.line.count for u in units)
    assert laid == wanted
    assert sum(cost.total.minor for cost in planned.costs) == planned.total.minor
    assert planned.unpriced == ()
