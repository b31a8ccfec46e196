"""What moves the gaps of every group of hives: those that stand alike are worked out once, over the cores."""

from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass, replace

from woodshop.checks.measured.mesh_state import mesh_state, thousandths
from woodshop.checks.variation.gap_variation import QUICK, Moves, Population, moves_of
from woodshop.design.batch import Unit
from woodshop.design.hive_stacks import place_of, standings_of, stands_as
from woodshop.design.measured_boxes import average
from woodshop.design.settings.tolerances import Tolerances
from woodshop.hive.gaps.grading import BeeSpace, MeshSag
from woodshop.workers import over_cores

_MANY = 2  # ways to stand; with more, the cores share them
_MOST_DRAWN, _LEAST_DRAWN = 6_000_000, 10_000  # of all kinds together, of each


@dataclass(frozen=True, slots=True)
class MovedHives:
    """Hives that stand alike: the names of their groups, how many there are together, and what moves their gaps."""

    names: tuple[str, ...]
    count: int
    of: Population
    moves: Moves


def moved_hives(
    units: Iterable[Unit],
    tolerances: Tolerances,
    limits: BeeSpace,
    *,
    count: int = QUICK,
    theirs: bool = False,
    progress: Callable[[str], None] | None = None,
) -> tuple[MovedHives, ...]:
    """What moves the gaps of each kind of hive that these units stand in, in their order; see `moves_of`.

    `count` are drawn of each kind; fewer where all kinds together would take minutes.
    """
    groups: dict[str, dict[str, Unit]] = {}
    for unit in units:
        if unit.line.item.per == "hive":
            groups.setdefault(unit.line.hives.name, {})[unit.line.item.name] = unit
    named: dict[Population, list[tuple[str, int]]] = {}
    known: dict[Hashable, list[tuple[str, Population]]] = {}
    for group in groups.values():
        hives = next(iter(group.values())).line.hives
        alike = (stands_as(group), hives.gaps, hives.is_gap_measured, hives.sugar)
        if alike not in known:
            place = place_of(hives)
            known[alike] = [(name.removeprefix(place), of) for name, of in populations(group)]
        for words, of in known[alike]:
            named.setdefault(of, []).append((place_of(hives) + words, hives.count))
    drawn = min(count, max(_LEAST_DRAWN, _MOST_DRAWN // max(1, len(named))))
    if progress is not None and (count > QUICK or len(named) > _MANY):
        progress(f"straying the sizes of {len(named)} hives, {drawn:,} of each")
    found = over_cores(_work_out, [(of, tolerances, limits, drawn, theirs) for of in named], _MANY + 1)
    return tuple(
        MovedHives(tuple(dict.fromkeys(name for name, _ in who)), sum(many for _, many in who), of, moves)
        for (of, who), moves in zip(named.items(), found, strict=True)
    )


def populations(group: dict[str, Unit]) -> list[tuple[str, Population]]:
    """Each way that the hives of a group can stand, by name, at the middle of their gaps."""
    line = next(iter(group.values())).line
    gaps = line.hives.gaps or (line.setting.box.gap,)
    state = mesh_state(group)
    mesh = MeshSag()
    if state is not None:
        between = thousandths(max(each.fresh.between for each in state.at)) if state.rests else None
        mesh = MeshSag(state.counted, between)
    return [
        (each.name, Population(replace(each, name=""), tuple(sorted(gaps)), line.hives.is_gap_measured, mesh))
        for each in standings_of(group, average(list(gaps)))
    ]


def _work_out(of: Population, tolerances: Tolerances, limits: BeeSpace, count: int, theirs: bool) -> Moves:
    return moves_of(of, tolerances, limits, count=count, theirs=theirs)
