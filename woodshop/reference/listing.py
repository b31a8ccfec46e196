"""Every fact with its address, as a listing: what is published, what is practice, what is only remembered."""

from typing import Any

from woodshop.reference.cautions import all_cautions
from woodshop.reference.facts import (
    STANDINGS,
    TABLES,
    TRUSTS,
    Fact,
    all_facts,
    count_by_standing,
    facts_in,
    sources,
)


def sources_listing() -> dict[str, Any]:
    """Counts, facts by table, cautions and sources, as plain values that JSON can hold.

    Keys: "counts" (standing -> count), "trust" (mark -> meaning), "tables" (name -> list of rows),
    "cautions" (list of rows), "sources" (list of rows, each with how many facts and cautions rest on it).
    """
    used = [row.source for row in all_facts()] + [row.source for row in all_cautions()]
    return {
        "counts": count_by_standing(),
        "trust": dict(TRUSTS),
        "tables": {table: [_row(row) for row in facts_in(table)] for table in TABLES},
        "cautions": [
            {"topic": row.topic, "text": row.text, "cite": row.cite, "trust": row.trust, "defer": row.defer}
            for row in all_cautions()
        ],
        "sources": [{"id": each.id, "cite": each.cite, "rows": used.count(each.id)} for each in sources()],
    }


def listing_lines(standing: str | None = None) -> tuple[str, ...]:
    """The facts as lines of text, table by table, then the counts; only those of one standing if it is given.

    Raises KeyError when there is no such standing.
    """
    if standing is not None and standing not in STANDINGS:
        raise KeyError(f"no standing {standing!r}; there are {', '.join(STANDINGS)}")
    lines: list[str] = []
    for table in TABLES:
        rows = [row for row in facts_in(table) if standing in (None, row.standing)]
        if rows:
            lines += [table, *(f"  {row.key} = {row.value}  [{row.trust}] {row.cite}" for row in rows), ""]
    lines += [f"{count} {name}" for name, count in count_by_standing().items() if standing in (None, name)]
    return tuple(lines)


def _row(row: Fact) -> dict[str, str]:
    return {
        "key": row.key,
        "value": row.value,
        "what": row.what,
        "standing": row.standing,
        "source": row.source,
        "locator": row.locator,
        "trust": row.trust,
        "cite": row.cite,
    }
