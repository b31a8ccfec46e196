"""The whole job in sawing order: every cut of every board, with as few fence and stop settings as possible.

The work is divided into phases: trims of all boards, crosscuts into sections, rips, crosscuts of strips, rips of
crosscut blocks, and final trims. Within a phase all boards are available, so that cuts with the same setting are made
together.

The settings depend on how the user rips narrow strips, which come off on the far side of the blade from the fence. If
strips **fall free**, the fence follows the shrinking board: it is set to the remaining width once for each strip. With
a thin-rip **stop**, the stop is set once to the strip's width for all strips of that width, and for each strip of each
board the fence is moved until the board touches the stop. Such fence moves are counted separately. In both cases, a rip
to width between fence and blade needs one setting per width.

The order is a routing problem that must visit every setting. Within a board the rips have a fixed order (narrow strips
first, while the board is still wide; then the widest first); boards can be in any order. Identical settings on
different boards are merged if these orders allow it. Small problems are solved exactly, breadth first. Large problems
are solved by one rule, with a stated bound.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args

from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Plan
from woodshop.cutting.order.sequence import SawCut, saw_cuts

ThinRip = Literal["free side", "stop"]
FREE_SIDE: ThinRip = "free side"
STOP: ThinRip = "stop"
SEQUENCE_FORMAT = "woodshop-sequence/1"
Phase = Literal["trim", "section", "rip", "crosscut", "block", "finish"]
SetBy = Literal["fence", "remaining", "strip", "stop", "trim"]
PHASES: tuple[Phase, ...] = get_args(Phase)
_MOST_STATES = 20_000

Setting = tuple[bool, SetBy, int]
"""Whether the cut runs along; "fence", "remaining", "strip", "stop" or "trim"; and the distance.

"remaining" sets the fence at the remaining width, "strip" sets the thin-rip stop.
"""


def setting_of(cut: SawCut, thin_rip: ThinRip) -> Setting:
    """The setting for a cut, which includes its distance."""
    if cut.kind == "trim":
        return cut.along, "trim", cut.setting
    if not cut.along:
        return False, "stop", cut.setting
    if cut.is_narrow:
        return (True, "strip", cut.strip) if thin_rip == STOP else (True, "remaining", cut.setting)
    return True, "fence", cut.setting


def fence_moves_of(cut: SawCut, thin_rip: ThinRip) -> int:
    """The number of fence moves for a cut on one board: one for each strip ripped against the stop."""
    return cut.count if cut.is_narrow and thin_rip == STOP else 0


@dataclass(frozen=True, slots=True)
class StationCut:
    """One cut on the boards of a layout: the layout, the cut's place in sawing order, and the number of `boards`."""

    layout: int
    cut: int
    saw_cut: SawCut
    boards: int


@dataclass(frozen=True, slots=True)
class Naming:
    """What the remainder of a part becomes after a phase: the next part, or a piece that needs no more cuts."""

    phase: Phase
    layout: int
    of: str
    name: str


@dataclass(frozen=True, slots=True)
class Station:
    """One setting of the saw, and all cuts made at it.

    Stacked crosscuts (`stacked`) are cuts of equal length on pieces stacked or side by side, as the saw allows.
    """

    phase: Phase
    setting: Setting
    strokes: tuple[StationCut, ...]
    stacked: bool


@dataclass(frozen=True, slots=True)
class JobSequence:
    """The job's settings in order.

    `fence_moves` is how many times, over all boards, the fence is moved up to a board to rip a strip against the
    thin-rip stop. `least` is a lower bound on settings plus fence moves for any order within the phases.
    """

    thin_rip: ThinRip
    stations: tuple[Station, ...]
    named: tuple[Naming, ...]
    fence_moves: int
    least: int

    @property
    def moves(self) -> int:
        """The number of settings plus fence moves."""
        return len(self.stations) + self.fence_moves


