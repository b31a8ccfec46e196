"""The shop file, read whole or refused with every fault; the command: what it prints, writes, and how it exits."""

import json
import re
import shutil
from fractions import Fraction
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from tests.once import nothing_kept
from woodshop.cli import main
from woodshop.design.settings.times import ALL_BY_KEY, BY_KEY
from woodshop.errors import InputError
from woodshop.plan.work.shop_file import no_shop, read_shop
from woodshop.reference.facts import fact, facts_in

SHOP = 'format = "woodshop-shop/2"\nname = "Shed"\nlabour = "20.00"\n'
DESIGN = """format = "woodshop-design/2"
batch = "small"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
[[hives]]
name = "a"
customer = "Ada"
frames = 10
count = 1
gap = "1/4"
form = "empty"
[[hives]]
name = "b"
customer = "Bo"
frames = 10
count = 2
gap = "1/4"
form = "empty"
[[make]]
item = "fondant rim"
"""


@pytest.fixture
def folder(tmp_path: Path, designs: Path) -> Path:
    """A working folder with a lumberyard, a design of two customers and a shop."""
    shutil.copy(designs / "creekside-lumberyard.toml", tmp_path)
    (tmp_path / "small.toml").write_text(DESIGN, encoding="utf-8")
    (tmp_path / "shop.toml").write_text(SHOP, encoding="utf-8")
    return tmp_path


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def shop_of(folder: Path, text: str) -> Path:
    path = folder / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return path


# ---- the shop file -----------------------------------------------------------------------------------


def test_a_shop_of_three_lines_lists_all_that_it_leaves_open(folder: Path) -> None:
    shop = read_shop(folder / "shop.toml")
    assert (shop.labour, shop.goods.packs, shop.goods.offcuts) == (2000, "whole", "worth")
    assert (shop.pricing.profit, shop.pricing.share, shop.pricing.tax) == ("margin", 0, 0)
    named = {default.name for default in shop.defaults}
    words = {"margin", "tax", "scrap", "percent", "paint", "packs", "offcuts", "days"}
    assert named >= {key for _, key in BY_KEY} | words
    assert all(default.source for default in shop.defaults)


def test_every_standard_is_a_row_with_its_origin() -> None:
    for (table, key), operation in ALL_BY_KEY.items():
        assert operation.minutes == fact(f"{table}.{key}").measure("min") > 0
        assert operation.source == fact(f"{table}.{key}").cite
    rows = {row.key for row in facts_in("shop") if row.key.startswith(("time.", "setup."))}
    assert rows == {f"{table}.{key}" for table, key in ALL_BY_KEY}


def test_what_is_given_beats_the_list(folder: Path) -> None:
    text = SHOP + 'markup = "33.3"\n[times]\nrip = "0.25"\nfinger = 1\n[setup]\nsaw = 3\n[overhead]\npercent = "12.5"\n'
    shop = read_shop(shop_of(folder, text))
    assert shop.standards["time", "rip"].minutes == Fraction(1, 4)
    assert shop.standards["time", "finger"].minutes == 1
    assert shop.standards["setup", "saw"].minutes == 3
    assert (shop.pricing.profit, shop.pricing.share, shop.overhead.share, shop.overhead.of) == (
        "markup", Fraction(333, 1000), Fraction(1, 8), "cost"
    )  # fmt: skip
    assert "rip" not in {default.name for default in shop.defaults}


@pytest.mark.outside("US gallon of 231 cu in, inch of 25.4 mm: NIST Handbook 44, appendix C; 300 ft2/gal = 7.36 m2/L")
def test_paint_covers_the_same_in_both_units(folder: Path) -> None:
    for words, square_metres in (("300 ft2/gal", 7.363), ("7.363 m2/L", 7.363), ("8 m2/L", 8.0)):
        text = SHOP + f'[paint]\nprice = "30.00"\nlitres = "3.785"\ncoverage = "{words}"\n'
        paint = read_shop(shop_of(folder, text)).goods.paint
        assert paint is not None
        assert float(paint.cover) / 1e6 == pytest.approx(square_metres, rel=1e-4)


