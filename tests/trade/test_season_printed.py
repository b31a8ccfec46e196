"""The published rows of the season's table, as they stand in print."""

import pytest

from woodshop.reference.facts import fact, facts_in

PRINTED = {
    "Kim Flottum, The Backyard Beekeeper": {"stores.us_least": "40 lb", "stores.us_most": "60 lb"},
    "Breconshire Beekeepers, 2014": {"stores.uk_least": "20 kg", "stores.uk_most": "30 kg"},
    "Vincent Aloyo: one full deep or 15 medium frames": {
        "season.frames_of_deep": "10",
        "season.frames_of_medium": "15",
    },
    "a bee-supply house on feeding in the fall": {"season.syrup_coldest": "50 °F"},
    "a beekeepers' blog, 2017": {"season.cluster": "57 °F"},
    "R. Salz, 30 pounds of sugar: dries in one to two days": {"season.drying_days_least": "1"},
}


@pytest.mark.outside("each source stands beside its rows in PRINTED")
@pytest.mark.parametrize("name", PRINTED)
def test_row_says_what_is_printed(name: str) -> None:
    assert {key: fact(key).value for key in PRINTED[name]} == PRINTED[name]
    assert {fact(key).cite.split(",")[0] for key in PRINTED[name]} == {
        name.split(",")[0].split(":")[0].split(" on ")[0]
    }


def test_every_published_row_of_the_table_is_held() -> None:
    held = {key for rows in PRINTED.values() for key in rows}
    assert {row.key for row in facts_in("season") if row.origin == "published"} == held
