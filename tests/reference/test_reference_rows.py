"""Every row is a record with its address; nothing is listed that cannot be read back."""

import ast
import re
import tomllib
from dataclasses import replace
from fractions import Fraction
from importlib import resources
from pathlib import Path

import pytest

from woodshop.reference.cautions import all_cautions, cautions, defer, topics
from woodshop.reference.facts import (
    ORIGINS,
    TABLES,
    TRUSTS,
    WORDS,
    Fact,
    all_facts,
    count_by_origin,
    fact,
    facts_in,
    group,
    source,
    sources,
)
from woodshop.units.lengths import Length, inch

FILES = (*TABLES, "sources", "cautions")
TRUST_OF = {"common practice": {"C"}, "from memory": {"M"}, "computed": {"calc"}, "defined": {"calc"}}


def kinds(row: Fact) -> set[str]:
    """Which readings the row's value allows."""
    found = set()
    for name in ("length", "mass", "number", "density", "volume", "range"):
        try:
            getattr(row, name)
        except ValueError:
            continue
        found.add(name)
    return found


@pytest.mark.parametrize("name", FILES)
def test_tables_hold_records_of_text_only(name: str) -> None:
    """No list of numbers, no float and no nested table: a row is a flat record of text."""
    text = (resources.files("woodshop.reference") / f"{name}.toml").read_text(encoding="utf-8")
    for rows in tomllib.loads(text).values():
        assert isinstance(rows, list)
        for row in rows:
            assert all(isinstance(value, str) for value in row.values()), row


def without_address(row: Fact) -> list[str]:
    """What a row's key, value, sentence, source, trust mark or locator is not as it must be."""
    listed = row.source not in WORDS
    wanted = {
        "key": re.fullmatch(r"[a-z0-9_]+(\.[a-z0-9_]+)+", row.key),
        "value": row.value.strip() == row.value != "",
        "sentence": row.what.endswith(".") and (row.what[0].isupper() or row.what[0].isdigit()),
        "source": not listed or source(row.source).id == row.source,
        "trust": row.trust in ({"R", "S"} if listed else TRUST_OF[row.source]) and row.trust in TRUSTS,
        "locator": row.locator or row.source == "common practice",
        "cite": row.cite,
        "origin": row.origin in ORIGINS,
    }
    return [name for name, is_there in wanted.items() if not is_there]


def test_every_row_has_its_address() -> None:
    """Key, value and sentence are there; the source is listed or one of four words, and the trust mark fits it."""
    assert {row.key: missing for row in all_facts() if (missing := without_address(row))} == {}


def test_a_planted_row_without_address_is_caught() -> None:
    row = fact("saw.kerf")
    assert without_address(row) == []
    assert without_address(replace(row, what="no sentence")) == ["sentence"]
    assert without_address(replace(row, value=" ")) == ["value"]
    assert without_address(replace(row, source="from memory", locator="")) == ["trust", "locator"]


def test_every_value_reads_as_one_kind_only() -> None:
    """A count is never a length; a value with a unit that cannot be read is a slip, plain words are not."""
    found = {row.key: (row.value, kinds(row)) for row in all_facts()}
    assert {key: each for key, each in found.items() if len(each[1]) > 1} == {}
    number = r"[\d ./]+( to [\d ./]+)? ?(in|ft|mm|lb|g|kg/L|%|cups?|tablespoons?)?"
    assert {key for key, (value, read) in found.items() if re.fullmatch(number, value) and not read} == set()


def test_another_published_value_stands_below_the_default() -> None:
    """Where a key has a longer one, the shorter is a row too (bands and meshes are lists of equals)."""
    for row in all_facts():
        head = row.key.rpartition(".")[0]
        if "." in head and not head.startswith(("bee_space.band", "mesh.", "mix.water_share")):
            assert fact(head).key == head


