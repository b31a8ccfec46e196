"""Published bands of bee space, and the limits for grading a gap outside the chosen band."""

from dataclasses import dataclass
from difflib import get_close_matches

from woodshop.errors import InputError, Problem, did_you_mean
from woodshop.reference.facts import Fact, fact, group
from woodshop.units.lengths import Length

DEFAULT_BAND = "most quoted"


@dataclass(frozen=True, slots=True)
class Band:
    """A published range of bee space: a closed interval, both ends exact in the unit of its source."""

    name: str
    least: Length
    most: Length
    meaning: str
    row: Fact

    def holds(self, gap: Length) -> bool:
        """Whether the gap is in the band, including its ends.

        >>> from woodshop.units.lengths import inch
        >>> band().holds(inch("1/4")), band("rounded metric").holds(inch("1/4"))
        (True, False)
        """
        return self.least <= gap <= self.most

    @property
    def cite(self) -> str:
        """The source of the band."""
        return self.row.cite


def bands() -> tuple[Band, ...]:
    """Every published band, the default first."""
    rows = group("bee_space.band")
    return tuple(Band(_name(row), *row.range, row.what, row) for row in rows)


def band(name: str = DEFAULT_BAND) -> Band:
    """The band with this name. Raises KeyError, with suggestions of similar names."""
    by_name = {each.name: each for each in bands()}
    if name not in by_name:
        close = get_close_matches(name, by_name, 3, 0.5) or list(by_name)
        raise KeyError(f"no band {name!r}; did you mean {' or '.join(close)}?")
    return by_name[name]


def named_band(name: str, where: str) -> str:
    """Checks the name of a published band, and returns it.

    Raises InputError, with suggestions of similar names, if the name is unknown.
    """
    known = [each.name for each in bands()]
    if name in known:
        return name
    plain = name.lower().replace("_", " ").replace("-", " ")
    do = did_you_mean(plain, known, "Choose one of them.", most=3, cutoff=0.5)
    raise InputError(Problem(where, repr(name), "a published band, one of: " + ", ".join(known), do))


def outer_limits() -> tuple[Length, Length]:
    """The smallest and largest gaps outside the band that are still warnings, not errors."""
    return fact("bee_space.tightest").length, fact("bee_space.widest").length


def _name(row: Fact) -> str:
    return row.key.rpartition(".")[2].replace("_", " ")
