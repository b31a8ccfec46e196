"""What the planner is measured against: hand rules written down, and textbook models in general solvers.

Hand rules (two stages, rip first; what a careful person does with a pencil), all first-fit-decreasing, widest and
longest blank first:

* per width: a board is ripped to strips of one width only; boards cheapest per foot of such strips first;
* by area: any strip that has room, else a new board, the cheapest per square first;
* by price: the same, the cheapest board that holds the piece first;
* by length: the same, the longest board first, of these the cheapest per square.

Textbook models: arc-flow on the sums of lengths and of widths, and the plain two-level model over all maximal
patterns, without anything to branch on. Both as they stand in HiGHS, CP-SAT and SCIP, one thread.
"""

import time
from collections.abc import Callable
from typing import Any

Columns = list[tuple[int, dict[int, int]]]
Rows = list[tuple[int | None, int | None]]


# -- pencils --------------------------------------------------------------------------------------------------


def hand_costs(job: dict[str, Any]) -> dict[str, int | None]:
    """What each hand rule's plan costs; None where it runs out of stock."""

    def area(row: dict[str, Any]) -> float:
        return row["cost"] / (row["width"] * row["length"])

    rows = job["stock"]
    return {
        "by area": _fill(job, sorted(rows, key=area), alone=False),
        "by price": _fill(job, sorted(rows, key=lambda row: (row["cost"], area(row))), alone=False),
        "by length": _fill(job, sorted(rows, key=lambda row: (-row["length"], area(row))), alone=False),
        "per width": _fill(job, sorted(rows, key=area), alone=True),
    }


def _fill(job: dict[str, Any], order: list[dict[str, Any]], *, alone: bool) -> int | None:
    kx, ky = job["kerf"]["crosscut"], job["kerf"]["rip"]
    boards: list[dict[str, Any]] = []
    left = {row["id"]: row.get("count", 10**9) for row in order}
    total = 0
    for blank in sorted(job["blanks"], key=lambda row: (-row["width"], -row["length"])):
        width, length = blank["width"], blank["length"]

        def lay(board: dict[str, Any], width: int = width, length: int = length) -> bool:
            for strip in board["strips"]:
                for n, room in enumerate(strip[1]):
                    if strip[0] == width and room >= length + kx:
                        strip[1][n] -= length + kx
                        return True
            parts = board["parts"]
            if (
                board["room"] < width + ky
                or max(parts) < length
                or (alone and board["strips"] and board["of"] != width)
            ):
                return False
            board["room"] -= width + ky
            board["of"] = width
            board["strips"].append((width, [part + kx for part in parts]))
            return lay(board)

        def value(row: dict[str, Any], width: int = width, length: int = length) -> float:
            strips = (row["width"] + ky) // (width + ky)
            return row["cost"] / (strips * row["length"]) if strips and row["length"] >= length else float("inf")

        mine = sorted(order, key=value) if alone else order
        for _ in range(blank["count"]):
            if any(lay(board) for board in boards):
                continue
            for row in mine:
                board = {"room": row["width"] + ky, "parts": _parts(row), "strips": [], "of": None}
                if left[row["id"]] > 0 and lay(board):
                    left[row["id"]] -= 1
                    total += row["cost"]
                    boards.append(board)
                    break
            else:
                return None
    return total


def _parts(row: dict[str, Any]) -> list[int]:
    x, out = 0, []
    for x0, x1 in row.get("unusable", []):
        out.append(x0 - x)
        x = x1
    return [part for part in [*out, row["length"] - x] if part > 0]


# -- textbook models ------------------------------------------------------------------------------------------


def arc_flow(job: dict[str, Any]) -> tuple[Columns, Rows]:
    """Flow along the sums of lengths in every strip, and of widths in every board."""
    kx, ky = job["kerf"]["crosscut"], job["kerf"]["rip"]
    columns: Columns = []
    rows: Rows = [(blank["count"], None) for blank in job["blanks"]]
    made: dict[tuple[int, int], int] = {}
    blanks = job["blanks"]

    def row(least: int | None, most: int | None) -> int:
        rows.append((least, most))
        return len(rows) - 1

    def flow(source: int, room: int, items: list[tuple[int, list[int]]]) -> None:
        """Arcs for items (size, rows they feed) from what `source` gives; a node may not pass on more than it gets."""
        nodes = {0}
        for size, _ in sorted(items, key=lambda item: -item[0]):
            new = set(nodes)
            while new:
                new = {n + size for n in new if n + size <= room} - nodes
                nodes |= new
        at = {node: row(0, None) for node in sorted(nodes) if node}
        at[0] = source
        for node in sorted(nodes):
            for size, feeds in items:
                if node + size <= room:
                    entry = {at[node]: -1}
                    if node + size in at:
                        entry[at[node + size]] = entry.get(at[node + size], 0) + 1
                    for feed in feeds:
                        entry[feed] = entry.get(feed, 0) + 1
                    columns.append((0, entry))

    widths = sorted({blank["width"] for blank in blanks}, reverse=True)
    for stock in job["stock"]:
        parts = _parts(stock)
        for part in parts:
            for width in widths:
                fitting = [n for n, b in enumerate(blanks) if b["width"] == width and b["length"] <= part]
                if fitting and (part, width) not in made:
                    made[part, width] = row(0, None)
                    items = [(blanks[n]["length"] + kx, [n]) for n in fitting]
                    flow(made[part, width], part + kx, items)
        source = row(0, None)
        entry = {source: 1}
        if "count" in stock:
            entry[row(None, stock["count"])] = 1
        columns.append((stock["cost"], entry))
        items = []
        for width in widths:
            feeds = [made[part, width] for part in parts if (part, width) in made]
            if feeds and width <= stock["width"]:
                items.append((width + ky, feeds))
        flow(source, stock["width"] + ky, items)
    return columns, rows