def job_sequence(job: Job, plan: Plan, *, thin_rip: ThinRip = FREE_SIDE) -> JobSequence:
    """The whole plan in sawing order. Raises ValueError for a plan that cannot be sawn or an unknown `thin_rip`."""
    if thin_rip not in (FREE_SIDE, STOP):
        raise ValueError(f"thin_rip {thin_rip!r}: wanted {FREE_SIDE!r} or {STOP!r}")
    queues: dict[str, list[list[StationCut]]] = {phase: [] for phase in PHASES}
    named: list[Naming] = []
    for number, layout in enumerate(plan.layouts):
        for phase, own in _by_phase(number, saw_cuts(job, layout), layout.times, named).items():
            queues[phase] += own
    stations: list[Station] = []
    least = 0
    for phase in PHASES:
        chains = [
            [(setting_of(stroke.saw_cut, thin_rip), stroke) for stroke in chain] for chain in queues[phase] if chain
        ]
        order, bound = _shortest([[setting for setting, _ in chain] for chain in chains])
        least += bound
        heads = [0] * len(chains)
        for setting in order:
            strokes: list[StationCut] = []
            for n, chain in enumerate(chains):
                while heads[n] < len(chain) and chain[heads[n]][0] == setting:
                    strokes.append(chain[heads[n]][1])
                    heads[n] += 1
            equal = sum(stroke.boards * max(1, stroke.saw_cut.count) for stroke in strokes) > 1
            stations.append(Station(phase, setting, tuple(strokes), equal and not setting[0] and phase == "crosscut"))
    strokes = [stroke for station in stations for stroke in station.strokes]
    fence = sum(stroke.boards * fence_moves_of(stroke.saw_cut, thin_rip) for stroke in strokes)
    return JobSequence(thin_rip, tuple(stations), tuple(named), fence, least + fence)


def _by_phase(
    layout: int, cuts: Sequence[SawCut], times: int, named: list[Naming]
) -> dict[Phase, list[list[StationCut]]]:
    """A layout's cuts by phase. Each phase has chains that must keep their order, one for each part on the saw."""
    made_by = {name: n for n, cut in enumerate(cuts) for name in cut.yields}
    in_sections = any(cut.kind == "section" for cut in cuts)
    phases: list[Phase] = []
    chains: dict[tuple[Phase, str], list[StationCut]] = {}
    for n, cut in enumerate(cuts):
        source = made_by.get(cut.of)
        if source is None:
            phase: Phase = "rip" if cut.along else "section" if in_sections else "crosscut"
            if cut.kind == "trim" and cut.yields != ("waste",):
                phase = "trim"
        else:
            own = PHASES.index("rip" if cut.along else "crosscut")
            phase = PHASES[max(own, PHASES.index(phases[source]) + 1)]
        phases.append(phase)
        if not cut.count:
            named += [Naming(phase, layout, cut.of, name) for name in cut.yields]
        else:
            of = f"trim {n}" if phase == "trim" else cut.of
            chains.setdefault((phase, of), []).append(StationCut(layout, n, cut, times))
    out: dict[Phase, list[list[StationCut]]] = {}
    for (phase, _), chain in chains.items():
        out.setdefault(phase, []).append(chain)
    return out


def _shortest(chains: Sequence[Sequence[Setting]]) -> tuple[list[Setting], int]:
    """A short list of settings that contains every chain in order, and a lower bound on its length.

    If the chains have few enough states to search together, the list is the shortest, and its length is the bound.
    """
    contracted = {tuple(s for n, s in enumerate(chain) if n == 0 or chain[n - 1] != s) for chain in chains}
    # A chain that another chain contains needs no settings of its own.
    kept: list[tuple[Setting, ...]] = []
    for chain in sorted(contracted, key=lambda c: (-len(c), c)):
        if not any(_passes(other, chain) for other in kept):
            kept.append(chain)
    exact = _walked(kept)
    if exact is not None:
        return exact, len(exact)
    most: dict[Setting, int] = {}
    for chain in kept:
        for setting in chain:
            most[setting] = max(most.get(setting, 0), chain.count(setting))
    bound = sum(most.values())
    for some in (kept[:2], kept[:3], kept[1:3]):
        walked = _walked(some)
        bound = max(bound, len(walked or ()))
    return _merged(kept), bound


