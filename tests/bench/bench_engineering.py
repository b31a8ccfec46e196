"""How long the estimates take: a million stacks of a hive, a mesh on strips, the strips that a mesh wants.

`python tests/bench/bench_engineering.py [--smoke]`

The tall hive: 12 sizes with mixed distributions, 10 gaps of 3 to 12 sizes. The ten-frame hive: the first group of
designs/hobby-batch.toml, every gap of it of which something is wanted. `--smoke` draws ten thousand stacks.
"""

import sys
import time
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def hive() -> tuple[list, list]:
    """Twelve sizes of a tall hive, and ten gaps that they make."""
    from woodshop.engineering.tolerance import Chain, Size, Spread
    from woodshop.units.lengths import inch

    spreads = (Spread.NORMAL, Spread.NORMAL, Spread.UNIFORM, Spread.TRIANGULAR)
    sizes = [
        Size(f"size {n}", inch(Fraction(77, 8) + n), inch(Fraction(1, 32 + n)), inch(Fraction(1, 40)), spreads[n % 4])
        for n in range(12)
    ]
    chains = []
    for n in range(10):
        picked = sizes[: 3 + n] if n % 2 else sizes[9 - n :]
        terms = tuple((size.name, Fraction((-1) ** at)) for at, size in enumerate(picked))
        middle = sum((size.middle * sign for size, (_, sign) in zip(picked, terms, strict=True)), inch(0))
        chains.append(Chain(f"gap {n}", terms, middle - inch("1/16"), most=middle + inch("1/16")))
    return chains, sizes


def ten_frames() -> tuple[list, list, float]:
    """Chains and sizes of a ten-frame hive as the checks have them, and the seconds that its chains took."""
    from woodshop.checks.variation import chains_for, moves_of, populations
    from woodshop.design.design_file import read_design
    from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
    from woodshop.design.make_units import make_units
    from woodshop.design.settle.settle import settle
    from woodshop.hive.gaps.grading import bee_space

    design = read_design(ROOT / "designs" / "hobby-batch.toml")
    batch = settle(design, read_lumberyards(design.lumberyards))
    units = {unit.line.item.name: unit for unit in make_units(batch) if unit.line.hives.name == "house tens"}
    units = {name: unit for name, unit in units.items() if unit.line.item.per == "hive"}
    ((_, of),) = populations(units)
    seconds = timed(lambda: chains_for(of, batch.conditions.tolerances), 3)
    moves = moves_of(of, batch.conditions.tolerances, bee_space(), count=1000)
    return [gap.by_arithmetic.chain for gap in moves.gaps if gap.by_arithmetic], list(moves.sizes), seconds


def timed(work: Callable[[], object], times: int = 1) -> float:
    """The least seconds that one of so many runs took."""
    taken = []
    for _ in range(times):
        clock = time.perf_counter()
        work()
        taken.append(time.perf_counter() - clock)
    return min(taken)


def run(count: int) -> Iterator[str]:
    """One line for each case."""
    from woodshop.engineering.mesh_beam import fresh_mesh, steel_wire
    from woodshop.engineering.tolerance import draw
    from woodshop.units.lengths import inch

    chains, sizes = hive()
    first = draw(chains, sizes, 1000)
    if first != draw(chains, sizes, 1000):
        raise SystemExit("two runs of one seed differ")
    seconds = timed(lambda: draw(chains, sizes, count), 3)
    terms = sum(len(chain.coefficients) for chain in chains)
    yield f"{count:,} stacks, {len(sizes)} sizes, {len(chains)} gaps of {terms} terms together: {seconds:.2f} s"
    chains, sizes, seconds = ten_frames()
    yield f"chains of a ten-frame hive, {len(sizes)} sizes, from its geometry: {seconds:.2f} s"
    seconds = timed(lambda: draw(chains, sizes, count), 3)
    terms = sum(len(terms) for chain in chains for _, terms in chain.sums)
    yield f"{count:,} ten-frame hives, {len(chains)} gaps of {terms} terms together: {seconds:.2f} s"
    wire = steel_wire(inch("0.041"), inch("1/2"))
    seconds = timed(lambda: fresh_mesh(wire, 0.065, [3.0, 2.0, 4.0, 3.0, 3.0, 3.0]), 20)
    yield f"a mesh on five strips, unequal spans: {seconds * 1000:.2f} ms"


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    for line in run(10_000 if "--smoke" in sys.argv[1:] else 1_000_000):
        print(line, flush=True)
