"""Which saw makes which cut: by the width it crosses, the length that must be held up, and how thin the strip is."""

from typing import Any

import pytest

from woodshop.design.settings.saw import Tools
from woodshop.errors import InputError
from woodshop.units.lengths import inch

MANY = ("miter saw", "circular saw", "sled")


def tools(*saws: str, miter: str = "1/8", width: str = "5 1/2") -> Tools:
    kerf = inch("1/8")
    return Tools(
        crosscut_with=saws,
        table_saw_kerf=kerf,
        miter_saw_kerf=inch(miter),
        circular_saw_kerf=inch("1/16"),
        hand_saw_kerf=inch("1/16"),
        miter_saw_width=inch(width),
        long_board=inch(48),
        thin_strip=inch("1/2"),
    )


@pytest.mark.parametrize(
    ("saws", "size", "saw"),
    [
        (MANY, ("20", "5 1/2"), "miter saw"),
        (MANY, ("96", "3 1/2"), "miter saw, supported"),
        (MANY, ("144", "11 1/4"), "circular saw, guide"),
        (("miter saw", "sled"), ("20", "11 1/4"), "table saw, sled"),
        (("miter saw", "sled"), ("49", "11 1/4"), "hand saw"),
        (("sled", "circular saw"), ("49", "3 1/2"), "circular saw, guide"),
        (("hand saw",), ("20", "3 1/2"), "hand saw"),
        (MANY, ("20", "1/4"), "hand saw, miter box"),
    ],
)
def test_the_saw_that_crosses_a_board(saws: tuple[str, ...], size: tuple[str, str], saw: str) -> None:
    length, width = (inch(each) for each in size)
    assert tools(*saws).for_crosscut(length, width, inch("3/4")) == saw


def test_a_ten_inch_miter_saw_does_not_cross_a_1x12_and_a_wider_one_does() -> None:
    wide = inch("11 1/4")
    assert tools("miter saw", "circular saw").for_crosscut(inch(30), wide, inch("3/4")) == "circular saw, guide"
    assert tools("miter saw", width="12").for_crosscut(inch(30), wide, inch("3/4")) == "miter saw"


def test_lattice_is_crosscut_by_hand() -> None:
    assert tools(*MANY).for_crosscut(inch(96), inch("3/4"), inch("1/4")) == "hand saw, miter box"


def test_crosscuts_are_planned_with_the_widest_kerf_that_may_make_them() -> None:
    assert tools("circular saw").crosscut_kerf == inch("1/16")
    assert tools("miter saw", "circular saw", miter="3/32").crosscut_kerf == inch("3/32")
    assert tools("sled", miter="1/4").crosscut_kerf == inch("1/8"), "a miter saw that is not there takes nothing off"


def test_kerfs_of_the_batch_follow_the_tools(shop: Any) -> None:
    text = shop.design_text + '[tools]\ncrosscut_with = ["circular saw"]\ntable_saw_kerf = "3/32"\n'
    saw = shop.batch(text).saw
    assert (saw.rip_kerf, saw.crosscut_kerf) == (inch("3/32"), inch("1/16"))
    listed = {(d.where, d.name): d.source for d in shop.batch(text).defaults}
    assert listed["tools", "miter_saw_width"].startswith("common practice, no source")
    assert ("tools", "table_saw_kerf") not in listed


def test_a_kerf_under_saw_serves_the_tools_that_have_none_of_their_own(shop: Any) -> None:
    saw = shop.batch(shop.design_text + '[saw]\nrip_kerf = "3/32"\ncrosscut_kerf = "3/32"\n').saw
    assert (saw.tools.table_saw_kerf, saw.tools.miter_saw_kerf) == (inch("3/32"), inch("3/32"))


@pytest.mark.parametrize(
    ("saw", "own", "key"),
    [
        ('rip_kerf = "1/16"', 'table_saw_kerf = "1/8"', "saw, rip_kerf"),
        ('crosscut_kerf = "1/16"', 'miter_saw_kerf = "1/8"', "saw, crosscut_kerf"),
    ],
)
def test_a_kerf_narrower_than_the_blade_is_refused(shop: Any, saw: str, own: str, key: str) -> None:
    with pytest.raises(InputError) as refused:
        shop.batch(f"{shop.design_text}[saw]\n{saw}\n[tools]\n{own}\n")
    (problem,) = refused.value.problems
    assert problem.where == key
    assert "1/8 in or more" in problem.wanted


def test_tools_of_a_shop_file_hold_and_the_designs_own_go_before_them(shop: Any) -> None:
    (shop.folder / "tools.toml").write_text(
        'format = "woodshop-shop/2"\n[tools]\nmiter_saw_width = "12"\nmiter_saw_kerf = "3/32"\n', encoding="utf-8"
    )
    text = shop.design_text.replace("[[hives]]", 'shop = "tools.toml"\n[tools]\nmiter_saw_kerf = "1/8"\n[[hives]]', 1)
    own = shop.batch(text).saw.tools
    assert (own.miter_saw_width, own.miter_saw_kerf) == (inch(12), inch("1/8"))


def test_an_edge_that_is_not_straight_is_never_run_along_the_fence() -> None:
    """Along a guide where there is a saw for it; else on a carrier board, whose straight edge runs along the fence."""
    assert tools(*MANY).for_edges(is_straight=False) == "circular saw, guide; then table saw"
    assert tools("miter saw").for_edges(is_straight=False) == "table saw, carrier board"


def test_edges_bought_straight_are_ripped_against_the_fence() -> None:
    for own in (MANY, ("miter saw",), ("hand saw",)):
        assert tools(*own).for_edges(is_straight=True) == "table saw"


def test_a_board_too_long_to_rip_is_trued_along_a_guide_if_there_is_a_saw_for_it() -> None:
    assert tools(*MANY).for_edges(is_straight=True, is_long=True) == "circular saw, guide"
    assert tools("miter saw").for_edges(is_straight=True, is_long=True) == "table saw"


def test_a_twisted_or_short_board_is_never_ripped_to_true_its_edges() -> None:
    assert tools(*MANY).for_edges(is_straight=True, may_rip=False) == "circular saw, guide"
    assert tools("miter saw").for_edges(is_straight=True, may_rip=False) == "hand plane"