@pytest.mark.invariant
def test_every_computed_row_equals_its_arithmetic() -> None:
    """A computed row says what it is computed from, and agrees with it to the last digit."""
    computed = [row for row in all_facts() if row.column("from")]
    assert len(computed) > 3
    for row in computed:
        assert row.source == "computed", row.key
        total = Fraction(0)
        for sign, count, key in re.findall(r"(^|[+-]) ?(?:(\d+) \* )?([a-z_0-9.]+\.[a-z_0-9]+)", row.column("from")):
            other = fact(key)
            amount = other.mass.grams if kinds(other) == {"mass"} else other.length.mm
            total += (-1 if sign == "-" else 1) * int(count or 1) * amount
        assert total == (row.mass.grams if kinds(row) == {"mass"} else row.length.mm), row.key


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("key", "sugar", "thickness"),
    [
        ("sugar.density.full_board", "sugar.per_ten_frame_board", "sugar.layer"),
        ("sugar.density.low_rim", "sugar.per_ten_frame_board.low_rim", "rim.height.low"),
        ("sugar.density.block", "sugar.block", "sugar.block_thickness"),
    ],
)
def test_density_is_mass_over_volume(key: str, sugar: str, thickness: str) -> None:
    """The densities that published pairs imply agree with the pairs, to the two figures given."""
    plan = fact("box.inside_length").length * fact("box.inside_width_10").length
    if key.endswith("block"):
        plan = fact("sugar.block_length").length * fact("sugar.block_width").length
    litres = (plan * fact(thickness).length).litres
    assert round(fact(sugar).mass.grams / 1000 / litres, 2) == fact(key).density.kg_per_litre


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("key", "water", "sugar", "places"),
    [
        ("mix.water_share.full_board", "mix.water", "mix.sugar", 3),
        ("mix.water_share.thirty_pounds", "mix.thirty_pounds_water", "sugar.per_ten_frame_board.thirty_pounds", 3),
        ("mix.water_share.block", "mix.block_water", "sugar.block", 2),
    ],
)
def test_water_share_is_water_over_sugar(key: str, water: str, sugar: str, places: int) -> None:
    """The shares of water agree with their recipes, a millilitre taken as a gram."""
    share = fact(water).volume.litres * 1000 / fact(sugar).mass.grams
    assert round(share, places) == fact(key).number


def test_every_source_is_used_and_named_once() -> None:
    """No source without a row, and none twice."""
    ids = [each.id for each in sources()]
    assert len(ids) == len(set(ids))
    used = {row.source for row in all_facts()} | {row.source for row in all_cautions()}
    assert set(ids) == used - set(WORDS)
    assert all(each.author and each.title for each in sources())


def test_origins_count_every_fact_once() -> None:
    """The counts add up to the rows, and every table holds some of them."""
    counts = count_by_origin()
    assert tuple(counts) == ORIGINS
    assert sum(counts.values()) == len(all_facts()) == sum(len(facts_in(table)) for table in TABLES)
    assert all(counts.values())


def test_unknown_key_says_what_was_meant() -> None:
    """A slip of a letter is answered with the near names."""
    with pytest.raises(KeyError, match=r"did you mean rim\.head_room"):
        fact("rim.headroom")
    with pytest.raises(KeyError, match="no fact 'zzz'"):
        fact("zzz")


@pytest.mark.parametrize(
    ("key", "reading"),
    [
        ("quilt.hole_count", "length"),
        ("box.length", "mass"),
        ("box.length", "number"),
        ("box.length", "density"),
        ("box.length", "volume"),
        ("box.length", "range"),
        ("mix.sugar", "length"),
        ("screw.stock_inch", "length"),
    ],
)
def test_wrong_reading_is_refused(key: str, reading: str) -> None:
    """A row is never read as what it is not."""
    with pytest.raises(ValueError, match=r"is not|has no unit"):
        getattr(fact(key), reading)


def test_readings() -> None:
    """Each kind of value reads back exactly."""
    assert fact("box.length").length == inch("19.875")
    assert fact("mix.vinegar").volume * 16 == fact("mix.block_water").volume
    assert fact("mix.bowl_water").volume == fact("mix.block_water").volume * Fraction(3, 2)
    assert fact("mix.water_share.dry").number == Fraction(1, 16)
    assert fact("sugar.density").density.kg_per_litre == Fraction(17, 20)
    assert fact("cover.foam").range == (inch(1), inch(2))


