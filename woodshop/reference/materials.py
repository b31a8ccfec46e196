"""Materials: mesh and what passes through it, dressed lumber, and the kinds of material with their sizes."""

import re
from dataclasses import KW_ONLY, dataclass, field
from enum import StrEnum
from functools import lru_cache
from typing import Literal

from woodshop.reference.facts import Fact, all_facts, fact
from woodshop.units.lengths import ZERO, Length, decimals, millimetre, read_length, size_name

_KEYS = {"1/2 in": "half", "1/3 in": "third", "1/4 in": "quarter", "1/8 in": "eighth"}
_SAME_PITCH = millimetre("1/10")  # a pitch is given to a tenth of a millimeter: 6.3, 6.35 and 6.4 mm are one mesh


@dataclass(frozen=True, slots=True)
class Mesh:
    """A square mesh: `pitch` is the distance between wire centers, `wire` the diameter of one wire."""

    name: str
    pitch: Length
    wire: Length
    rows: tuple[Fact, Fact]

    @property
    def clear_opening(self) -> Length:
        """The pitch minus one wire. Source: ASTM A740, s. 3.1, which measures mesh from center to center.

        >>> print(mesh("1/2 in").clear_opening)
        0.459 in
        """
        return self.pitch - self.wire

    def sold(self, unit: str) -> str:
        """The pitch by which the mesh is sold, in inches or, to a tenth, in millimeters.

        >>> mesh("1/2 in").sold("in"), mesh("1/2 in").sold("mm"), mesh("1/4 in").sold("mm")
        ('1/2 in', '12.7 mm', '6.4 mm')
        """
        return f"{decimals(self.pitch.mm, 1)} mm" if unit == "mm" else self.name


@dataclass(frozen=True, slots=True)
class Passage:
    """A statement of one source about one mesh: `who` is "worker", "drone", "queen", "mouse", "mite" or "dead bee"."""

    mesh: str
    who: str
    passes: bool
    row: Fact


def mesh_names(unit: str = "in") -> tuple[str, ...]:
    """The names of the meshes in the tables, coarse to fine, by their pitch in this unit."""
    return tuple(_KEYS) if unit == "in" else tuple(mesh(name).sold(unit) for name in _KEYS)


def mesh_name(text: str, unit: str = "in") -> str:
    """The name in the tables of the mesh with this pitch, or the text itself if it is the pitch of no known mesh.

    >>> mesh_name("12.7", "mm"), mesh_name("6.3 mm"), mesh_name("10 mm")
    ('1/2 in', '1/4 in', '10 mm')
    """
    try:
        pitch = read_length(text, unit)
    except ValueError:
        return text
    return next((name for name in _KEYS if abs(mesh(name).pitch - pitch) < _SAME_PITCH), text)


def mesh_remedy(text: str, unit: str) -> str:
    """What to enter in place of a pitch that is not in the tables. A true pitch is refused because pieces are wires.

    >>> mesh_remedy("6 mm", "mm").partition(" Measure")[0]
    'The tables have no wire size for 6 mm. The nearest is 6.4 mm.'
    """
    try:
        pitch = read_length(text, unit)
    except ValueError:
        return "Choose one of them."
    near = mesh(min(_KEYS, key=lambda name: abs(mesh(name).pitch - pitch)))
    sold = near.sold(unit)
    return (
        f"The tables have no wire size for {text}. The nearest is {sold}. Measure ten meshes, wire to wire, and divide "
        f"by ten. If that gives {sold}, enter it. Otherwise buy {sold} mesh: every piece is counted in whole "
        "meshes, so another pitch gives pieces of another size."
    )


def mesh(name: str) -> Mesh:
    """The mesh with this pitch: "1/2 in", "1/3 in", "1/4 in" or "1/8 in". Raises KeyError."""
    if name not in _KEYS:
        raise KeyError(f"no mesh {name!r}; there are {', '.join(_KEYS)}")
    pitch, wire = fact(f"mesh.{_KEYS[name]}.pitch"), fact(f"mesh.{_KEYS[name]}.wire")
    return Mesh(name, pitch.length, wire.length, (pitch, wire))


