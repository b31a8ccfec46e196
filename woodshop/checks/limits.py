"""What is wanted of each measured gap, as the rows of the tables state it, and how what was measured is graded."""

from dataclasses import dataclass

from woodshop.hive.gaps.gaps import Gap
from woodshop.hive.passages.creatures import narrow_words, worker
from woodshop.reference.facts import fact
from woodshop.reference.limits import DEFAULT_BAND, amber_limits, band
from woodshop.units.lengths import ZERO, Length


@dataclass(frozen=True, slots=True)
class Limits:
    """A published band of bee space, closed, the amber margins beside it, and where it was published.

    `mesh_least` is the least between the top bars and a mesh that bees pass, once it sags as it may. `unit` is the
    design's: limits that no source gives in words are worded in it.
    """

    name: str
    least: Length
    most: Length
    amber_least: Length
    amber_most: Length
    mesh_least: Length
    cite: str
    unit: str = "in"

    @property
    def words(self) -> str:
        """The band as people read it.

        >>> band_limits().words
        '1/4 to 3/8 in'
        >>> band_limits("six to nine").words
        '6 to 9 mm'
        """
        return band(self.name).row.value

    @property
    def is_default(self) -> bool:
        """Whether it is the band that is taken where none is named."""
        return self.name == DEFAULT_BAND


@dataclass(frozen=True, slots=True)
class Graded:
    """A gap's grade, what is wanted of it, and the source of that."""

    grade: str
    wanted: str
    source: str


def band_limits(name: str = DEFAULT_BAND, unit: str = "in") -> Limits:
    """The band of that name, and the margins in which a gap is a warning. Raises KeyError for an unknown name."""
    chosen, (low, high) = band(name), amber_limits()
    return Limits(
        name,
        chosen.least,
        chosen.most,
        min(low, chosen.least),
        max(high, chosen.most),
        fact("bee_space.amber_least").length,
        chosen.cite,
        unit,
    )


def graded(gap: Gap, limits: Limits, between: Length | None = None) -> Graded:
    """How a gap is graded, by its kind; a mesh over bars as it hangs empty.

    `between` is how far a mesh under fresh sugar sags below the strips that it rests on, None where it rests on none.
    """
    if gap.kind == "bees' way":
        return Graded(_of_band(gap, limits), limits.words, limits.cite)
    if gap.kind == "mesh over bars":
        row = fact("bee_space.amber_least")
        wanted = f"{row.value} to {limits.most}"
        return Graded(_of_mesh(gap, limits), wanted, f"{row.cite}; {limits.cite}")
    if gap.kind == "mesh on strip":
        row = fact("bee_space.amber_least")
        if between is None:
            return Graded("the mesh does not rest on it", "no limit: it carries nothing", "geometry")
        grade = "enough under mesh" if gap.least - between >= limits.mesh_least else "nearly tight"
        return Graded(grade, f"{row.value} and the {between} it sags between", row.cite)
    if gap.name == "overhang":
        row = fact("box.overhang_most")
        flush = max(abs(gap.least), abs(gap.most)) <= row.length
        grade = "flush" if not gap.least and not gap.most else "harmless" if flush else "off the edge"
        return Graded(grade, f"at most {row.value}", row.cite)
    if gap.name == "strip to mesh" and gap.least >= ZERO and gap.most > ZERO and between is not None:
        return Graded("carries it once it sags", "contact", "geometry")
    if gap.kind == "contact":
        touches = not gap.least and not gap.most
        return Graded("touches" if touches else "stands off", "contact", "geometry")
    if gap.kind == "shut":
        who = worker()
        shut = gap.most < who.size
        wanted = narrow_words(limits.unit)
        return Graded("shut" if shut else "open to bees", wanted, who.row.cite)
    return Graded("runs into it" if gap.least < ZERO else "as it is meant", "declared by what makes it", "geometry")


def _of_band(gap: Gap, limits: Limits) -> str:
    """The worse end decides; both ends outside are named by the narrow one."""
    if gap.least < limits.amber_least:
        return "tight"
    if gap.most > limits.amber_most:
        return "wide"
    if gap.least < limits.least:
        return "nearly tight"
    return "nearly wide" if gap.most > limits.most else "bee space"


def _of_mesh(gap: Gap, limits: Limits) -> str:
    if gap.least <= ZERO:
        return "tight"
    if gap.least < limits.mesh_least:
        return "nearly tight"
    if gap.most > limits.most:
        return "nearly wide" if gap.most <= limits.amber_most else "wide"
    return "bee space" if gap.least >= limits.least else "enough under mesh"
