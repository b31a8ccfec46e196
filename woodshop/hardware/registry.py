"""The items we can make. Each is one function, and its annotated keyword arguments are its complete schema."""

import inspect
from collections.abc import Callable, Iterable
from dataclasses import KW_ONLY, MISSING, dataclass, fields
from enum import Enum
from typing import Annotated, Any, Literal, get_args, get_origin, get_type_hints

from woodshop.findings import Finding
from woodshop.hive.stacking.place import Place
from woodshop.reference.facts import fact
from woodshop.shape.part import Assembly
from woodshop.units.lengths import Density, Mass
from woodshop.units.wording import LengthUnit


@dataclass(frozen=True, slots=True)
class Param:
    """A parameter that a user can set: its meaning, its limits, and the fact with its default.

    `fact` is the key of a fact. The limits `least` and `most` are text in the parameter's own unit. If `only` is
    given, the parameter matters only if another parameter of the same table has a value that begins with this text.
    """

    help: str
    fact: str | None = None
    least: str | None = None
    most: str | None = None
    _: KW_ONLY
    source: str | None = None
    only: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class Parameter:
    """A parameter as listed by the registry: its name, its type, its `Param`, and its default in the code."""

    name: str
    type: Any
    param: Param
    default: Any


Maker = Callable[..., Assembly]
Check = Callable[[Any, Assembly, str], Iterable[Finding]]


class BoardPart(Enum):
    """The parts of a fondant board that an item can be. All parts share the settings of the board."""

    RIM = "rim"
    FLOOR = "floor"
    STRIPS = "strips"
    BLOCKS = "blocks"


PER_HIVE = "hive"


@dataclass(frozen=True, slots=True)
class Item:
    """A kind of item we can make, and the function that makes it.

    `per` is "hive" if every hive gets its own; otherwise it names the parameter with the total that the shop needs.
    `check`, if any, receives the setting, the assembly and its address, and finds problems of the item itself, measured
    with its parts in place. `on_rim` marks an item that has the outside size of the rim, even if the box differs.
    `place` is its place in a hive, or None for an item that is not part of a hive. `board_part` is its part of a
    fondant board.
    """

    name: str
    title: str
    per: str
    _: KW_ONLY
    make: Maker
    parameters: tuple[Parameter, ...]
    check: Check | None = None
    on_rim: bool = False
    place: Place | None = None
    board_part: BoardPart | None = None

    @property
    def is_per_hive(self) -> bool:
        """Whether every hive gets its own."""
        return self.per == PER_HIVE

    @property
    def summary(self) -> str:
        """The first sentence of the maker's docstring."""
        return (inspect.getdoc(self.make) or "").split("\n", 1)[0]

    @property
    def picture(self) -> str:
        """The text picture in the maker's docstring."""
        return (inspect.getdoc(self.make) or "").partition("\n\n")[2]


ITEMS: dict[str, Item] = {}  # by name, in the order of registration


def item(
    name: str,
    *,
    title: str,
    per: str = PER_HIVE,
    check: Check | None = None,
    on_rim: bool = False,
    place: Place | None = None,
    board_part: BoardPart | None = None,
) -> Callable[[Maker], Maker]:
    """Registers a maker: a function that takes a Setting and annotated keyword arguments and returns an Assembly.

    The assembly's parts are in the axes of the setting's box. If `on_rim` is true, the outside of the assembly is
    `Setting.outside`. The other arguments, such as `name`, `title` and `per`, are fields of `Item`.
    """

    def register(make: Maker) -> Maker:
        if name in ITEMS:
            raise ValueError(f"two makers for {name!r}")
        hints = get_type_hints(make, include_extras=True)
        keywords = [p for p in inspect.signature(make).parameters.values() if p.kind is p.KEYWORD_ONLY]
        parameters = tuple(_parameter(p.name, hints[p.name], p.default) for p in keywords)
        if per != PER_HIVE and per not in {p.name for p in parameters if p.type is int}:
            raise TypeError(f"{name!r} is counted by {per!r}, which is not a whole-number parameter of it")
        ITEMS[name] = Item(
            name,
            title,
            per,
            make=make,
            parameters=parameters,
            check=check,
            on_rim=on_rim,
            place=place,
            board_part=board_part,
        )
        return make

    return register


def default_of(parameter: Parameter, unit: LengthUnit = "in") -> Any:
    """The default of a parameter in a design with this unit: the value of its fact, or the default in the code."""
    if parameter.param.fact is None:
        return parameter.default
    row, kind = fact(parameter.param.fact), parameter.type
    if kind is Mass:
        return row.mass_in(unit)
    if kind is Density:
        return row.density
    if kind is str or get_origin(kind) is Literal:
        return row.value_in(unit)
    if kind is int:
        return int(row.number)
    return row.length_in(unit)


def fields_as_parameters(cls: type) -> tuple[Parameter, ...]:
    """The annotated fields of a settings dataclass, listed like the parameters of an item."""
    hints = get_type_hints(cls, include_extras=True)
    return tuple(
        _parameter(f.name, hints[f.name], None if f.default is MISSING else f.default)
        for f in fields(cls)
        if get_origin(hints[f.name]) is Annotated
    )


def _parameter(name: str, hint: Any, default: Any) -> Parameter:
    if get_origin(hint) is not Annotated:
        raise TypeError(f"parameter {name!r} has no annotation that says what it means")
    kind, param = get_args(hint)[:2]
    return Parameter(name, kind, param, None if default is inspect.Parameter.empty else default)
