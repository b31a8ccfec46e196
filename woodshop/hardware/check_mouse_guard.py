"""The checks of a mouse guard, measured on the strip as it stands before the entrance."""

import math
from itertools import pairwise

from woodshop.findings import Finding, Severity
from woodshop.hardware.board import Setting
from woodshop.reference.facts import fact
from woodshop.reference.mesh import mesh, passages
from woodshop.shape.part import Assembly, Box, Circle, Placed
from woodshop.units import ZERO, Length

_MESH = "mesh "


def check_mouse_guard(setting: Setting, made: Assembly, address: str) -> list[Finding]:
    """Who passes, what the sources say against each other, and how much of the entrance is left."""
    guard = next(p for p in made.placed if p.part.name in ("guard blank", "guard mesh"))
    entrance = next(space.box for space in made.spaces if space.name == "entrance")
    found = _mesh_passes(guard, address) if guard.part.material.startswith(_MESH) else _holes(guard, entrance, address)
    return [*found, *_enough(guard, entrance, address), *_covers(guard, entrance, address)]


def clear_area(guard: Placed, entrance: Box) -> float:
    """What is open of the entrance behind the guard, in square inches, about: holes are round, cells square.

    Of a round hole, what stands before the entrance's height counts; holes past its ends do not.
    """
    if guard.part.material.startswith(_MESH):
        kind = mesh(guard.part.material.removeprefix(_MESH))
        wide = sum((high - low).inches for low, high in _openings(guard, 1, entrance, kind.pitch, kind.wire))
        tall = sum((high - low).inches for low, high in _openings(guard, 2, entrance, kind.pitch, kind.wire))
        return float(wide * tall)
    low, high = float(entrance.low[2].inches), float(entrance.high[2].inches)
    total = 0.0
    for hole in bee_holes(guard):
        if entrance.low[1] <= hole.low[1] and hole.high[1] <= entrance.high[1]:
            r = float(hole.size(2).inches) / 2
            middle = float((hole.low[2] + hole.high[2]).inches) / 2
            total += _below(r, high - middle) - _below(r, low - middle)
    return total


def _below(radius: float, height: float) -> float:
    """Area of a circle below a level line at `height` over its middle."""
    h = max(-radius, min(radius, height))
    return radius * radius * (math.pi / 2 + math.asin(h / radius)) + h * math.sqrt(radius * radius - h * h)


def bee_holes(guard: Placed) -> list[Box]:
    """The squares that just hold the bee holes, in the world."""
    pairs = zip(guard.part.cuts, guard.hollows, strict=True)
    return [box for cut, box in pairs if cut.name == "bee hole" and isinstance(cut.outline, Circle)]


def _openings(guard: Placed, axis: int, entrance: Box, pitch: Length, wire: Length) -> list[tuple[Length, Length]]:
    """The openings between wires along an axis, cut off at the entrance's edges."""
    found, start = [], guard.box.low[axis]
    for n in range((guard.box.size(axis) - wire) // pitch):
        low = max(start + pitch * n + wire, entrance.low[axis])
        high = min(start + pitch * (n + 1), entrance.high[axis])
        if low < high:
            found.append((low, high))
    return found


def _holes(guard: Placed, entrance: Box, address: str) -> list[Finding]:
    holes = bee_holes(guard)
    bore = holes[0].size(1)
    return [*_bore(bore, address), *_blocked(holes, entrance, address), *_webs(guard, holes, address)]


def _bore(bore: Length, address: str) -> list[Finding]:
    worker, skull = fact("opening.worker_easy"), fact("opening.mouse_skull")
    usual, sold, slot = fact("opening.mouse_hole"), fact("opening.mouse_hole.sold"), fact("opening.mouse_slot.contrary")
    given = f"bee holes of {bore.number('mm')} mm ({bore})"
    found = []
    if bore < worker.length:
        found.append(
            Finding(
                "guard-stops-bees", Severity.ERROR, address, given, f"at least {worker.value}, for a worker",
                worker.cite, f"Drill {usual.value} or {sold.value}.",
            )
        )  # fmt: skip
    if bore > sold.length:
        found.append(
            Finding(
                "guard-lets-mice-in",
                Severity.ERROR if bore >= skull.length else Severity.WARNING,
                address,
                given,
                f"{usual.value} to {sold.value}; a mouse's skull is said to be {skull.value} wide",
                f"{usual.cite}; {skull.cite}",
                f"Drill {usual.value} or {sold.value}.",
            )
        )
    elif bore >= slot.length:
        found.append(
            Finding(
                "mouse-sources-disagree", Severity.NOTE, address, given,
                f"holes of {usual.value} are sold against mice; it is also said that mice pass {slot.value}",
                f"{usual.cite}; {slot.cite}",
                "Look for droppings at the first warm spell; no source lets them through mesh of 1/4 in.",
            )
        )  # fmt: skip
    return found


def _blocked(holes: list[Box], entrance: Box, address: str) -> list[Finding]:
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
            f"a row of holes of which {max(least, ZERO)} stands before the entrance",
            f"at least {worker.value} of every hole, for a worker",
            worker.cite,
            "Use fewer rows; a guard for an entrance this low is better made of mesh.",
        )
    ]