def test_citations_name_their_origin() -> None:
    """A person reads from the citation alone whether a value is published, practice, remembered or computed."""
    assert fact("rim.head_room").cite == "common practice, no source (one bee space)"
    assert fact("saw.kerf").cite == "common practice, no source"
    assert fact("mesh.half.wire").cite == "from memory: trade usage after the sizes table of ASTM A740"
    assert fact("rim.height").cite == "computed: dressed width of a 1x3"
    assert fact("lumber.width_4").cite.endswith("(secondary source)")
    assert fact("box.maker_tolerance").cite == (
        "Roy Hendrickson, The Bee Space, Bee Culture: BEEKeeping Your First Three Years, Summer 2016"
    )


def test_group_gives_the_default_first() -> None:
    """A group is the key's own row, then the other published values; a longer name is no member."""
    keys = [row.key for row in group("box.height_deep")]
    assert keys[0] == "box.height_deep"
    assert len(keys) == 4
    assert all(key.startswith("box.height_deep") for key in keys)
    assert [row.key for row in group("box.wall")] == ["box.wall", "box.wall.cook"]


def test_unknown_table_is_refused() -> None:
    """A table that is not there is named in the refusal."""
    with pytest.raises(KeyError, match="boxes, lumber"):
        facts_in("nails")


def test_every_key_that_the_package_names_is_a_row() -> None:
    """A key written in the code, in a call of `fact` or beside a parameter, is there: no slip waits for a user."""
    keys = {row.key for row in all_facts()}
    named: dict[str, str] = {}
    package = Path(str(resources.files("woodshop")))
    for path in sorted(package.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call) or getattr(node.func, "id", "") not in ("fact", "Param", "_listed"):
                continue
            for word in node.args:
                if isinstance(word, ast.Constant) and re.fullmatch(r"[a-z_0-9]+(\.[a-z_0-9]+)+", str(word.value)):
                    named[str(word.value)] = f"{path.relative_to(package)}:{node.lineno}"
    assert named
    assert {key: where for key, where in named.items() if key not in keys} == {}


# ---- cautions --------------------------------------------------------------------------------


NEEDED = (
    "table saw", "narrow rip", "circular saw", "hand saw", "mesh", "sheet metal", "staples",
    "treated wood", "mite treatment", "lifting", "food", "resawing",
    "resawing on the band saw", "resawing on the table saw", "planer",
)  # fmt: skip


@pytest.mark.parametrize("topic", NEEDED)
def test_topic_has_cautions_and_defers(topic: str) -> None:
    """Every kind of work that can hurt has its cautions, and says whose word goes before them."""
    rows = cautions(topic)
    assert len(rows) >= 3
    assert re.search(r"manual|label|maker|rules|employer|local", defer(topic))
    assert {row.defer for row in rows} == {defer(topic)}


def test_cautions_have_their_address() -> None:
    """A caution is one or two sentences with a source, or says that it has none."""
    for row in all_cautions():
        assert row.text.endswith(".")
        assert row.trust in TRUSTS
        if row.source in WORDS:
            assert row.trust in TRUST_OF[row.source]
        else:
            assert row.trust in {"R", "S"}
            assert row.locator
        assert row.cite
    assert len({row.text for row in all_cautions()}) == len(all_cautions())
    assert {row.topic for row in all_cautions()} == set(topics())


def test_unknown_topic_is_refused() -> None:
    """A topic that is not there is named in the refusal."""
    with pytest.raises(KeyError, match="narrow rip"):
        cautions("lathe")


def test_lengths_are_exact() -> None:
    """A third of an inch is a third, not its decimals."""
    assert fact("mesh.third.pitch").length * 3 == inch(1)
    assert isinstance(fact("mesh.third.pitch").length, Length)
