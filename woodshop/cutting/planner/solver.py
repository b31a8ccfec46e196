"""The only interface to outside solvers: one thread, fixed seeds, node limits and never a time limit.

HiGHS solves the linear programs (its duals become bounds). SCIP solves the integer programs, because the columns to
branch on first can be chosen. If SCIP is missing, HiGHS solves the integer programs too, but solves fewer jobs.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

SEED = 1
_FEW = 250  # columns


class SolverFailedError(Exception):
    """The solver is missing or gave no usable result; the caller uses another method and reports it."""


class NoSolutionError(SolverFailedError):
    """The rows and columns of a program have no solution."""


@dataclass(frozen=True, slots=True)
class Model:
    """A program: minimum total cost over non-negative columns.

    Each of `columns` lists (row, coefficient) pairs. Each of `rows` is (minimum, maximum), where None means no limit.
    `priorities` are for branching, highest first; if omitted, all columns have the same priority.
    """

    costs: tuple[int, ...]
    columns: tuple[tuple[tuple[int, int], ...], ...]
    rows: tuple[tuple[int | None, int | None], ...]
    priorities: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Relaxed:
    """The linear solution: value, columns, and the dual price of each row."""

    value: float
    columns: tuple[float, ...]
    duals: tuple[float, ...]
    reduced: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class IntegerAnswer:
    """The integer solution (if none, `counts` is None), and the `bound` and `is_solved` that the solver reports."""

    counts: tuple[int, ...] | None
    bound: float
    is_solved: bool
    is_infeasible: bool
    nodes: int


def solve_relaxed(model: Model) -> Relaxed:
    """Solves without requiring whole numbers. Raises NoSolutionError, or SolverFailedError for another reason.

    Some row must need a column.
    """
    highs, status = _load(model, integer=False)
    _must(highs.run(), highs)
    found = highs.getModelStatus()
    # A program without columns is called empty. Costs below 0 are not used, so none is unbounded.
    if found in (status.kInfeasible, status.kUnboundedOrInfeasible, status.kModelEmpty):
        raise NoSolutionError("the program has no solution")
    if found != status.kOptimal:
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
    by_branching: bool = False,
) -> IntegerAnswer:
    """Solves in whole numbers with a limit of `nodes`. A gap up to `absolute_gap` counts as solved.

    With `by_branching`, the solver adds no cutting planes to a model of many columns, because they gain little if
    counts are in thousands.

    Returns counts only if they satisfy every row exactly, because the solver checks in floating point. Raises
    SolverFailedError.
    """
    try:
        found = _by_scip(model, nodes, absolute_gap, hint, seed, by_branching=by_branching)
    except ImportError:
        found = _by_highs(model, nodes, absolute_gap, hint, seed)
    if found.counts is not None and not keeps_rows(model, found.counts):
        return IntegerAnswer(None, found.bound, False, False, found.nodes)
    return found


def keeps_rows(model: Model, counts: Sequence[int]) -> bool:
    """Whether integer counts of the columns are within every row's limits, exactly."""
    totals = [0] * len(model.rows)
    for column, count in zip(model.columns, counts, strict=True):
        for row, coefficient in column if count else ():
            totals[row] += coefficient * count
    return min(counts, default=0) >= 0 and all(
        (least is None or total >= least) and (most is None or total <= most)
        for total, (least, most) in zip(totals, model.rows, strict=True)
    )


