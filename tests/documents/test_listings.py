"""What the commands list is whole: every item, every fact with its source, the counts."""

import pytest

from woodshop.documents.answers.listings import BOARD_TOO, board_section, item_section, items_section, sources_section
from woodshop.drawing.pens.section_json import section_json
from woodshop.drawing.pens.text import section_text
from woodshop.errors import InputError
from woodshop.hardware.catalogue import items
from woodshop.reference.cautions import all_cautions
from woodshop.reference.facts import all_facts, count_by_origin, sources


def test_the_sources_have_every_row_once() -> None:
    listing = section_json(sources_section())
    assert [row["key"] for rows in listing["tables"].values() for row in rows] == [row.key for row in all_facts()]
    assert len(listing["cautions"]) == len(all_cautions())
    assert [row["id"] for row in listing["sources"]] == [each.id for each in sources()]
    assert all(row["rows"] > 0 for row in listing["sources"])
    assert listing["counts"] == count_by_origin()


def test_the_sources_are_printed_with_value_and_source() -> None:
    first = {line.split("  ")[0]: line for line in section_text(sources_section()).split("\n")}
    for row in all_facts():
        assert row.value in first[row.key]
        assert first[row.key].endswith(row.cite)
    assert all(first[name].endswith(f"  {count}") for name, count in count_by_origin().items())


def test_a_word_picks_the_facts_that_mention_it() -> None:
    section = sources_section("density")
    found = section_json(section)["facts"]
    assert 1 < len(found) < len(all_facts())
    assert all("density" in f"{row['key']} {row['what']} {row['cite']}".lower() for row in found)
    assert all(row["key"] in section_text(section) for row in found)
    with pytest.raises(InputError, match="xqzwv"):
        sources_section("xqzwv")


def test_every_item_is_listed_and_has_its_settings() -> None:
    listed = section_json(items_section())["items"]
    assert [row["name"] for row in listed] == [each.name for each in items()]
    for each in items():
        section = item_section(each.name)
        data, text = section_json(section), section_text(section)
        assert [row["name"] for row in data["parameters"]] == [p.name for p in each.parameters]
        assert each.picture.strip("\n") in text
        assert all(row["help"] in text and row["source"] in text for row in data["parameters"])
        assert BOARD_TOO in text
        assert "Settings of the board" not in text
    shared = section_text(board_section())
    assert all(row["help"] in shared and row["source"] in shared for row in section_json(board_section())["board"])
    assert shared in section_text(item_section("quilt box", with_board=True))