PAINT = '[paint]\nprice = "30.00"\nlitres = "3.785"\n'
MALFORMED = {
    "no labour": ('format = "woodshop-shop/2"\nname = "x"\n', "labour"),
    "no name": ('format = "woodshop-shop/2"\nname = ""\nlabour = "1.00"\n', "name"),
    "a lumberyard file": (SHOP.replace("shop/2", "lumberyard/1"), "woodshop-shop/2"),
    "a float": (SHOP.replace('"20.00"', "20.005"), "a price in whole cents"),
    "a loss": (SHOP.replace('"20.00"', '"-20.00"'), "a price in whole cents"),
    "a slip of the pen": (SHOP.replace('"20.00"', '"20000.00"'), "1000.00 an hour"),
    "a misspelt operation": (SHOP + '[times]\ncrossscut = "1"\n', "Did you mean 'crosscut'"),
    "a negative time": (SHOP + '[times]\nrip = "-1"\n', "0 or more"),
    "a set-up among times": (SHOP + '[times]\nsaw = "1"\n', "unknown key"),
    "margin and markup": (SHOP + 'margin = "20"\nmarkup = "20"\n', "one of the two"),
    "a margin of all": (SHOP + 'margin = "100"\n', "less than 100 %"),
    "half is scrap": (SHOP + 'scrap = "50"\n', "less than 50"),
    "tax of the moon": (SHOP + 'tax = "60"\n', "at most 50 %"),
    "percent twice": (SHOP + '[overhead]\npercent = "5"\nper_hour = "5.00"\n', "one of the two"),
    "percent of what": (SHOP + '[overhead]\npercent = "5"\nof = "labor"\n', "labour"),
    "of nothing": (SHOP + '[overhead]\nof = "labour"\n', "a percentage"),
    "rounded to nothing": (SHOP + 'round_up_to = "0.00"\n', "0.01 or more"),
    "paint without a can": (SHOP + '[paint]\nprice = "1.00"\nlitres = "0"\n', "greater than 0"),
    "paint in rods": (SHOP + PAINT + 'coverage = "3 rod2/gal"\n', "ft2/gal or m2/L"),
    "paint that covers nothing": (SHOP + PAINT + 'coverage = "0 m2/L"\n', "ft2/gal or m2/L"),
    "no coats": (SHOP + PAINT + "coats = 0\n", "1 or more"),
    "used with what": (
        SHOP + '[[consumable]]\nwhat = "x"\neach = "glueup"\nprice = "1.00"\n',
        "Did you mean 'glue_up'",
    ),
    "quantities upside down": (SHOP + "[quote]\nquantities = [25, 10]\n", "ascending order"),
    "a quantity twice": (SHOP + "[quote]\nquantities = [10, 10]\n", "each quantity once"),
    "none of a thing": (SHOP + "[quote]\nquantities = [0]\n", "1 or more"),
    "terms over two lines": (SHOP + '[quote]\nterms = ["a\\nb"]\n', "one line"),
    "a quote that turns text": (SHOP + '[quote]\nlines = ["\\u202eabc"]\n', "without control characters"),
    "packs half used": (SHOP + 'packs = "half"\n', "whole"),
    "lower case money": (SHOP + 'currency = "usd"\n', "currency"),
}


@pytest.mark.parametrize(("text", "said"), MALFORMED.values(), ids=MALFORMED.keys())
def test_a_malformed_shop_file_is_refused_in_words(folder: Path, text: str, said: str) -> None:
    path = shop_of(folder, text)
    with pytest.raises(InputError) as refused:
        read_shop(path)
    assert said in str(refused.value)
    before = sorted(folder.rglob("*"))
    result = run("quote", folder / "small.toml", "--shop", path, "--out", folder / "out")
    assert result.exit_code == 3
    assert result.stdout == ""
    assert "Traceback" not in result.stderr
    assert sorted(folder.rglob("*")) == before


