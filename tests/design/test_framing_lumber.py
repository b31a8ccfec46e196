"""Framing lumber: its rounded edges are cut off, and treated lumber is refused."""

from typing import Any

import pytest

from woodshop.checks.check_batch import check_batch
from woodshop.design.lumber import wall_widths
from woodshop.errors import InputError
from woodshop.plan.parts_needed import parts_needed
from woodshop.units.lengths import inch

FRAMING = (
    '\n[[board]]\nnominal = "2x8"\nwood = "{}"\nrounded_edges = true\nsizes = [{{ length = "8 ft", price = "8.74" }}]\n'
)
QUILT = '\n[[make]]\nitem = "quilt box"\nwood = "1 1/2"\n'


def test_an_eighth_is_cut_off_each_rounded_edge(shop: Any) -> None:
    """Of 7 1/4 in, 7 in remain: by hand. The job trims 8/64 in off each edge, and the default is listed."""
    lumberyard = shop.lumberyard_text + FRAMING.format("framing spruce")
    batch = shop.batch(shop.design_text + QUILT, lumberyard)
    assert inch("7") in wall_widths(batch.lumberyard, inch("1 1/2"), batch.saw, "in")
    units, _report = check_batch(batch)
    trims = {
        (stock.width, stock.edge_trim)
        for job in parts_needed(batch, units)
        for stock, offer in zip(job.job.stock, job.offers, strict=True)
        if offer.rounded_edges
    }
    assert trims == {(464, 8)}
    (row,) = [row for row in batch.defaults if row.name == "rounded_edges"]
    assert row.value == "1/8 in is cut off each edge of such a board"
    assert not [row for row in shop.batch().defaults if row.name == "rounded_edges"]


@pytest.mark.parametrize(
    "wood", ["treated pine", "pressure-treated fir", "fir, ground contact", "Treated pine", "PT spruce"]
)
def test_treated_lumber_is_refused(shop: Any, wood: str) -> None:
    with pytest.raises(InputError, match="preservatives do not belong in a hive"):
        shop.lumberyard(shop.lumberyard_text + FRAMING.format(wood))


def test_other_wood_is_not(shop: Any) -> None:
    for wood in ("untreated pine", "heat-treated spruce", "heat treated spruce"):
        assert shop.lumberyard(shop.lumberyard_text + FRAMING.format(wood)).offers
