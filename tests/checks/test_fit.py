"""Findings after a change, with what did not change kept: equal to those of a check from the beginning."""

from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from tests.shop_folder import still
from woodshop.checks.check_batch import check_batch, check_variation, fit_of, measured_batch
from woodshop.checks.kept import Kept
from woodshop.findings import gather
from woodshop.units.lengths import lengths_in

CHOICES: dict[str, tuple[str, ...]] = {
    "unit": ("in", "mm"),
    "gap": ('"1/4 in"', '"3/8 in"', '["1/4 in", "5/16 in"]'),
    "other": ('"1/4 in"', '"5/16 in"'),
    "mounting": ("stapled under", "flush rabbet"),
    "sugar": ("12 lb", "16 lb"),
    "more": ("", '[[make]]\nitem = "quilt box"\n'),
    "climate": ("", '[climate]\noutside = "-10 F"\n'),
}


def design_of(chosen: dict[str, str]) -> str:
    return f"""format = "woodshop-design/2"
batch = "two-yards"
unit = "{chosen["unit"]}"
lumberyard = "lumberyard.toml"
[board]
mounting = "{chosen["mounting"]}"
sugar = "{chosen["sugar"]}"
[[hives]]
name = "hill"
frames = 8
count = 2
gap = {chosen["gap"]}
[[hives]]
name = "creek"
frames = 5
count = 1
gap = {chosen["other"]}
{chosen["climate"]}
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips"]
{chosen["more"]}"""


KEPT = Kept(4)


@pytest.mark.slow("each random change is also checked from the beginning")
@pytest.mark.invariant
@settings(
    max_examples=tries(40), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture], derandomize=True
)
@given(st.fixed_dictionaries({name: st.sampled_from(values) for name, values in CHOICES.items()}))
def test_what_is_kept_is_never_stale(shop: Any, chosen: dict[str, str]) -> None:
    batch = still(shop.batch(design_of(chosen)))
    quick = fit_of(batch, KEPT)
    units, report, groups = measured_batch(batch)
    assert (quick.units, quick.report, quick.groups) == (units, report, groups)
    assert len(KEPT) <= 4


@pytest.mark.invariant
def test_with_what_varies_it_is_the_whole_check(shop: Any) -> None:
    batch = shop.batch()
    kept = Kept()
    fit = fit_of(batch, kept)
    again = fit_of(batch, kept)
    assert again == fit
    _, whole = check_batch(batch)
    with lengths_in(batch.unit):
        varied = check_variation(batch, fit.units)
    assert varied, "this design has something that varies"
    assert gather(again.report.findings, varied) == whole


@pytest.mark.invariant
def test_only_the_latest_results_are_kept() -> None:
    kept, asked = Kept(2), list[int]()

    def double(number: int) -> int:
        asked.append(number)
        return 2 * number

    assert kept.each(double, [(1,), (2,), (1,)]) == [2, 4, 2]
    assert kept.of(double, 1) == 2
    assert asked == [1, 2]
    assert kept.of(double, 3) == 6  # 2 was unused for longest
    assert kept.of(double, 1) == 2
    assert asked == [1, 2, 3]
    assert kept.of(double, 2) == 4
    assert asked == [1, 2, 3, 2]
    with lengths_in("mm"):
        kept.of(double, 2)
    assert asked == [1, 2, 3, 2, 2]
    assert len(kept) == 2


@pytest.mark.invariant
def test_one_group_changed_measures_one_group(shop: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    from woodshop.checks import hives

    text = (Path(__file__).resolve().parents[2] / "designs" / "hobby-batch.toml").read_text(encoding="utf-8")
    text = text.replace("creekside-lumberyard.toml", "lumberyard.toml")
    whole, count = hives.measure, 0

    def measure(*given: Any) -> Any:
        nonlocal count
        count += 1
        return whole(*given)

    monkeypatch.setattr(hives, "measure", measure)
    kept = Kept()
    fit_of(shop.batch(text), kept)
    first, count = count, 0
    assert first >= 3
    fit_of(shop.batch(text.replace('title = "Winter', 'title = "Cold')), kept)
    assert count == 0
    fit_of(shop.batch(text.replace('["1/4", "1/4", "1/4"]', '["9/32", "9/32", "9/32"]')), kept)
    assert count == 1