def test_all_faults_of_a_shop_file_are_told_at_once(folder: Path) -> None:
    text = SHOP + 'margin = "120"\ntax = "60"\nscrap = "70"\n[quote]\nquantities = [3, 2]\n'
    with pytest.raises(InputError) as refused:
        read_shop(shop_of(folder, text))
    assert len(refused.value.problems) == 4


# ---- the command -------------------------------------------------------------------------------------


def test_quote_writes_costs_and_a_quote_for_each_customer(folder: Path) -> None:
    out = folder / "out"
    words = ("quote", folder / "small.toml", "--shop", folder / "shop.toml", "--quick", "--out", out)
    result = run(*words, "--json")
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    costs = json.loads((out / "costs.json").read_text(encoding="utf-8"))
    assert {p.name for p in out.iterdir()} == {
        "costs.pdf", "costs.csv", "costs.json", "manifest.json",
        "quote-01-ada.pdf", "quote-01-ada.json", "quote-02-bo.pdf", "quote-02-bo.json",
    }  # fmt: skip
    quotes = [json.loads((out / f"quote-0{n}-{who}.json").read_text()) for n, who in ((1, "ada"), (2, "bo"))]
    assert told["quotes"] == 2
    assert costs["total"] == sum(line["cost"] for line in costs["lines"]) == sum(costs["parts"].values())
    assert costs["total"] == sum(charge["sum"] for charge in costs["charges"])
    assert [share["to_pay"] for share in costs["shares"]] == [quote["total"] for quote in quotes]
    first = {p.name: p.read_bytes() for p in out.iterdir()}
    with nothing_kept():
        assert run(*words).exit_code == 0
    assert {p.name: p.read_bytes() for p in out.iterdir()} == first


def test_without_a_shop_the_bill_is_shared(folder: Path) -> None:
    out = folder / "out"
    result = run("quote", folder / "small.toml", "--quick", "--out", out)
    assert result.exit_code == 0, result.output
    costs = json.loads((out / "costs.json").read_text(encoding="utf-8"))
    assert sum(share["to_pay"] for share in costs["shares"]) == costs["bought"] == costs["total"]
    assert not list(out.glob("quote-*"))
    assert "quotes" not in result.stdout
    # two rims of one box cost Bo twice what one costs Ada, to the cent
    ada, bo = (share["to_pay"] for share in costs["shares"])
    assert abs(bo - 2 * ada) <= 2


def test_what_does_not_fit_is_not_quoted(folder: Path) -> None:
    text = DESIGN.replace('"empty"', '"with mesh"').replace(
        'item = "fondant rim"', 'item = ["fondant rim", "wire bottom"]'
    )
    text += '[[make]]\nitem = "spacer strips"\nthickness = "3/8"\n'
    (folder / "small.toml").write_text(text, encoding="utf-8")
    before = sorted(folder.rglob("*"))
    for words in ((), ("--json",)):
        result = run("quote", folder / "small.toml", "--shop", folder / "shop.toml", "--out", folder / "out", *words)
        assert result.exit_code == 1
    assert json.loads(result.stdout)["findings"]
    assert sorted(folder.rglob("*")) == before


def test_a_folder_with_other_peoples_files_is_left_as_it_is(folder: Path) -> None:
    out = folder / "out"
    out.mkdir()
    (out / "costs.pdf").write_text("mine")
    result = run("quote", folder / "small.toml", "--quick", "--out", out)
    assert result.exit_code == 3
    assert (out / "costs.pdf").read_text() == "mine"
    assert [p.name for p in out.iterdir()] == ["costs.pdf"]


def test_quick_and_thorough_are_one_choice(folder: Path) -> None:
    assert run("quote", folder / "small.toml", "--quick", "--thorough").exit_code == 2


def test_no_shop_charges_nothing_of_its_own() -> None:
    shop = no_shop("EUR")
    assert (
        shop.labour,
        shop.pricing.tax,
        shop.pricing.share,
        shop.scrap,
        shop.overhead.share,
        shop.overhead.per_hour,
    ) == (0, 0, 0, 0, 0, 0)
    assert re.fullmatch("[A-Z]{3}", shop.currency)
