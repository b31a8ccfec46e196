"""How gaps hang on sizes: chains against the hive made again and measured, size by size and at random points."""

import random
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest

from tests.nightly import IS_NIGHT
from woodshop.hive.gaps.gaps import measure_gaps
from woodshop.hive.stacking.place import TierKind
from woodshop.hive.variation.chains import GapChain, chains_of, lines_at
from woodshop.hive.variation.sizes import HiveBuild, Work, dimensions_of, remade
from woodshop.units.lengths import ZERO, Length, inch, millimetre

REACH = {Work.HEIGHT: inch("1/8"), Work.GAP: inch("1/16"), Work.BOX: inch("1/16")}
HIVES = ("plain", "nucleus", "rabbeted", "tall", "bare")
POINTS = 200 if IS_NIGHT else 24  # to each hive; a thousand in all at night


@pytest.fixture(scope="module", params=HIVES)
def stood(request: pytest.FixtureRequest, build: Callable[..., HiveBuild], box: Any, put: Any) -> HiveBuild:
    return _hive(request.param, build, box, put)


def _hive(which: str, build: Callable[..., HiveBuild], box: Any, put: Any) -> HiveBuild:
    if which == "plain":  # strips just as thick as the gap: the least change decides what the mesh lies on
        b = box(8, "13 3/4", height="medium")
        return build(b, put["board"](width="13 3/4"), put["strips"](b), put["spacers"](b), boxes=(b,))
    if which == "nucleus":
        b = box(5, "9")
        loads = (put["board"](width="9"), put["strips"](b), put["quilt"](width="9"), put["spacers"](b))
        return build(b, *loads, inner="3/4", screened=True, boxes=(b,))
    if which == "rabbeted":  # the mesh in the rim, the strips far below it
        b = box(5, "9", gap="5/16")
        board = put["board"](width="9", mesh_low="0.293", notch=("3/8", "5/16"))
        return build(b, board, put["strips"](b, "3/8"), put["spacers"](b), boxes=(b,))
    if which == "tall":  # strips that lift the board from the start
        b = box(5, "9")
        return build(b, put["board"](width="9"), put["strips"](b, "5/16"), put["quilt"](width="9"))
    b = box(5, "9", height="shallow")
    return build(b, inner="3/8", boxes=(b, b))


def reach_of(stood: HiveBuild) -> dict[str, Length]:
    return {size.name: REACH.get(size.work, inch("1/32")) for size in dimensions_of(stood)}


def measured(stood: HiveBuild, by: dict[str, Length]) -> dict[tuple[Any, ...], Length]:
    return {(g.name, g.place, g.between): g.least for g in measure_gaps(remade(stood, by).stack)}


def test_nothing_changed_is_the_same_hive(stood: HiveBuild) -> None:
    """Part by part, with sizes named and none of them changed."""
    assert remade(stood, {size.name: ZERO for size in dimensions_of(stood)}).stack == stood.stack


@pytest.mark.invariant
def test_coefficients_are_those_of_each_size_changed_by_itself(stood: HiveBuild) -> None:
    """All coefficients come out of one measurement: here every size is changed alone, by a hair, and measured."""
    hair = Length(Fraction(1, 10**6))
    lines, before = lines_at(stood, {}), measured(stood, {})
    assert {key: line.nominal for key, (_, line) in lines.items()} == before
    # Where two contacts are alike a hair either way decides: each size is then changed from a little into the line.
    aside = {size.name: Length(Fraction(n + 1, 1000)) for n, size in enumerate(dimensions_of(stood))}
    start = measured(stood, aside)
    for size in dimensions_of(stood):
        after = measured(stood, {**aside, size.name: aside[size.name] + hair})
        for key, (_, line) in lines.items():
            share = dict(line.coefficients).get(size.name, Fraction(0))
            assert after[key] - start[key] == hair * share, (size.name, key)


