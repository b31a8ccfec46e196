"""Finds rounded rows for a proof tree: conditions that the linear solution breaks, and that every plan keeps.

Each fractional column of a basic solution is a sum of rows of the program. That sum, and small multiples of it, are
rounded as in `checkers/prove_rows`. Numbers here only choose rows; the check's own values of a row are what counts.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from woodshop.cutting.checkers.prove_rows import ProofRow
from woodshop.cutting.model.proof import RoundedRow
from woodshop.cutting.planner.solver import BranchingProgram

_MULTIPLES = (1, -1, 2, -2, 3, -3)
_MOST_SUMS = 60  # fractional columns
_NEAR = 1e-6
_FRACTION = 0.005  # of a column, from which a row is looked for
_LEAST_BREACH = 1e-3  # by distance
_PARALLEL = 0.9  # cosine of the angle of two rows, above which only one is taken


@dataclass(frozen=True, slots=True)
class RowProgram:
    """The program as rows over patterns.

    `table`: its rows, without those added later, one column for each pattern. Parts come first, with their `counts`,
    then strips; totals begin at `first_total`, and their columns follow those of the patterns.
    """

    program: BranchingProgram
    table: Any
    counts: Any
    strips: int
    first_total: int
    columns: int


def find_rows(
    own: RowProgram,
    held: Sequence[tuple[int, ProofRow]],
    solution: Any,
    limits: tuple[int, int],
    total: Callable[[int], int],
) -> list[RoundedRow]:
    """Rows that the solution breaks, those farthest from it first. `limits`: how many at most, and the largest divisor.

    `held`: the rounded rows in the program, with their numbers. `total` gives the number of a column's total.
    """
    import numpy

    most, most_divisor = limits
    sums = _sums(own, held, solution, most_divisor)
    if not sums:
        return []
    sizes, patterns = len(own.counts), own.table.shape[1]
    lows, highs = own.program.lows, own.program.highs
    limit_of = _limits(own, lows, highs, solution)
    divisors = numpy.array([[divisor] for divisor, _ in sums], dtype=numpy.int64)
    weights = numpy.array([numbers for _, numbers in sums], dtype=numpy.int64)
    first = own.first_total
    totals = limit_of[patterns:]  # (sign, limit) by column of a total
    signs = numpy.ones(weights.shape[1], dtype=numpy.int64)
    signs[first : len(own.table)] = totals[:, 0]
    rights = numpy.zeros(weights.shape[1], dtype=numpy.int64)
    rights[:sizes] = own.counts
    rights[first : len(own.table)] = totals[:, 0] * totals[:, 1]
    rights[len(own.table) :] = [row.right for _, row in held]
    weights = weights * signs % divisors
    middle = weights[:, sizes:first]
    weights[:, sizes:first] = numpy.where(2 * middle > divisors, middle - divisors, middle)
    used = numpy.flatnonzero(weights.any(axis=0))
    added = [held[n - len(own.table)][1].values for n in used[used >= len(own.table)].tolist()]
    rows = numpy.concatenate([own.table[used[used < len(own.table)]], *(row[None, :] for row in added)])
    rows = (rows * signs[used][:, None]).astype(float)
    values = numpy.rint(weights[:, used].astype(float) @ rows).astype(numpy.int64)
    right = weights @ rights
    single = _limited(own, lows, highs)
    own_signs, own_limits = limit_of[single, 0], limit_of[single, 1]
    singles = -values[:, single] * own_signs % divisors
    values[:, single] += singles * own_signs
    right += singles @ (own_signs * own_limits)
    rest = right[:, None] % divisors
    steps = -(-rest // numpy.maximum(1, divisors - rest))

    def kept(chosen: Any) -> None:
        nonlocal divisors, weights, values, right, singles, rest, steps
        divisors, weights, values, right, singles, rest, steps = (
            table[chosen] for table in (divisors, weights, values, right, singles, rest, steps)
        )

    def rounded(table: Any) -> Any:
        part = table % divisors
        more = numpy.where(part > 0, numpy.minimum(steps + 1, 1 + steps * part // rest), 0)
        return (steps + 1) * (table // divisors) + more

    def slacks() -> tuple[Any, Any]:
        of_rows = rounded(-weights)
        of_rows[:, sizes:first] = 0
        return of_rows, rounded(-singles)

    kept((rest > 0)[:, 0])
    if not len(right):
        return []
    # First only where the solution is not 0: that says which rows it breaks.
    some = numpy.union1d(numpy.flatnonzero(solution[:patterns]), single).astype(numpy.int64)
    of_rows, of_singles = slacks()
    least = rounded(right[:, None])[:, 0] + of_rows @ rights + of_singles @ (own_signs * own_limits)
    made = (rounded(values[:, some]) + of_rows[:, used].astype(float) @ rows[:, some]) @ solution[some]
    breaks = least - made - (of_singles * own_signs) @ solution[single] > _LEAST_BREACH
    kept(breaks)
    least, of_rows, of_singles = least[breaks], of_rows[breaks], of_singles[breaks]
    values = rounded(values) + of_rows[:, used].astype(float) @ rows
    values[:, single] += of_singles * own_signs
    lengths = numpy.sqrt((values**2).sum(axis=1))
    breaches = (least - values @ solution[:patterns]) / numpy.maximum(lengths, 1)
    found: list[RoundedRow] = []
    chosen = numpy.zeros((most, patterns))
    for n in numpy.argsort(-breaches, kind="stable").tolist():
        if breaches[n] < _LEAST_BREACH or len(found) == most:
            break
        unit = values[n] / lengths[n]
        if (chosen[: len(found)] @ unit).max(initial=0) > _PARALLEL:
            continue
        chosen[len(found)] = unit
        columns = [(patterns + k, int(weights[n, first + k])) for k in range(len(totals))]
        columns += [(column, int(number)) for column, number in zip(single, singles[n].tolist(), strict=True)]
        found.append(
            RoundedRow(
                int(divisors[n, 0]),
                tuple(weights[n, :sizes].tolist()),
                tuple((k, int(weights[n, sizes + k])) for k in range(own.strips) if weights[n, sizes + k]),
                tuple(sorted((total(c), number * int(limit_of[c, 0])) for c, number in columns if number)),
                tuple(
                    sorted(
                        (number, int(weight))
                        for (number, _), weight in zip(held, weights[n, len(own.table) :].tolist(), strict=True)
                        if weight
                    )
                ),
            )
        )
    return found


def _limits(own: RowProgram, lows: Any, highs: Any, solution: Any) -> Any:
    """For each column, 1 and its least value, or -1 and its greatest if it is there."""
    import numpy

    count = own.columns
    is_high = (highs[:count] < numpy.inf) & (solution[:count] > highs[:count] - _NEAR)
    is_high &= solution[:count] > lows[:count] + _NEAR
    limits = numpy.where(is_high, numpy.where(is_high, highs[:count], 0), lows[:count])
    return numpy.stack([numpy.where(is_high, -1, 1), numpy.rint(limits).astype(numpy.int64)], axis=1)


def _limited(own: RowProgram, lows: Any, highs: Any) -> list[int]:
    """The patterns with limits that are not basic."""
    import numpy

    patterns = own.table.shape[1]
    basic = set(own.program.basic().tolist())
    some = numpy.flatnonzero((lows[:patterns] > 0) | (highs[:patterns] < numpy.inf))
    return [column for column in some.tolist() if column not in basic]


def _sums(
    own: RowProgram, held: Sequence[tuple[int, ProofRow]], solution: Any, most_divisor: int
) -> list[tuple[int, Any]]:
    """Sums of rows that should be whole and are not: a divisor, and a whole multiplier for each row."""
    import numpy

    sizes, patterns = len(own.counts), own.table.shape[1]
    made = own.table[:sizes] @ solution[:patterns]
    places = []
    for place, column in enumerate(own.program.basic().tolist()):
        if column >= own.columns or column < -sizes:
            continue
        value = float(solution[column] if column >= 0 else made[-1 - column])
        part = abs(value - round(value))
        if part > _FRACTION:
            places.append((-part, place))
    found = []
    for _, place in sorted(places)[:_MOST_SUMS]:
        weights = own.program.inverse_row(place)
        if abs(weights[sizes + own.strips : own.first_total]).max(initial=0) > _NEAR:
            continue  # limited stock, for which rounded rows have no multipliers
        divisor = _divisor(weights, most_divisor)
        if divisor:
            whole = numpy.rint(weights * divisor).astype(numpy.int64)
            found += [(divisor, whole * multiple) for multiple in _MULTIPLES]
    return found


def _divisor(weights: Any, largest: int) -> int | None:
    """The divisor with which all weights are whole multiples of its reciprocal, if it is small."""
    import numpy

    divisor = 1
    while divisor <= largest:
        parts = abs(weights * divisor - numpy.rint(weights * divisor))
        worst = int(parts.argmax())
        if parts[worst] < _NEAR * max(1, divisor / 1_000):
            return divisor if divisor > 1 else None
        most = max(2, largest // divisor)
        more = _denominator(float(weights[worst] * divisor % 1), most)
        if more == 1:
            return None
        divisor *= more
    return None


def _denominator(part: float, most: int) -> int:
    """The denominator of a fraction close to a number between 0 and 1, at most `most`, by its continued fraction."""
    before, last, left = 0, 1, part
    while left * last > _NEAR / 10:
        whole, left = divmod(1 / left, 1)
        if whole * last + before > most:
            break
        before, last = last, int(whole) * last + before
    return last
