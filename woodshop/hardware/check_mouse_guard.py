"""The checks of a mouse guard, measured on the strip as it stands before the entrance."""

from itertools import pairwise

from woodshop.findings import Finding, Severity
from woodshop.hardware.board import Setting
from woodshop.hive.woodenware.bottom import bee_holes, guard_clear
from woodshop.reference.facts import fact
from woodshop.reference.mesh import passages
from woodshop.shape.part import Assembly, Box, Placed
from woodshop.units.lengths import ZERO, Length
from woodshop.units.wording import Wording


def check_mouse_guard(setting: Setting, made: Assembly, address: str) -> list[Finding]:
    """Who passes, what the sources say against each other, and how much of the entrance is left."""
    guard = next(p for p in made.placed if p.part.name in ("guard blank", "guard mesh"))
    entrance = next(space.box for space in made.spaces if space.name == "entrance")
    wording, is_mesh = setting.wording, guard.part.material.mesh is not None
    found = _mesh_passes(guard, wording, address) if is_mesh else _holes(guard, entrance, wording, address)
    return [*found, *_enough(wording, guard, entrance, address), *_covers(guard, entrance, wording, address)]


def _holes(guard: Placed, entrance: Box, wording: Wording, address: str) -> list[Finding]:
    holes = bee_holes(guard)
    bore = holes[0].size(1)
    return [
        *_bore(bore, wording, address),
        *_blocked(holes, entrance, wording, address),
        *_webs(guard, holes, wording, address),
    ]


def _bore(bore: Length, wording: Wording, address: str) -> list[Finding]:
    worker, skull = fact("opening.worker_easy"), fact("opening.mouse_skull")
    usual, sold, slot = fact("opening.mouse_hole"), fact("opening.mouse_hole.sold"), fact("opening.mouse_slot.contrary")
    given = f"bee holes of {bore.number('mm')} mm ({wording.length(bore)})"
    drill, found = wording.quoted(f"Drill {usual.value} or {sold.value}."), []
    if bore < worker.length:
        found.append(
            Finding(
                "guard-stops-bees", Severity.ERROR, address, given,
                f"at least {wording.quoted(worker.value)}, for a worker", worker.cite, drill,
            )
        )  # fmt: skip
    if bore > sold.length:
        found.append(
            Finding(
                "guard-lets-mice-in",
                Severity.ERROR if bore >= skull.length else Severity.WARNING,
                address,
                given,
                wording.quoted(f"{usual.value} to {sold.value}; a mouse's skull is said to be {skull.value} wide"),
                f"{usual.cite}; {skull.cite}",
                drill,
            )
        )
    elif bore >= slot.length:
        found.append(
            Finding(
                "mouse-sources-disagree", Severity.NOTE, address, given,
                f"holes of {wording.quoted(usual.value)} are sold against mice; it is also said that mice pass "
                f"{wording.quoted(slot.value)}",
                f"{usual.cite}; {slot.cite}",
                "Look for droppings at the first warm spell; no source lets them through mesh of "
                f"{wording.quoted('1/4 in')}.",
            )
        )  # fmt: skip
    return found


def _blocked(holes: list[Box], entrance: Box, wording: Wording, address: str) -> list[Finding]:
    """Rows that the wall above or the floor below leaves less open than a worker needs."""
    worker = fact("opening.worker_easy")
    rows = sorted({(hole.low[2], hole.high[2]) for hole in holes})
    least = min(min(high, entrance.high[2]) - max(low, entrance.low[2]) for low, high in rows)
    if least >= min(worker.length, holes[0].size(2)):
        return []
    return [
        Finding(
            "guard-holes-blocked",
            Severity.WARNING,
            address,
            f"a row of holes of which {wording.length(max(least, ZERO))} stands before the entrance",
            f"at least {wording.quoted(worker.value)} of every hole, for a worker",
            worker.cite,
            "Use fewer rows; a guard for an entrance this low is better made of mesh.",
        )
    ]


