"""Sheet goods: fluted plastic, sheet steel, plywood, rigid foam: their names, how thick they are, how they are cut.

A sheet's material is its kind and its nominal size: "fluted 3 mm", "steel 26 ga", "plywood 1/4 in", "foam 1 in".
The length of a sheet runs along its flutes or along the grain of its face.
"""

from dataclasses import dataclass
from typing import Literal

from woodshop.reference.facts import fact
from woodshop.units.lengths import ZERO, Length, read_length


@dataclass(frozen=True, slots=True)
class SheetKind:
    """A kind of sheet: what cuts it, and whether a piece may be turned a quarter on it.

    A knife and a shear take no kerf. Flutes and face grain have a direction, so what has them is not turned.
    """

    name: str
    cut_with: Literal["knife", "shear", "saw"]
    turns: bool
    nominal: str

    @property
    def is_sawn(self) -> bool:
        """Whether a kerf is lost at each cut."""
        return self.cut_with == "saw"


_KINDS = {
    "fluted": SheetKind("fluted", "knife", False, 'a thickness such as "3 mm"'),
    "steel": SheetKind("steel", "shear", True, 'a gauge of the table: "20 ga", "22 ga", "24 ga" or "26 ga"'),
    "plywood": SheetKind("plywood", "saw", False, 'a thickness such as "1/4 in"'),
    "foam": SheetKind("foam", "knife", True, 'a thickness such as "1 in"'),
}
_GAUGES = {f"{n} ga": f"metal.sheet_{n}_galvanised" for n in (20, 22, 24, 26)}


def sheet_kinds() -> tuple[str, ...]:
    """The kinds of sheet there are."""
    return tuple(_KINDS)


def sheet_kind(material: str) -> SheetKind | None:
    """The kind of sheet that a material is; None for boards, mesh, cloth and all else.

    >>> sheet_kind("fluted 3 mm").cut_with, sheet_kind("board 3/4 in")
    ('knife', None)
    """
    return _KINDS.get(material.partition(" ")[0])


def sheet_material(kind: str, size: str | Length) -> str:
    """The material's name, its size written one way only. Raises KeyError (no such kind), ValueError (no such size).

    >>> sheet_material("fluted", "3 mm"), sheet_material("plywood", ".25 in"), sheet_material("steel", "26 ga")
    ('fluted 3 mm', 'plywood 1/4 in', 'steel 26 ga')
    """
    if kind not in _KINDS:
        raise KeyError(f"no sheet {kind!r}; there are {', '.join(_KINDS)}")
    if kind == "steel":
        if size not in _GAUGES:
            raise ValueError(f"no gauge {size!r}; there are {', '.join(_GAUGES)}")
        return f"steel {size}"
    thick = read_length(size) if isinstance(size, str) else size
    if thick <= ZERO:
        raise ValueError(f"a thickness of more than nothing, not {thick}")
    return f"{kind} {thick.number('mm')} mm" if kind == "fluted" else f"{kind} {thick.text()}"


def sheet_thickness(material: str) -> Length:
    """How thick a sheet is by its name; steel as galvanized sheet of that gauge. Raises KeyError, ValueError.

    >>> print(sheet_thickness("steel 26 ga"), sheet_thickness("foam 1 in"))
    0.022 in 1 in
    """
    kind, _, size = material.partition(" ")
    name = sheet_material(kind, size)
    return fact(_GAUGES[size]).length if kind == "steel" else read_length(name.removeprefix(f"{kind} "))