@pytest.mark.invariant
@pytest.mark.parametrize("seed", range(4))
def test_chains_agree_with_the_hive_made_again_at_random_points(stood: HiveBuild, seed: int) -> None:
    """Every gap exactly, over changes of contact too: sizes anywhere within reach, 200 points, 1,000 at night."""
    reach = reach_of(stood)
    chains: dict[tuple[str, str, tuple[str, str]], GapChain] = {}
    for chain in chains_of(stood, reach):
        for key in chain.keys:
            chains[key] = chain
    some = random.Random(seed)
    for _ in range(POINTS // 4):
        by = {name: most * Fraction(some.randint(-1000, 1000), 1000) for name, most in reach.items()}
        found = measured(stood, by)
        assert found.keys() == chains.keys()
        for key, value in found.items():
            assert chains[key].at(by) == value, key


def test_a_change_of_contact_is_told(build: Callable[..., HiveBuild], box: Any, put: Any) -> None:
    """Strips as thick as the gap: the mesh hangs on the gap until they touch it, then on the strips."""
    stood = _hive("plain", build, box, put)
    (lane,) = (each for each in chains_of(stood, reach_of(stood)) if each.name == "mesh over top bars")
    on_walls, on_strips = lane.lines
    gap, strips = "gap over the top bars, box 1", "thickness of the strips"
    assert dict(on_walls.coefficients) == {gap: 1, "thickness of the lugs, box 1": -1}
    assert dict(on_strips.coefficients) == {strips: 1}
    assert lane.until == ("strip to mesh",)
    assert lane.at({gap: inch("1/32")}) == inch("9/32") == lane.at({strips: inch("1/32")})
    assert lane.at({gap: inch("-1/32")}) == inch("1/4")


def test_without_reach_there_is_one_line(stood: HiveBuild) -> None:
    """Nothing strays, so no contact changes."""
    assert all(len(each.lines) == 1 and not each.until for each in chains_of(stood, {}))


def test_sizes_by_hand(build: Callable[..., HiveBuild], box: Any, put: Any) -> None:
    """Chains that a person would write: rim on box, frames in a box, box on box, cover over all."""
    b = box(10)
    stood = build(b, put["board"](), put["strips"](b, "3/16"), put["spacers"](b))
    by_name: dict[str, list[GapChain]] = {}
    for each in chains_of(stood, {}):
        by_name.setdefault(each.name, []).append(each)
    (between,) = by_name["bottom bar to top bar beneath"]
    assert between.lines[0].nominal == inch("1/2")
    assert dict(between.lines[0].coefficients) == {
        "gap over the top bars, box 1": 1,
        "thickness of the lugs, box 1": -1,
        "gap over the top bars, box 2": -1,
        "height of box 2": 1,
        "height of the end bars, box 2": -1,
    }
    (room,) = by_name["head room over the sugar"]
    assert dict(room.lines[0].coefficients) == {"height of the rim": 1, "thickness of the vent spacers": 1}
    outer = next(each for each in by_name["outer end bar to side wall"] if "box 2, left" in each.where)
    assert dict(outer.lines[0].coefficients) == {
        "inside width of box 2": Fraction(1, 2),
        "width of the end bars, box 2": -5,
    }


def test_a_wall_grows_thicker_where_it_can(build: Callable[..., HiveBuild], box: Any, put: Any) -> None:
    """Ends between the sides keep their length: thicker sides stand out further, thicker ends reach further in."""
    b = box(10)
    stood = build(b, put["board"](), put["spacers"](b))
    thick = remade(stood, {"thickness of the rim's wood": millimetre(2)}).stack.of(TierKind.BOARD)[0]
    (left, right), (front,) = thick.named("side"), thick.named("front end")
    assert right.box.high[1] - left.box.low[1] == inch("16 1/4") + millimetre(4)
    assert left.box.high[1] == inch("3/4")
    assert (front.box.low[0], front.box.high[0]) == (ZERO, inch("3/4") + millimetre(2))
    assert front.box.size(1) == inch("14 3/4")


def test_what_is_no_size_of_the_hive_is_refused(stood: HiveBuild) -> None:
    with pytest.raises(KeyError):
        remade(stood, {"height of the chimney": inch(1)})