def passages(name: str | None = None) -> tuple[Passage, ...]:
    """What can pass through a mesh according to each source, or through any mesh if `name` is None. Raises KeyError."""
    if name is not None:
        mesh(name)
    rows = (row for row in all_facts() if row.key.startswith("mesh.") and row.column("who"))
    said = (Passage(row.column("mesh"), row.column("who"), row.value == "pass", row) for row in rows)
    return tuple(passage for passage in said if name in (None, passage.mesh))


_THICKNESS = {"1": "1", "5/4": "1_1_4", "2": "2"}
_WIDTHS = {"1": (2, 3, 4, 5, 6, 8, 10, 12), "5/4": (2, 3, 4, 6, 8, 10, 12), "2": (2, 3, 4, 6, 8, 10, 12)}


def nominal_names() -> tuple[str, ...]:
    """The names of dressed lumber: "1x2" to "1x12", "5/4x2" to "5/4x12", "2x2" to "2x12".

    >>> nominal_names()[:3]
    ('1x2', '1x3', '1x4')
    """
    return tuple(f"{thickness}x{width}" for thickness, widths in _WIDTHS.items() for width in widths)


def dressed_rows(name: str) -> tuple[Fact, Fact]:
    """The rows for the thickness and the width of a nominal size. Raises KeyError."""
    if name not in nominal_names():
        raise KeyError(f"no nominal size {name!r}; there are {', '.join(nominal_names())}")
    thickness, _, width = name.partition("x")
    return fact(f"lumber.thickness_{_THICKNESS[thickness]}"), fact(f"lumber.width_{width}")


def dressed(name: str) -> tuple[Length, Length]:
    """The minimum thickness and width of a nominal size, dressed and dry. Raises KeyError.

    Source: American Softwood Lumber Standard (PS 20), as tabulated elsewhere; each row says how it was read.

    >>> [str(size) for size in dressed("1x4")]
    ['3/4 in', '3 1/2 in']
    """
    thickness, width = dressed_rows(name)
    return thickness.length, width.length


class Form(StrEnum):
    """The form in which a material is bought, as woodworkers name it; loose and existing goods are not cut."""

    BOARD = "board"
    SHEET = "sheet"
    ROLL = "roll"
    LOOSE = "loose"
    EXISTING = "existing"


Tool = Literal["saw", "tin snips", "knife", "scissors", ""]
Sizes = Literal["thickness", "millimetres", "section", "gauge", "mesh", ""]


@dataclass(frozen=True, slots=True)
class MaterialKind:
    """A kind of material: its form, its cutting tool, and how its size is named.

    If `turns` is true, pieces can be turned 90°; materials with flutes or grain are not turned. `layer` is its layer in
    heat calculations. `weight` is the fact with its density, or "". If `breathes` is true, air passes through it.
    """

    name: str
    _: KW_ONLY
    form: Form
    cut_with: Tool = ""
    sizes: Sizes = ""
    turns: bool = False
    example: str = ""
    layer: Literal["sugar", "shavings", "wood", "cloth", "mesh", "plastic"] = "wood"
    weight: str = ""
    breathes: bool = False


