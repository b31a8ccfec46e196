"""The only door to the outside solver (HiGHS): one thread, fixed seed, node limits and never a time limit."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

SEED = 1


class SolverFailedError(Exception):
    """The solver is missing or gave no usable answer; the caller falls back and says so."""


@dataclass(frozen=True, slots=True)
class Model:
    """Least total cost over non-negative columns; `columns` hold (row, coefficient), `rows` (least, most or None)."""

    costs: tuple[int, ...]
    columns: tuple[tuple[tuple[int, int], ...], ...]
    rows: tuple[tuple[int | None, int | None], ...]


@dataclass(frozen=True, slots=True)
class Relaxed:
    """The linear answer: value, columns, and per row the dual price."""

    value: float
    columns: tuple[float, ...]
    duals: tuple[float, ...]
    reduced: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Whole:
    """The integer answer: `counts` None when none was found; `bound` and `is_closed` are the solver's own."""

    counts: tuple[int, ...] | None
    bound: float
    is_closed: bool
    is_infeasible: bool
    nodes: int


def solve_relaxed(model: Model) -> Relaxed:
    """Solve without integrality. Raises SolverFailedError."""
    highs, status = _load(model, integer=False)
    _must(highs.run(), highs)
    if highs.getModelStatus() != status.kOptimal:
        raise SolverFailedError("no linear answer")
    solution = highs.getSolution()
    return Relaxed(
        float(highs.getInfo().objective_function_value),
        tuple(float(v) for v in solution.col_value),
        tuple(float(v) for v in solution.row_dual),
        tuple(float(v) for v in solution.col_dual),
    )


def solve_whole(
    model: Model,
    *,
    nodes: int,
    absolute_gap: float,
    hint: Sequence[int] | None = None,
    seed: int = SEED,
    presolve: bool = True,
) -> Whole:
    """Solve in whole numbers with at most so many nodes. `absolute_gap`: a difference that no two costs can have.

    Without `presolve` sums of columns that are columns themselves are kept, and can be branched on. Raises
    SolverFailedError.
    """
    import highspy

    highs, status = _load(model, integer=True)
    highs.setOptionValue("random_seed", seed)
    if not presolve:
        highs.setOptionValue("presolve", "off")
    highs.setOptionValue("mip_max_nodes", nodes)
    highs.setOptionValue("mip_rel_gap", 0.0)
    highs.setOptionValue("mip_abs_gap", absolute_gap)
    if hint is not None:
        solution = highspy.HighsSolution()
        solution.col_value = [float(v) for v in hint]
        highs.setSolution(solution)
    _must(highs.run(), highs)
    info, end = highs.getInfo(), highs.getModelStatus()
    infeasible = end in (status.kInfeasible, status.kUnboundedOrInfeasible)
    found = not infeasible and info.primal_solution_status == 2
    counts = tuple(round(v) for v in highs.getSolution().col_value) if found else None
    closed = end == status.kOptimal
    return Whole(counts, float(info.mip_dual_bound), closed, infeasible, int(info.mip_node_count))


def _must(answer: Any, highs: Any) -> None:
    import highspy

    if answer == highspy.HighsStatus.kError:
        raise SolverFailedError(str(highs.getModelStatus()))


def _load(model: Model, *, integer: bool) -> tuple[Any, Any]:
    try:
        import highspy
        import numpy
    except ImportError as error:
        raise SolverFailedError(f"solver not installed: {error.name}") from None
    # The wrapper class prints a banner to standard output when it is made; its base does not.
    highs = highspy.Highs.__mro__[1]()
    highs.setOptionValue("log_to_console", False)
    highs.setOptionValue("output_flag", False)
    highs.setOptionValue("threads", 1)
    highs.setOptionValue("random_seed", SEED)
    infinity = highspy.kHighsInf
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(model.costs), len(model.rows)
    lp.col_cost_ = numpy.array(model.costs, dtype=float)
    lp.col_lower_ = numpy.zeros(len(model.costs))
    lp.col_upper_ = numpy.full(len(model.costs), infinity)
    lp.row_lower_ = numpy.array([-infinity if least is None else least for least, _ in model.rows], dtype=float)
    lp.row_upper_ = numpy.array([infinity if most is None else most for _, most in model.rows], dtype=float)
    starts = [0]
    for column in model.columns:
        starts.append(starts[-1] + len(column))
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = numpy.array(starts, dtype=numpy.int32)
    lp.a_matrix_.index_ = numpy.array([row for column in model.columns for row, _ in column], dtype=numpy.int32)
    lp.a_matrix_.value_ = numpy.array([float(value) for column in model.columns for _, value in column])
    if integer:
        lp.integrality_ = [highspy.HighsVarType.kInteger] * len(model.costs)
    _must(highs.passModel(lp), highs)
    return highs, highspy.HighsModelStatus