def _by_scip(
    model: Model, nodes: int, absolute_gap: float, hint: Sequence[int] | None, seed: int, *, by_branching: bool
) -> IntegerAnswer:
    import pyscipopt
    from pyscipopt.scip import PY_SCIP_PARAMSETTING

    scip = pyscipopt.Model()
    scip.hideOutput()
    settings = {
        "limits/totalnodes": nodes,
        "limits/absgap": absolute_gap,
        "randomization/randomseedshift": seed,
        "randomization/permutationseed": 0,
        "timing/clocktype": 1,
        "misc/catchctrlc": False,
        # Restarts discard the search tree; measured on the hobby jobs, they cost half of the time.
        "presolving/maxrestarts": 0,
    }
    for name, value in settings.items():
        scip.setParam(name, value)
    if len(model.costs) < _FEW:
        # In a small job, cutting planes close the gap fastest, and a plan is found at once. In a larger job they cost
        # more time than they save.
        scip.setHeuristics(PY_SCIP_PARAMSETTING.FAST)
        scip.setSeparating(PY_SCIP_PARAMSETTING.AGGRESSIVE)
    elif by_branching:
        scip.setSeparating(PY_SCIP_PARAMSETTING.OFF)
        scip.setPresolve(PY_SCIP_PARAMSETTING.FAST)
    variables = [scip.addVar(vtype="I", obj=float(cost)) for cost in model.costs]
    rows: list[dict[int, int]] = [{} for _ in model.rows]
    for number, column in enumerate(model.columns):
        for row, coefficient in column:
            rows[row][number] = rows[row].get(number, 0) + coefficient
    for (least, most), entries in zip(model.rows, rows, strict=True):
        if not entries:
            if (least or 0) > 0 or (most is not None and most < 0):
                return IntegerAnswer(None, float("inf"), False, True, 0)
            continue
        total = pyscipopt.quicksum(coefficient * variables[number] for number, coefficient in entries.items())
        if least is not None and least == most:
            scip.addCons(total == least)
            continue
        if least is not None:
            scip.addCons(total >= least)
        if most is not None:
            scip.addCons(total <= most)
    for variable, priority in zip(variables, model.priorities, strict=False):
        if priority:
            scip.chgVarBranchPriority(variable, priority)
    if hint is not None:
        start = scip.createSol()
        for variable, value in zip(variables, hint, strict=True):
            scip.setSolVal(start, variable, value)
        scip.addSol(start)
    try:
        scip.optimize()
    except Exception as error:
        raise SolverFailedError(f"no whole answer: {error}") from None
    status = scip.getStatus()
    counts = None
    if scip.getNSols():
        best = scip.getBestSol()
        counts = tuple(round(scip.getSolVal(best, variable)) for variable in variables)
    infeasible = status in ("infeasible", "inforunbd")
    solved = status in ("optimal", "gaplimit") and counts is not None
    bound = float("inf") if infeasible else float(scip.getDualbound())
    return IntegerAnswer(counts, bound, solved, infeasible, int(scip.getNTotalNodes()))


def _by_highs(model: Model, nodes: int, absolute_gap: float, hint: Sequence[int] | None, seed: int) -> IntegerAnswer:
    highs, status = _load(model, integer=True)
    import highspy

    highs.setOptionValue("random_seed", seed)
    if model.priorities:
        # Presolve would replace the totals by the sums they stand for, so that branching on them would be impossible.
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
    solved = end == status.kOptimal
    return IntegerAnswer(counts, float(info.mip_dual_bound), solved, infeasible, int(info.mip_node_count))


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
    # The wrapper class prints a banner to standard output when it is created; its base class does not.
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


class Resident:
    """A linear program kept between solves, each of which starts from the last solution.

    Columns can be added, and costs and row sums can change. It finds the minimum cost with every row equal to its right
    side or, if `at_least` is true, not below it. Each row has its own filler (one unit costs `dear`), so that there is
    always a solution for pricing. A solution with fillers is not valid.
    """

    def __init__(self, rows: int, dear: float, *, at_least: bool = False) -> None:
        """Raises SolverFailedError if there is no solver."""
        import numpy

        fillers = tuple(((row, 1),) for row in range(rows))
        self._highs, self._status = _load(Model((0,) * rows, fillers, ((0, 0),) * rows), integer=False)
        self._highs.setOptionValue("presolve", "off")
        self._highs.changeColsCost(rows, numpy.arange(rows, dtype=numpy.int32), numpy.full(rows, dear))
        self.rows, self.columns, self.at_least = rows, 0, at_least

    def add(self, table: Any) -> None:
        """Adds columns: an integer array with one row per column and one entry per row of the program."""
        import highspy
        import numpy

        count = len(table)
        line, row = numpy.nonzero(table)
        starts = numpy.searchsorted(line, numpy.arange(count)).astype(numpy.int32)
        values = table[line, row].astype(float)
        zeros, most = numpy.zeros(count), numpy.full(count, highspy.kHighsInf)
        self._highs.addCols(count, zeros, zeros, most, len(line), starts, row.astype(numpy.int32), values)
        self.columns += count

    def solve(self, sums: Any, costs: Any, is_open: Any) -> tuple[float, float, Any, Any]:
        """Solves for these row sums, costs per column and usable columns; returns (cost, fillers used, columns, duals).

        Raises SolverFailedError.
        """
        import highspy
        import numpy

        for row, total in enumerate(sums):
            self._highs.changeRowBounds(row, float(total), highspy.kHighsInf if self.at_least else float(total))
        if self.columns:
            places = numpy.arange(self.rows, self.rows + self.columns, dtype=numpy.int32)
            most = numpy.where(is_open, highspy.kHighsInf, 0.0)
            self._highs.changeColsCost(self.columns, places, costs)
            self._highs.changeColsBounds(self.columns, places, numpy.zeros(self.columns), most)
        _must(self._highs.run(), self._highs)
        if self._highs.getModelStatus() != self._status.kOptimal:
            raise SolverFailedError("no linear answer")
        solution = self._highs.getSolution()
        values = numpy.array(solution.col_value)
        value = float(self._highs.getInfo().objective_function_value)
        return value, float(values[: self.rows].sum()), values[self.rows :], numpy.array(solution.row_dual)

    def central_duals(self) -> Any:
        """The duals of the last program from an interior-point solution, in the middle of all best ones.

        Raises SolverFailedError.
        """
        import highspy
        import numpy

        inner = highspy.Highs.__mro__[1]()
        for name, value in (("output_flag", False), ("threads", 1), ("solver", "ipm"), ("run_crossover", "off")):
            inner.setOptionValue(name, value)
        _must(inner.passModel(self._highs.getLp()), inner)
        _must(inner.run(), inner)
        return numpy.array(inner.getSolution().row_dual)


