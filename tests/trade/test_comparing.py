"""compare: what each case has otherwise, the same each time, and the same as the design changed by hand."""

import json
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from tests.nightly import IS_NIGHT
from woodshop.checks.check_batch import check_batch
from woodshop.cli import main
from woodshop.design.design_file import read_design
from woodshop.design.keys import DesignKey, design_keys
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.settle.settle import settle
from woodshop.errors import InputError
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.trade.compare import (
    LISTED,
    cases_alone,
    cases_of,
    compare,
    into_design,
    is_named_by,
    known_keys,
    read_varies,
)
from woodshop.units.lengths import Money

DESIGNS = Path(__file__).resolve().parents[2] / "designs"
DESIGN = """format = "woodshop-design/2"
batch = "six-tens"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
[[hives]]
frames = 10
count = 2
gap = "1/4"
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips"]
"""


@pytest.fixture(scope="module")
def design(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("compare")
    for name in ("creekside-lumberyard.toml", "harbor-lumberyard.toml"):
        (folder / name).write_bytes((DESIGNS / name).read_bytes())
    (folder / "six-tens.toml").write_text(DESIGN)
    return folder / "six-tens.toml"


@cache
def paid(path: Path, text: str) -> Money:
    """What is paid for the design that is in the file now; `text` is that design's."""
    wanted = read_design(path)
    batch = settle(wanted, read_lumberyards(wanted.lumberyards))
    planned = plan_to_buy(batch, *check_batch(batch), effort="quick")
    offcuts = 0
    for each in planned.plans:
        worth = {offer.id: offer.price.minor for offer in each.job.offers if offer.label}
        offcuts += sum(worth.get(layout.stock, 0) * layout.times for layout in each.plan.layouts)
    return planned.to_pay + Money(offcuts)


BY_HAND = [
    ("board.mounting=flush rabbet", "[[make]]", '[board]\nmounting = "flush rabbet"\n[[make]]'),
    ("hives.sugar=12 lb", "count = 2", 'count = 2\nsugar = "12 lb"'),
    ("board.height=3 1/2", "[[make]]", '[board]\nheight = "3 1/2"\n[[make]]'),
    (
        "lumberyards=creekside-lumberyard.toml + harbor-lumberyard.toml",
        '"creekside-lumberyard.toml"',
        '["creekside-lumberyard.toml", "harbor-lumberyard.toml"]',
    ),
    ("surplus=spare", 'unit = "in"', 'unit = "in"\nsurplus = "spare"'),
    ("spacer strips.number=5", 'strips"]', 'strips"]\nnumber = 5'),
]


@pytest.mark.invariant
@pytest.mark.parametrize(("vary", "old", "new"), BY_HAND)
def test_a_case_is_the_design_changed_by_hand(design: Path, vary: str, old: str, new: str) -> None:
    base, case = compare(design, read_varies((vary,)), "quick")
    assert base.pays == paid(design, DESIGN)
    changed = design.with_name("changed.toml")
    text = DESIGN.replace(old, new)
    if "number" in new:
        text = text.replace(', "spacer strips"]\nnumber = 5', ']\n[[make]]\nitem = "spacer strips"\nnumber = 5')
    changed.write_text(text)
    assert case.pays == paid(changed, text)
    assert case.case == ((vary.partition("=")[0], vary.partition("=")[2]),)


def test_prices_up_and_down(design: Path) -> None:
    base, low, high = compare(design, read_varies(("price.sugar=95 %,+10 %",)), "quick")
    sugar = [p for p in _purchases(design) if p.group == "sugar"]
    cents = sum(p.count * (p.price.minor * 11 + 5) // 10 for p in sugar)
    assert high.pays is not None
    assert low.pays is not None
    assert base.pays is not None
    assert low.pays < base.pays < high.pays
    assert high.pays.minor - base.pays.minor <= cents - sum(p.total.minor for p in sugar) + len(sugar)


def _purchases(path: Path) -> Any:
    wanted = read_design(path)
    batch = settle(wanted, read_lumberyards(wanted.lumberyards))
    return plan_to_buy(batch, *check_batch(batch), effort="quick").purchases


@pytest.mark.slow("compares a design twice, nothing kept")
@pytest.mark.invariant
@pytest.mark.usefixtures("anew")
def test_the_same_each_time(design: Path) -> None:
    varies = read_varies(("board.mounting=stapled under,saw groove", "saw.rip_kerf=1/8,3/32"))
    first = compare(design, varies, "quick")
    assert not IS_NIGHT or compare(design, varies, "quick") == first
    few = read_varies(("board.mounting=stapled under",))
    assert compare(design, few, "quick") == compare(design, few, "quick")
    assert len(first) == 5
    assert first[0].case == ()
    assert [dict(each.case)["saw.rip_kerf"] for each in first[1:]] == ["1/8", "3/32"] * 2
    assert len({each.pays for each in (first[0], first[1])}) == 1, "the defaults, said aloud"


def test_a_case_that_cannot_be_made_is_told_and_the_others_go_on(design: Path) -> None:
    base, thick, plain = compare(design, read_varies(("wood=9,3/4",)), "quick")
    assert thick.refused
    assert thick.pays is None
    assert base.pays == plain.pays


def test_findings_stand_beside_the_cost(design: Path) -> None:
    _, low = compare(design, read_varies(("board.height=2",)), "quick")
    assert low.errors
    assert "sugar-too-high" in low.codes


@pytest.mark.parametrize(
    ("varies", "said"),
    [
        (("board.mountin=x",), "Did you mean 'board.mounting'?"),
        (("hive.sugar=12 lb",), "Did you mean 'hives.sugar'?"),
        (("quilt bx.height=3",), "Did you mean 'quilt box.height'?"),
        (("saw.kerf=1/8",), "saw."),
        (("board.mounting",), "an equals sign"),
        (("board.mounting=",), "an equals sign"),
        (("wood=1,2", "wood=3"), "each key once"),
        ((), "Add --vary"),
        (("wood=" + ",".join(map(str, range(1, 70))),), "at most 60"),
        (("format=x",), "a key of the design"),
    ],
)
def test_slips_in_what_is_varied(varies: tuple[str, ...], said: str) -> None:
    with pytest.raises(InputError) as refused:
        read_varies(varies)
    assert said in str(refused.value)


@pytest.mark.parametrize(
    ("vary", "said"),
    [
        ("board.mounting=glued", "'stapled under'"),
        ("price.1x4=cheap", "a price such as 9.95"),
        ("price.1x6=-150 %", "a price such as 9.95"),
        ("price.mahogany=1.00", "something a lumberyard sells"),
        ("quilt box.height=3", "an item that this design makes"),
        ("hives.mine.sugar=3 lb", "the name of one of the [[hives]]"),
        ("lumberyards=lost-lumberyard.toml", "no such file"),
    ],
)
def test_values_that_cannot_be_read_stop_all(design: Path, vary: str, said: str) -> None:
    with pytest.raises(InputError) as refused:
        compare(design, read_varies((vary,)), "quick")
    assert said in str(refused.value)


def test_an_items_setting_goes_to_that_item_alone() -> None:
    design = {"make": ({"item": ("fondant rim", "wire bottom"), "spare": 1},)}
    made = into_design((("wire bottom.landing", "1/8"),), design)["make"]
    assert made == (
        {"item": "wire bottom", "spare": 1, "landing": "1/8"},
        {"item": ("fondant rim",), "spare": 1},
    )
    assert design["make"] == ({"item": ("fondant rim", "wire bottom"), "spare": 1},), "the tables are left as they were"


def test_cases_multiply_in_the_order_given() -> None:
    varies = read_varies(("wood=3/4,1", "surplus=drop,spare,drop"))
    assert [tuple(value for _, value in case) for case in cases_of(varies)] == [
        ("3/4", "drop"),
        ("3/4", "spare"),
        ("1", "drop"),
        ("1", "spare"),
    ]
    assert cases_alone(varies) == (
        (("wood", "3/4"),),
        (("wood", "1"),),
        (("surplus", "drop"),),
        (("surplus", "spare"),),
    )
    assert "board.mounting" in known_keys()


@pytest.mark.parametrize("key", [key for key in design_keys() if key.is_varied and key.table != "hives"])
def test_a_key_that_may_be_varied_is_put_where_the_reader_looks_for_it(key: DesignKey) -> None:
    changed = into_design(((key.address, "1/2"),), {})
    wanted = ("1/2",) if key.address in LISTED else "1/2"
    assert (changed[key.table] if key.table else changed)[key.name] == wanted


def test_a_list_is_written_with_a_plus_between_its_values() -> None:
    changed = into_design((("tools.crosscut_with", "sled + hand saw"),), {})
    assert changed["tools"]["crosscut_with"] == ("sled", "hand saw")


@pytest.mark.parametrize("key", ["tolerance", "labels.rows", "batch", "hives.customer", "order.count"])
def test_what_is_no_single_value_or_changes_no_figure_is_not_varied(key: str) -> None:
    with pytest.raises(InputError, match="a key of the design"):
        read_varies((f"{key}=1,2",))


def test_what_a_price_is_of() -> None:
    assert is_named_by("1x6 8 ft", "1x6 pine, 8 ft (Creekside Lumber)")
    assert not is_named_by("1x6 8 ft", "1x6 pine, 18 ft")


@pytest.mark.parametrize("ending", [".svg", ".pdf"])
def test_the_picture_and_the_table(design: Path, tmp_path: Path, ending: str) -> None:
    picture = tmp_path / f"cost{ending}"
    vary = ["--vary", "board.mounting=stapled under,flush rabbet", "--quick"]
    result = CliRunner().invoke(main, ["compare", str(design), *vary, "--picture", str(picture)])
    assert result.exit_code == 0
    assert "as designed" in result.output
    data = picture.read_bytes()
    if ending == ".svg":
        text = data.decode()
        assert "flush rabbet" in text
        colours = {part.split('"')[0] for part in text.split('fill="')[1:]}
        assert colours <= {"none", "#000", "#fff", "black", "white", "#000000", "#ffffff"}, "black and white alone"
    else:
        assert data.startswith(b"%PDF")
    again = CliRunner().invoke(main, ["compare", str(design), *vary, "--picture", str(picture)])
    assert again.exit_code == 3, "no picture is written over another"
    if ending != ".svg":
        return
    told = json.loads(CliRunner().invoke(main, ["compare", str(design), *vary, "--json"]).stdout)
    assert told["cases"][0]["difference"] == 0
    assert len(told["cases"]) == 3
