"""Hardware cloth: pitch, wire, clear opening, rolls, and what each source says gets through."""

from dataclasses import dataclass

from woodshop.reference.facts import Fact, all_facts, fact
from woodshop.units.lengths import Length

_KEYS = {"1/2 in": "half", "1/3 in": "third", "1/4 in": "quarter", "1/8 in": "eighth"}


@dataclass(frozen=True, slots=True)
class Mesh:
    """A square mesh: `pitch` is from wire middle to wire middle, `wire` the diameter of one wire."""

    name: str
    pitch: Length
    wire: Length
    rows: tuple[Fact, Fact]

    @property
    def clear_opening(self) -> Length:
        """Pitch less one wire. Source: ASTM A740, s. 3.1, which counts mesh from centre to centre.

        >>> print(mesh("1/2 in").clear_opening)
        0.459 in
        """
        return self.pitch - self.wire


@dataclass(frozen=True, slots=True)
class Passage:
    """What one source says of one mesh: `who` is "worker", "drone", "queen", "mouse", "mite" or "dead bee"."""

    mesh: str
    who: str
    passes: bool
    row: Fact


def mesh_names() -> tuple[str, ...]:
    """The meshes that have rows, coarse to fine."""
    return tuple(_KEYS)


def mesh(name: str) -> Mesh:
    """The mesh of that pitch: "1/2 in", "1/3 in", "1/4 in" or "1/8 in". Raises KeyError."""
    if name not in _KEYS:
        raise KeyError(f"no mesh {name!r}; there are {', '.join(_KEYS)}")
    pitch, wire = fact(f"mesh.{_KEYS[name]}.pitch"), fact(f"mesh.{_KEYS[name]}.wire")
    return Mesh(name, pitch.length, wire.length, (pitch, wire))


def passages(name: str | None = None) -> tuple[Passage, ...]:
    """What each source says passes a mesh, or all of them. Sources that disagree are all given. Raises KeyError."""
    if name is not None:
        mesh(name)
    rows = (row for row in all_facts() if row.key.startswith("mesh.") and row.column("who"))
    said = (Passage(row.column("mesh"), row.column("who"), row.value == "pass", row) for row in rows)
    return tuple(passage for passage in said if name in (None, passage.mesh))