class BranchingProgram:
    """A linear program whose columns get new limits between solves, each of which starts from the last solution.

    Rows may be added, and taken out again. It must have a solution whatever the limits are; the last column makes up
    for what an added row lacks.
    """

    def __init__(self, model: Model) -> None:
        """Raises SolverFailedError if there is no solver."""
        import numpy

        self._model = model
        self.lows = numpy.zeros(len(model.costs))
        self.highs = numpy.full(len(model.costs), numpy.inf)
        self._added: dict[int, tuple[Any, int]] = {}
        self._start()

    def _start(self) -> None:
        self._highs, self._status = _load(self._model, integer=False)
        self._highs.setOptionValue("presolve", "off")
        self._limit(range(len(self.lows)))
        for values, right in self._added.values():
            self._add(values, right)

    def _add(self, values: Any, right: int) -> None:
        import highspy
        import numpy

        places = numpy.flatnonzero(values)
        numbers = numpy.append(values[places].astype(float), 1.0)
        places = numpy.append(places, len(self.lows) - 1).astype(numpy.int32)
        self._highs.addRow(float(right), highspy.kHighsInf, len(places), places, numbers)

    def set_rows(self, rows: Mapping[int, tuple[Any, int]]) -> None:
        """Keeps just these added rows: under any number, the values of the first columns and their least sum.

        They follow the rows of the model, the ones that were there before first.
        """
        import numpy

        first = len(self._model.rows)
        gone = [first + place for place, number in enumerate(self._added) if number not in rows]
        if gone:
            self._highs.deleteRows(len(gone), numpy.array(gone, dtype=numpy.int32))
        self._added = {number: row for number, row in self._added.items() if number in rows}
        for number, (values, right) in rows.items():
            if number not in self._added:
                self._added[number] = values, right
                self._add(values, right)

    @property
    def added(self) -> tuple[int, ...]:
        """The numbers of the added rows, in their order."""
        return tuple(self._added)

    def basic(self) -> Any:
        """The basic columns of the last solution; -1 less the number of a row whose sum is basic instead."""
        return self._highs.getBasicVariables()[1]

    def inverse_row(self, place: int) -> Any:
        """The multipliers of the rows whose sum leaves no basic column but the one at this place of `basic`."""
        import numpy

        return numpy.array(self._highs.getBasisInverseRow(place)[1])

    def _limit(self, columns: Any) -> None:
        import numpy

        places = numpy.array(columns, dtype=numpy.int32)
        self._highs.changeColsBounds(len(places), places, self.lows[places], self.highs[places])

    def solve(self, lows: Any, highs: Any) -> tuple[float, Any, Any, Any]:
        """Solves within these limits; returns (cost, columns, duals of the rows, reduced costs of the columns).

        Raises SolverFailedError.
        """
        import numpy

        changed = numpy.flatnonzero((lows != self.lows) | (highs != self.highs))
        self.lows, self.highs = lows, highs
        if len(changed):
            self._limit(changed)
        _must(self._highs.run(), self._highs)
        if self._highs.getModelStatus() != self._status.kOptimal:
            self._start()
            _must(self._highs.run(), self._highs)
        if self._highs.getModelStatus() != self._status.kOptimal:
            raise SolverFailedError("no linear answer")
        found = self._highs.getSolution()
        value = float(self._highs.getInfo().objective_function_value)
        return value, numpy.array(found.col_value), numpy.array(found.row_dual), numpy.array(found.col_dual)