def two_level(job: dict[str, Any]) -> tuple[Columns, Rows] | None:
    """All maximal patterns, as the planner lists them, and nothing else."""
    from woodshop.cutting.model.job import read_job
    from woodshop.cutting.planner.network import build_network
    from woodshop.cutting.planner.pricing import enumerate_columns, programme_of

    read = read_job(job)
    network = build_network(read)
    listed = enumerate_columns(network)
    if listed is None:
        return None
    model = programme_of(read, network, listed, is_whole=True).model
    return [(c, dict(e)) for c, e in zip(model.costs, model.columns, strict=True)], list(model.rows)


def by_highs(columns: Columns, rows: Rows, seconds: float) -> tuple[int | None, float]:
    """(cost, bound) after so many seconds of processor."""
    import highspy
    import numpy

    highs = highspy.Highs.__mro__[1]()
    for name, value in (("output_flag", False), ("threads", 1), ("mip_rel_gap", 0.0)):
        highs.setOptionValue(name, value)
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(columns), len(rows)
    lp.col_cost_ = numpy.array([cost for cost, _ in columns], dtype=float)
    lp.col_lower_, lp.col_upper_ = numpy.zeros(len(columns)), numpy.full(len(columns), highspy.kHighsInf)
    lp.row_lower_ = numpy.array([-highspy.kHighsInf if a is None else a for a, _ in rows], dtype=float)
    lp.row_upper_ = numpy.array([highspy.kHighsInf if b is None else b for _, b in rows], dtype=float)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    lp.a_matrix_.start_ = numpy.cumsum([0] + [len(entry) for _, entry in columns], dtype=numpy.int32)
    lp.a_matrix_.index_ = numpy.array([r for _, entry in columns for r in entry], dtype=numpy.int32)
    lp.a_matrix_.value_ = numpy.array([float(v) for _, entry in columns for v in entry.values()])
    lp.integrality_ = [highspy.HighsVarType.kInteger] * len(columns)
    highs.passModel(lp)
    end = time.process_time() + seconds

    def asked(kind: object, message: str, out: object, into: Any, data: object) -> None:
        if into is not None:
            into.user_interrupt = time.process_time() > end

    highs.setCallback(asked, None)
    for kind in (
        highspy.cb.HighsCallbackType.kCallbackSimplexInterrupt,
        highspy.cb.HighsCallbackType.kCallbackMipInterrupt,
    ):
        highs.startCallback(kind)
    highs.run()
    info = highs.getInfo()
    found = info.primal_solution_status == 2
    return round(info.objective_function_value) if found else None, info.mip_dual_bound


def by_scip(columns: Columns, rows: Rows, seconds: float) -> tuple[int | None, float]:
    """(cost, bound) after so many seconds."""
    import pyscipopt

    scip = pyscipopt.Model()
    scip.hideOutput()
    scip.setParam("limits/time", seconds)
    variables = [scip.addVar(vtype="I", obj=cost) for cost, _ in columns]
    terms: list[list[Any]] = [[] for _ in rows]
    for variable, (_, entry) in zip(variables, columns, strict=True):
        for r, v in entry.items():
            terms[r].append(v * variable)
    for (least, most), own in zip(rows, terms, strict=True):
        if own and least is not None:
            scip.addCons(pyscipopt.quicksum(own) >= least)
        if own and most is not None:
            scip.addCons(pyscipopt.quicksum(own) <= most)
    scip.optimize()
    return round(scip.getObjVal()) if scip.getNSols() else None, scip.getDualbound()


def by_cp_sat(columns: Columns, rows: Rows, seconds: float) -> tuple[int | None, float]:
    """(cost, bound) after so many seconds."""
    from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    most_of = 2 * sum(least or 0 for least, _ in rows)
    variables = [model.new_int_var(0, most_of, "") for _ in columns]
    terms: list[list[Any]] = [[] for _ in rows]
    for variable, (_, entry) in zip(variables, columns, strict=True):
        for r, v in entry.items():
            terms[r].append(v * variable)
    for (least, most), own in zip(rows, terms, strict=True):
        if own and least is not None:
            model.add(sum(own) >= least)
        if own and most is not None:
            model.add(sum(own) <= most)
    model.minimize(sum(cost * v for (cost, _), v in zip(columns, variables, strict=True)))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = seconds
    status = solver.solve(model)
    found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
    return round(solver.objective_value) if found else None, solver.best_objective_bound


MODELS: dict[str, Callable[[dict[str, Any]], tuple[Columns, Rows] | None]] = {
    "arc-flow": arc_flow,
    "two-level": two_level,
}
SOLVERS: dict[str, Callable[[Columns, Rows, float], tuple[int | None, float]]] = {
    "HiGHS": by_highs,
    "CP-SAT": by_cp_sat,
    "SCIP": by_scip,
}