def _webs(guard: Placed, holes: list[Box], address: str) -> list[Finding]:
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
            f"{min(webs)} of steel between two holes, or a hole and the fold",
            f"at least {row.value}",
            row.cite,
            "Give a wider pitch or a smaller bore.",
        )
    ]


def _mesh_passes(guard: Placed, address: str) -> list[Finding]:
    """What each source says of this mesh: bees that are held, mice that pass, and where the sources disagree."""
    name = guard.part.material.removeprefix(_MESH)
    said = passages(name)
    found = []
    held = [each.row for each in said if each.who == "worker" and not each.passes]
    if held:
        found.append(
            Finding(
                "guard-stops-bees", Severity.ERROR, address, f"{name} mesh: {held[0].what}",
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
                f"{name} mesh against mice",
                (f"{other.what} Against that: " if other else "a mesh that holds mice: ") + mice[True].what,
                "; ".join(row.cite for row in (other, mice[True]) if row),
                "Where mice are small, use 1/4 in mesh, or steel with 9 mm holes.",
            )
        )
    dead = [each.row for each in said if each.who == "dead bee" and not each.passes]
    if dead:
        found.append(
            Finding(
                "guard-holds-dead-bees", Severity.NOTE, address, f"{name} mesh: {dead[0].what}",
                "an entrance that is not choked", dead[0].cite, "Rake it out weekly in winter.",
            )
        )  # fmt: skip
    return found


def _enough(guard: Placed, entrance: Box, address: str) -> list[Finding]:
    """Not less open than an old plan's whole entrance."""
    high, long = fact("opening.entrance_height"), fact("opening.entrance_length")
    wanted = float((high.length * long.length).square_inches)
    clear = clear_area(guard, entrance)
    if clear >= wanted:
        return []
    return [
        Finding(
            "guard-chokes-entrance",
            Severity.WARNING,
            address,
            f"{clear:.2f} sq in left open",
            f"at least {wanted:.2f} sq in, an entrance {high.value} x {long.value}",
            high.cite,
            "More holes, a second row, or a wider entrance.",
        )
    ]


def _covers(guard: Placed, entrance: Box, address: str) -> list[Finding]:
    """No way round the ends or over the top."""
    past = min(entrance.low[1] - guard.box.low[1], guard.box.high[1] - entrance.high[1])
    over = guard.box.high[2] - entrance.high[2]
    if min(past, over) > ZERO:
        return []
    return [
        Finding(
            "guard-leaves-a-way-round", Severity.ERROR, address,
            f"{past} past the ends and {over} over the entrance", "a strip that covers it all round", "geometry",
            "Give more overlap and lap.",
        )
    ]  # fmt: skip