_PINE = "wood.weight_eastern_white_pine"
_KINDS = {
    kind.name: kind
    for kind in (
        MaterialKind("board", form=Form.BOARD, cut_with="saw", sizes="thickness", weight=_PINE),
        MaterialKind("lattice", form=Form.BOARD, cut_with="saw", sizes="section", weight=_PINE),
        MaterialKind("mesh", form=Form.ROLL, cut_with="tin snips", sizes="mesh", turns=True, layer="mesh"),
        MaterialKind("cloth", form=Form.ROLL, cut_with="scissors", turns=True, layer="cloth", breathes=True),
        MaterialKind("fluted", form=Form.SHEET, cut_with="knife", sizes="millimetres", layer="plastic",
             example='a thickness such as "3 mm"'),
        MaterialKind("steel", form=Form.SHEET, cut_with="tin snips", sizes="gauge", turns=True, weight="season.steel",
             example='a gauge of the table: "20 ga", "22 ga", "24 ga" or "26 ga", or a thickness such as "0.5 mm"'),
        MaterialKind("plywood", form=Form.SHEET, cut_with="saw", sizes="thickness",
             example='a thickness such as "1/4 in"', weight="season.plywood"),
        MaterialKind("foam", form=Form.SHEET, cut_with="knife", sizes="thickness", turns=True,
             example='a thickness such as "1 in"'),
        MaterialKind("sugar", form=Form.LOOSE, layer="sugar"),
        MaterialKind("shavings", form=Form.LOOSE, layer="shavings", breathes=True),
        MaterialKind("existing", form=Form.EXISTING),
    )
}  # fmt: skip
_GAUGES = {f"{n} ga": f"metal.sheet_{n}_galvanised" for n in (20, 22, 24, 26)}


@dataclass(frozen=True, slots=True)
class Material:
    """The material of a part. Materials of the same kind and sizes are equal, in whichever unit they are named.

    `thickness` is None if the name gives none; only ready strips have a `width`, and only mesh has a `mesh`.
    """

    name: str = field(compare=False)
    kind: MaterialKind = field(compare=False, repr=False)
    thickness: Length | None = field(default=None, compare=False, repr=False)
    width: Length | None = field(default=None, compare=False, repr=False)
    mesh: Mesh | None = field(default=None, compare=False, repr=False)
    _same: str = field(init=False, repr=False)

    def __post_init__(self) -> None:
        sizes = [each for each in (self.thickness, self.width) if each is not None]
        named = [size_name(each) if self.kind.sizes != "millimetres" else decimals(each.mm, 2) for each in sizes]
        of = "" if self.mesh is None else self.mesh.name
        object.__setattr__(self, "_same", " ".join((self.kind.name, of, *named)))

    def __str__(self) -> str:
        return self.name

    @property
    def form(self) -> Form:
        """The form in which the material is bought."""
        return self.kind.form

    @property
    def size(self) -> str:
        """The name without its kind: "3/4 in", "26 ga", or "" if it has no size."""
        return self.name.removeprefix(self.kind.name).lstrip()

    @property
    def is_lumber(self) -> bool:
        """Whether the material is boards or ready strips, with the grain lengthwise."""
        return self.form is Form.BOARD

    @property
    def spoken(self) -> str:
        """The name with the size first: "3/4 in board" or "1/2 in mesh"."""
        kind, _, size = self.name.partition(" ")
        return f"{size} {kind}" if kind in ("board", "mesh") and size else self.name

    @property
    def is_sawn(self) -> bool:
        """Whether the material is sawn, so that each cut has a kerf; snips, knives and scissors have none."""
        return self.kind.cut_with == "saw"

    @property
    def how_marked(self) -> str:
        """How a piece of it carries a code: "chalked" on wood, "marked" on a sheet, "tagged" on a roll."""
        if self.is_sawn:
            return "chalked"
        return "marked" if self.form is Form.SHEET else "tagged"

    @property
    def is_ready_strip(self) -> bool:
        """Whether the material is strips sold in their final cross section, which are crosscut and never ripped."""
        return self.width is not None

    @property
    def is_made_to_size(self) -> bool:
        """Whether the material is sawn to width and length, as boards and plywood are."""
        return self.is_sawn and not self.is_ready_strip


def board_material(thickness: Length, unit: str = "in") -> Material:
    """The material for boards of this thickness and any width, named in this unit where it can be.

    >>> from woodshop.units.lengths import inch, millimetre
    >>> print(board_material(inch("3/4")), board_material(millimetre(19)), sep=", ")
    board 3/4 in, board 19 mm
    >>> board_material(inch("3/4")) == board_material(inch("3/4"), "mm")
    True
    """
    return Material(f"board {size_name(thickness, unit)}", _KINDS["board"], thickness)