def _webs(guard: Placed, holes: list[Box], wording: Wording, address: str) -> list[Finding]:
    """Steel between neighbouring holes, and between the lowest row and the fold at z = 0."""
    row = fact("guard.web_least")
    webs = [min(hole.low[2] for hole in holes)]
    for axis in (1, 2):
        edges = sorted({(hole.low[axis], hole.high[axis]) for hole in holes})
        webs += [b[0] - a[1] for a, b in pairwise(edges)]
    if min(webs) >= row.length:
        return []
    return [
        Finding(
            "guard-web-thin",
            Severity.ERROR if min(webs) <= ZERO else Severity.WARNING,
            address,
            f"{wording.length(min(webs))} of steel between two holes, or a hole and the fold",
            f"at least {wording.quoted(row.value)}",
            row.cite,
            "Give a wider pitch or a smaller bore.",
        )
    ]


def _mesh_passes(guard: Placed, wording: Wording, address: str) -> list[Finding]:
    """What each source says of this mesh: bees that are held, mice that pass, and where the sources disagree."""
    name = guard.part.material.size
    said = passages(name)
    found = []
    held = [each.row for each in said if each.who == "worker" and not each.passes]
    if held:
        found.append(
            Finding(
                "guard-stops-bees", Severity.ERROR, address, wording.quoted(f"{name} mesh: {held[0].what}"),
                "a mesh that workers pass", held[0].cite, 'Set guard_mesh to "1/2 in" or "1/4 in".',
            )
        )  # fmt: skip
    mice = {each.passes: each.row for each in said if each.who == "mouse"}
    if True in mice:
        other = mice.get(False)
        found.append(
            Finding(
                "mouse-sources-disagree" if other else "guard-lets-mice-in",
                Severity.NOTE if other else Severity.ERROR,
                address,
                wording.quoted(f"{name} mesh against mice"),
                wording.quoted(
                    (f"{other.what} Against that: " if other else "a mesh that holds mice: ") + mice[True].what
                ),
                "; ".join(row.cite for row in (other, mice[True]) if row),
                wording.quoted("Where mice are small, use 1/4 in mesh, or steel with 9 mm holes."),
            )
        )
    dead = [each.row for each in said if each.who == "dead bee" and not each.passes]
    if dead:
        found.append(
            Finding(
                "guard-holds-dead-bees", Severity.NOTE, address, wording.quoted(f"{name} mesh: {dead[0].what}"),
                "an entrance that is not choked", dead[0].cite, "Rake it out weekly in winter.",
            )
        )  # fmt: skip
    return found


def _enough(wording: Wording, guard: Placed, entrance: Box, address: str) -> list[Finding]:
    """Not less open than an old plan's whole entrance."""
    high, long = fact("opening.entrance_height"), fact("opening.entrance_length")
    wanted = high.length * long.length
    clear = guard_clear(guard, entrance)
    if clear >= wanted:
        return []
    return [
        Finding(
            "guard-chokes-entrance",
            Severity.WARNING,
            address,
            f"{wording.area(clear)} left open",
            f"at least {wording.area(wanted)}, an entrance {wording.quoted(f'{high.value} x {long.value}')}",
            high.cite,
            "More holes, a second row, or a wider entrance.",
        )
    ]


def _covers(guard: Placed, entrance: Box, wording: Wording, address: str) -> list[Finding]:
    """No way round the ends or over the top."""
    past = min(entrance.low[1] - guard.box.low[1], guard.box.high[1] - entrance.high[1])
    over = guard.box.high[2] - entrance.high[2]
    if min(past, over) > ZERO:
        return []
    return [
        Finding(
            "guard-leaves-a-way-round", Severity.ERROR, address,
            f"{wording.length(past)} past the ends and {wording.length(over)} over the entrance",
            "a strip that covers it all round", "geometry",
            "Give more overlap and lap.",
        )
    ]  # fmt: skip
