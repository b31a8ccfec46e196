"""The usual cautions for work that can hurt someone, by topic, and the authority that takes precedence."""

from dataclasses import KW_ONLY, dataclass, replace
from functools import cache

from woodshop.reference.facts import cite, read_table
from woodshop.units.lengths import unit_of_lengths


@dataclass(frozen=True, slots=True)
class PublishedCaution:
    """One caution, in our own words. `defer` names the manual, label, code or person that takes precedence.

    `metric` is the text for a metric design if it has sizes; they are rounded to the safe side.
    """

    topic: str
    text: str
    source: str
    _: KW_ONLY
    locator: str
    trust: str
    defer: str
    metric: str = ""

    @property
    def cite(self) -> str:
        """The source, as text."""
        return cite(self.source, self.locator, self.trust)


def cautions(topic: str) -> tuple[PublishedCaution, ...]:
    """The cautions on one topic, in the order of the file. Raises KeyError.

    >>> cautions("narrow rip")[0].text
    'Use a push stick to feed work past the blade, and for every small piece.'
    """
    if topic not in topics():
        raise KeyError(f"no cautions on {topic!r}; there are {', '.join(topics())}")
    is_metric = unit_of_lengths() == "mm"
    rows = (row for row in all_cautions() if row.topic == topic)
    return tuple(replace(row, text=row.metric) if is_metric and row.metric else row for row in rows)


def defer(topic: str) -> str:
    """The authority that overrides these cautions: the maker's manual, the label or the code. Raises KeyError."""
    return cautions(topic)[0].defer


def topics() -> tuple[str, ...]:
    """The topics of the cautions, in the order of the file."""
    return tuple(dict.fromkeys(row.topic for row in all_cautions()))


@cache
def all_cautions() -> tuple[PublishedCaution, ...]:
    """Every caution, grouped by topic."""
    table = read_table("cautions")
    by_topic = {record["name"]: record["defer"] for record in table["topic"]}
    return tuple(
        PublishedCaution(**record, defer=words)
        for name, words in by_topic.items()
        for record in table["caution"]
        if record["topic"] == name
    )