def lattice_material(thickness: Length, width: Length, unit: str = "in") -> Material:
    """The material for ready strips of this thickness and width, named in this unit where it can be."""
    name = f"lattice {size_name(thickness, unit)} x {size_name(width, unit)}"
    return Material(name, _KINDS["lattice"], thickness, width)


@lru_cache(maxsize=64)
def mesh_material(name: str, unit: str = "in") -> Material:
    """The material for hardware cloth of this mesh, such as "1/2 in", named in this unit. Raises KeyError."""
    found = mesh(mesh_name(name))
    return Material(f"mesh {found.sold(unit)}", _KINDS["mesh"], mesh=found)


def sheet_material(kind: str, size: str | Length, unit: str = "in") -> Material:
    """The material for a sheet, named in this unit where it can be.

    Raises KeyError for an unknown kind, and ValueError for an unknown nominal size.

    >>> print(sheet_material("fluted", "3 mm"), sheet_material("plywood", ".25 in"), sheet_material("steel", "26 ga"))
    fluted 3 mm plywood 1/4 in steel 26 ga
    >>> print(sheet_material("steel", "0.5 mm"), sheet_material("plywood", "6.35 mm", "mm"))
    steel 0.5 mm plywood 6.35 mm
    """
    if kind not in sheet_kinds():
        raise KeyError(f"no sheet {kind!r}; there are {', '.join(sheet_kinds())}")
    row = _KINDS[kind]
    if row.sizes == "gauge":
        if isinstance(size, str) and size in _GAUGES:
            return Material(f"{kind} {size}", row, fact(_GAUGES[size]).length)
        if not is_steel_size(size):
            raise ValueError(f"no gauge {size!r}; there are {', '.join(_GAUGES)}")
        unit = "mm"
    thick = read_length(size, unit) if isinstance(size, str) else size
    if thick <= ZERO:
        raise ValueError(f"a thickness above 0, not {thick}")
    return Material(
        f"{kind} {f'{decimals(thick.mm, 2)} mm' if row.sizes == 'millimetres' else size_name(thick, unit)}", row, thick
    )


def is_steel_size(size: str | Length) -> bool:
    """Whether sheet steel is sold by this size: a gauge of the table, or a thickness in millimeters of 0.3 to 2 mm."""
    if isinstance(size, str):
        if size in _GAUGES:
            return True
        if not re.fullmatch(r"\d+(\.\d+)? mm", size):
            return False
        size = read_length(size)
    return millimetre("3/10") <= size <= millimetre(2)


CLOTH, SUGAR, SHAVINGS, EXISTING = (Material(name, _KINDS[name]) for name in ("cloth", "sugar", "shavings", "existing"))


def sheet_kinds() -> tuple[str, ...]:
    """The names of the kinds of sheet."""
    return tuple(kind.name for kind in _KINDS.values() if kind.form is Form.SHEET)


def size_example(kind: str) -> str:
    """An example size for a kind of sheet, for messages. Raises KeyError."""
    return _KINDS[kind].example


def read_material(name: str) -> Material:
    """The material with this name in files. Raises ValueError.

    >>> read_material("lattice 1/4 in x 1/2 in").is_lumber, read_material("mesh 1/2 in").kind.cut_with
    (True, 'tin snips')
    """
    word, _, size = name.partition(" ")
    if word not in _KINDS or bool(size) != bool(_KINDS[word].sizes):
        raise ValueError(f"no material {name!r}; there are {', '.join(_KINDS)}, with their sizes")
    unit = "mm" if size.endswith(" mm") else "in"
    if word in sheet_kinds():
        return sheet_material(word, size, unit)
    if word == "board":
        return board_material(read_length(size), unit)
    if word == "lattice":
        thickness, _, width = size.partition(" x ")
        return lattice_material(read_length(thickness), read_length(width), unit)
    if word == "mesh":
        try:
            return mesh_material(size, unit)
        except KeyError as why:
            raise ValueError(str(why.args[0])) from None
    return Material(word, _KINDS[word])
