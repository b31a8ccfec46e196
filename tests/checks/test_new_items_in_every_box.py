"""Every item that is no part of a fondant board, for every box of the table: checked, planned, sound."""

from itertools import product
from typing import Any

import pytest

from tests.nightly import EFFORT, every_two
from tests.shop_folder import still
from woodshop.checks.check_batch import check_batch
from woodshop.cutting.checkers.check import check_plan
from woodshop.plan.plan_batch import plan_batch
from woodshop.reference.boxes import box_sizes
from woodshop.reference.patterns import patterns
from woodshop.shape.part import Role

ITEMS = {
    "vent spacers": "",
    "mouse guard": "",
    "mouse guard, mesh": 'kind = "mesh"\n',
    "bottom insert": "",
    "feeder quilt": 'well_length = "6 in"\nwell_width = "7 in"\nwell_depth = "3 in"\n',
    "bee-space gauge": "gauges = 2\n",
    "feeding shim": "",
    "feeding shim, rabbets in the ends": 'joint = "rabbet in the ends"\n',
    "feeding shim, rabbets in the sides": 'joint = "rabbet in the sides"\n',
    "feeding shim, butt, sides inside": 'joint = "butt, sides inside"\n',
}
BOXES = [
    *(f'frames = {size.frames}\nwidth = "{size.width}"' for size in box_sizes() if size.frames in (8, 10)),
    "frames = 5",
    'pattern = "British National"\nframes = 11',
    *(f'pattern = "{each.name}"\nframes = {each.frames[0]}' for each in patterns()[2:] if not each.missing),
]
# 15 holes of 9 mm in a nucleus box's 7 1/2 in entrance leave 1.48 sq in, under 3/8 x 4 = 1.50
FEW_HOLES = {("mouse guard", "frames = 5"): ["guard-chokes-entrance"]}


EVERY = [(n, b, u) for n, b in product(ITEMS, BOXES) for u in ("in", "mm") if u == "in" or "rim" not in n]
# boxes of as many frames are alike, and boxes with a pattern
SOME = every_two(EVERY, lambda case: (case[0], case[1].partition("\n")[0].partition(' = "')[0], case[2]))


@pytest.mark.invariant
@pytest.mark.parametrize(("name", "box", "unit"), SOME, ids=lambda text: text.replace("\n", ", "))
def test_it_is_clean_and_its_plan_is_sound(shop: Any, name: str, box: str, unit: str) -> None:
    text = (
        f'format = "woodshop-design/2"\nbatch = "b"\nunit = "{unit}"\nlumberyard = "lumberyard.toml"\n'
        f'[[hives]]\n{box}\ncount = 3\ngap = "1/4 in"\n'
        f'[[make]]\nitem = "{name.partition(",")[0]}"\n{ITEMS[name]}'
    )
    batch = still(shop.batch(text))
    units, report = check_batch(batch)
    assert [f.code for f in report.findings if f.severity != "note"] == FEW_HOLES.get((name, box), [])
    planned = plan_batch(batch, units, report, effort=EFFORT)
    for each in planned.plans:
        assert check_plan(each.plan, each.job.job) == ()
    laid = sum(len(lay.pieces) * lay.times for each in planned.plans for lay in each.plan.layouts)
    wanted = sum(len(u.assembly.with_role(Role.MADE)) * u.line.count for u in units)
    assert laid == wanted
    assert sum(cost.total.minor for cost in planned.costs) == planned.total.minor
    assert planned.unpriced == ()