def _passes(order: Sequence[Setting], chain: Sequence[Setting]) -> bool:
    left = iter(order)
    return all(setting in left for setting in chain)


def _walked(chains: Sequence[tuple[Setting, ...]]) -> list[Setting] | None:
    """The shortest list through all chains, breadth first, or None if there are too many states."""
    states = 1
    for chain in chains:
        states *= len(chain) + 1
        if states > _MOST_STATES:
            return None
    start, end = (0,) * len(chains), tuple(len(chain) for chain in chains)
    came: dict[tuple[int, ...], tuple[tuple[int, ...], Setting] | None] = {start: None}
    frontier = [start]
    while end not in came:
        following = []
        for place in frontier:
            heads = {chain[at] for at, chain in zip(place, chains, strict=True) if at < len(chain)}
            for setting in sorted(heads, key=lambda s: (-s[2], s)):
                after = tuple(
                    at + (at < len(chain) and chain[at] == setting) for at, chain in zip(place, chains, strict=True)
                )
                if after not in came:
                    came[after] = (place, setting)
                    following.append(after)
        frontier = following
    order: list[Setting] = []
    step = came[end]
    while step is not None:
        order.append(step[1])
        step = came[step[0]]
    return order[::-1]


def _merged(chains: Sequence[tuple[Setting, ...]]) -> list[Setting]:
    """A short list through all chains. Each step prefers a setting that few chains need later, then long chains."""
    places = [0] * len(chains)
    order: list[Setting] = []
    while True:
        weight: dict[Setting, int] = {}
        late: dict[Setting, int] = {}
        for at, chain in zip(places, chains, strict=True):
            if at < len(chain):
                weight[chain[at]] = weight.get(chain[at], 0) + len(chain) - at
            for setting in set(chain[at + 1 :]) - set(chain[at : at + 1]):
                late[setting] = late.get(setting, 0) + 1
        if not weight:
            return order
        setting = min(weight, key=lambda s: (late.get(s, 0), -weight[s], -s[2], s))
        order.append(setting)
        for n, chain in enumerate(chains):
            if places[n] < len(chain) and chain[places[n]] == setting:
                places[n] += 1


def sequence_to_json(sequence: JobSequence) -> dict[str, Any]:
    """The sequence as plain values, in the order of the file; `replay.check_sequence` checks such values.

    `moves` is the number of settings plus fence moves. `least` is the number of distinct settings in each phase plus
    the fence moves; it is easy to count, and `check_sequence` checks it. `planner_least` is the planner's own bound. It
    can be higher, because cuts of one board in a fixed order can need a setting twice.
    """
    return {
        "format": SEQUENCE_FORMAT,
        "thin_rip": sequence.thin_rip,
        "fence_moves": sequence.fence_moves,
        "moves": sequence.moves,
        "least": len({(station.phase, station.setting) for station in sequence.stations}) + sequence.fence_moves,
        "planner_least": sequence.least,
        "stations": [
            {
                "phase": station.phase,
                "along": station.setting[0],
                "set": station.setting[1],
                "distance": station.setting[2],
                "stacked": station.stacked,
                "strokes": [
                    {
                        "layout": stroke.layout,
                        "boards": stroke.boards,
                        "of": stroke.saw_cut.of,
                        "passes": stroke.saw_cut.count,
                        "yields": list(stroke.saw_cut.yields),
                    }
                    for stroke in station.strokes
                ],
            }
            for station in sequence.stations
        ],
        "named": [
            {"phase": each.phase, "layout": each.layout, "of": each.of, "name": each.name} for each in sequence.named
        ],
    }
