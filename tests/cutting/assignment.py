"""The least cost of a small job by a model of its own, in another solver: pieces go to parts of parts of boards.

A first part is a strip or panel where the saw rips first, a section where it crosscuts first; a second part is a
block of a panel or a strip of a section. A part is named by the least of its pieces, a board by the least of its
first parts. Sizes are variables; lengths along the board are packed by position, past what is unusable.
"""

from collections.abc import Iterator, Mapping
from typing import Any

GREAT = 10**6


def least_cost_by_assignment(job: Mapping[str, Any]) -> int | None:
    """The optimum; None when the job cannot be done."""
    from ortools.sat.python import cp_model

    model = _Model(job)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model.model)
    assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
    return round(solver.objective_value) if status == cp_model.OPTIMAL else None


def orders_of_cuts(job: Mapping[str, Any], length: int) -> Iterator[str]:
    """The orders of cuts open to a board so long: y for rips, x for crosscuts."""
    if "cutting" not in job:
        yield "yx"
        return
    stages, first = job["cutting"]["stages"], job["cutting"]["first"]
    too_long = length > job.get("rules", {}).get("longest_rip", GREAT)
    if first in ("along", "either"):
        yield "yx"
        if stages == 3:
            yield "yxy"
    if first in ("across", "either"):
        yield "xy"
    if (first in ("across", "either") and stages == 3) or (first in ("along", "either") and too_long):
        yield "xyx"


def clear_stretches(stock: Mapping[str, Any]) -> list[tuple[int, int]]:
    """From where to where a board can be used, along its raw length."""
    x, end, found = stock.get("end_trim", 0), stock["length"] - stock.get("end_trim", 0), []
    for x0, x1 in sorted(stock.get("unusable", [])):
        found.append((x, min(x0, end)))
        x = max(x, x1)
    return [(a, b) for a, b in [*found, (x, end)] if a < b]


class _Model:
    def __init__(self, job: Mapping[str, Any]) -> None:
        from ortools.sat.python import cp_model

        self.model = cp_model.CpModel()
        self.rules = job.get("rules", {})
        self.kx, self.ky = job["kerf"]["crosscut"], job["kerf"]["rip"]
        self.trim = job.get("cutting", {}).get("final_trim", False)
        self._pieces(job)
        self._parts()
        self._boards(job)
        for c, (stock, order) in enumerate(self.kinds):
            for s in self.all:
                if order[0] == "y":
                    self._strip(s, c, stock, order)
                else:
                    self._section(s, c, stock, order)
            for b in self.all:
                if order[0] == "x":
                    self._sections_on(b, c, stock)
        for stock in job["stock"]:
            of_stock = [self.of[b, c] for b in self.all for c, (row, _) in enumerate(self.kinds) if row is stock]
            if "count" in stock:
                self.model.add(sum(of_stock) <= stock["count"])
        self.model.minimize(sum(v * self.kinds[c][0]["cost"] for (_, c), v in self.of.items()))

    def _flag(self) -> Any:
        return self.model.new_bool_var("")

    def _size(self) -> Any:
        return self.model.new_int_var(0, 200, "")

    def _both(self, a: Any, b: Any) -> Any:
        both = self._flag()
        self.model.add(both >= a + b - 1)
        self.model.add(both <= a)
        self.model.add(both <= b)
        return both

    def _when(self, on: Any, size: Any) -> Any:
        """A size that counts when `on`, and is nil at least otherwise."""
        counted = self._size()
        self.model.add(counted >= size).only_enforce_if(on)
        return counted

    def _is_less(self, a: Any, b: Any) -> Any:
        less = self._flag()
        self.model.add(a < b).only_enforce_if(less)
        self.model.add(a >= b).only_enforce_if(~less)
        return less

    def _pieces(self, job: Mapping[str, Any]) -> None:
        self.along, self.across = [], []
        for row in sorted(job["blanks"], key=lambda row: (-row.get("width", 1), -row["length"])):
            length, width = row["length"], row.get("width", 1)
            for _ in range(row["count"]):
                turned = self._flag() if row.get("rotate") else 0
                self.along.append(length + turned * (width - length))
                self.across.append(width + turned * (length - width))
        self.all = range(len(self.along))

    def _parts(self) -> None:
        """Which pieces share first parts and second parts."""
        pairs = [(s, i) for s in self.all for i in self.all if s <= i]
        self.first = {pair: self._flag() for pair in pairs}
        self.second = {pair: self._flag() for pair in pairs}
        for part in (self.first, self.second):
            for i in self.all:
                self.model.add_exactly_one(part[s, i] for s in self.all if s <= i)
            for s, i in pairs:
                self.model.add(part[s, i] <= part[s, s])
        for t, i in pairs:
            for s in range(i + 1):
                same = self.first[s, t] if s <= t else 0
                self.model.add(self.first[s, i] == same).only_enforce_if(self.second[t, i])
        self.inside = {(s, t): self._both(self.first[s, t], self.second[t, t]) for s, t in pairs}
        self.size1, self.size2 = [self._size() for _ in self.all], [self._size() for _ in self.all]

    def _boards(self, job: Mapping[str, Any]) -> None:
        self.kinds = [
            (stock, order)
            for stock in job["stock"]
            for order in orders_of_cuts(job, stock["length"] - 2 * stock.get("end_trim", 0))
        ]
        self.on = {(b, s): self._flag() for b in self.all for s in self.all if b <= s}
        self.of = {(b, c): self._flag() for b in self.all for c in range(len(self.kinds))}
        self.part_of = {(s, c): self._flag() for s in self.all for c in range(len(self.kinds))}
        for s in self.all:
            self.model.add(sum(self.on[b, s] for b in range(s + 1)) == self.first[s, s])
            self.model.add(sum(self.part_of[s, c] for c in range(len(self.kinds))) == self.first[s, s])
            self.model.add(sum(self.of[s, c] for c in range(len(self.kinds))) == self.on[s, s])
            for b in range(s + 1):
                self.model.add(self.on[b, s] <= self.on[b, b])
                for c in range(len(self.kinds)):
                    self.model.add(self.part_of[s, c] == self.of[b, c]).only_enforce_if(self.on[b, s])

    # -- rip first ------------------------------------------------------------------------------------------

    def _strip(self, s: int, c: int, stock: Mapping[str, Any], order: str) -> None:
        """A strip or panel: as wide as it must be, its blocks in line along the board."""
        here = self.part_of[s, c]
        width, length = _inner(stock)
        for i in range(s, len(self.all)):
            inside = self._both(here, self.first[s, i])
            self.model.add(self.across[i] <= self.size1[s]).only_enforce_if(inside)
            if order == "yx":
                self.model.add(self.second[i, i] == 1).only_enforce_if(inside)
                self._cut_down(inside, self.across[i], self.size1[s], self.along[i])
            else:
                ripped = self._both(inside, self._is_less(self.across[i], self.size1[s]))
                self.model.add(self.across[i] >= self.rules.get("least_strip", 0)).only_enforce_if(ripped)
                self.model.add(self.along[i] >= self.rules.get("shortest_rip", 0)).only_enforce_if(ripped)
        for t in range(s, len(self.all)):
            block = self._both(here, self.inside[s, t])
            own = [(self.second[t, i], i) for i in range(t, len(self.all))]
            for on, i in own:
                self.model.add(self.along[i] <= self.size2[t]).only_enforce_if(block, on)
                if not self.trim:
                    self.model.add(self.along[i] == self.size2[t]).only_enforce_if(block, on)
            load = sum(self._when(on, self.across[i] + self.ky) for on, i in own)
            self.model.add(load <= self.size1[s] + self.ky).only_enforce_if(block)
        self._in_line(here, stock, [(self.inside[s, t], self.size2[t]) for t in range(s, len(self.all))])
        ripped = self._both(here, self._is_less(self.size1[s], width))
        self.model.add(self.size1[s] >= self.rules.get("least_strip", 0)).only_enforce_if(ripped)
        if not self.rules.get("shortest_rip", 0) <= length <= self.rules.get("longest_rip", GREAT):
            self.model.add(ripped == 0)
        parts = [(self.on[s, r], self.size1[r]) for r in range(s, len(self.all))]
        self._across_board(self.of[s, c], width, parts)

    # -- crosscut first -------------------------------------------------------------------------------------

    def _section(self, s: int, c: int, stock: Mapping[str, Any], order: str) -> None:
        """A section: as long as it must be, its strips side by side."""
        here = self.part_of[s, c]
        width, _ = _inner(stock)
        for t in range(s, len(self.all)):
            strip = self._both(here, self.inside[s, t])
            own = [(self.second[t, i], i) for i in range(t, len(self.all))]
            for on, i in own:
                self.model.add(self.across[i] <= self.size2[t]).only_enforce_if(strip, on)
                if order == "xy":
                    if i > t:
                        self.model.add(on == 0).only_enforce_if(strip)
                    self.model.add(self.across[i] == self.size2[t]).only_enforce_if(strip, on)
                    if not self.trim:
                        self.model.add(self.along[i] == self.size1[s]).only_enforce_if(strip, on)
                else:
                    self._cut_down(self._both(strip, on), self.across[i], self.size2[t], self.along[i])
            load = sum(self._when(on, self.along[i] + self.kx) for on, i in own)
            self.model.add(load <= self.size1[s] + self.kx).only_enforce_if(strip)
            ripped = self._both(strip, self._is_less(self.size2[t], width))
            self.model.add(self.size2[t] >= self.rules.get("least_strip", 0)).only_enforce_if(ripped)
            self.model.add(self.size1[s] >= self.rules.get("shortest_rip", 0)).only_enforce_if(ripped)
            self.model.add(self.size1[s] <= self.rules.get("longest_rip", GREAT)).only_enforce_if(ripped)
        self._across_board(here, width, [(self.inside[s, t], self.size2[t]) for t in range(s, len(self.all))])

    def _sections_on(self, b: int, c: int, stock: Mapping[str, Any]) -> None:
        parts = [(self.on[b, s], self.size1[s]) for s in range(b, len(self.all))]
        self._in_line(self.of[b, c], stock, parts)

    # -- both -----------------------------------------------------------------------------------------------

    def _cut_down(self, here: Any, width: Any, strip: Any, length: Any) -> None:
        """A piece narrower than its strip is ripped down at the end, where that may be."""
        if not self.trim:
            self.model.add(width == strip).only_enforce_if(here)
            return
        ripped = self._both(here, self._is_less(width, strip))
        least = max(self.rules.get("least_strip", 0), self.rules.get("narrow_below", 0))
        self.model.add(width >= least).only_enforce_if(ripped)
        self.model.add(length >= self.rules.get("shortest_rip", 0)).only_enforce_if(ripped)
        self.model.add(length <= self.rules.get("longest_rip", GREAT)).only_enforce_if(ripped)

    def _across_board(self, here: Any, width: int, parts: list[tuple[Any, Any]]) -> None:
        """Parts side by side across the board, parent wood left in the hand after the narrow ones."""
        load = sum(self._when(on, size + self.ky) for on, size in parts)
        self.model.add(load <= width + self.ky).only_enforce_if(here)
        if "narrow_below" in self.rules:
            narrow = min(width, self.rules["narrow_below"])
            thin = [(self._both(on, self._is_less(size, narrow)), size) for on, size in parts]
            load = sum(self._when(on, size + self.ky) for on, size in thin)
            for on, _ in thin:
                self.model.add(load <= width - self.rules["parent_wood"]).only_enforce_if(here, on)

    def _in_line(self, here: Any, stock: Mapping[str, Any], parts: list[tuple[Any, Any]]) -> None:
        """Parts one after the other in the stretches of the board."""
        stretches = clear_stretches(stock)
        into = [[self._flag() for _ in stretches] for _ in parts]
        for (on, _), own in zip(parts, into, strict=True):
            self.model.add(sum(own) == on).only_enforce_if(here)
        free = 0
        for q, (start, end) in enumerate(stretches):
            begin = self._size()
            self.model.add(begin >= start)
            self.model.add(begin >= free)
            free = begin + sum(self._when(own[q], size + self.kx) for (_, size), own in zip(parts, into, strict=True))
            self.model.add(free <= end + self.kx).only_enforce_if(here)


def _inner(stock: Mapping[str, Any]) -> tuple[int, int]:
    """Width and length between the trims."""
    return stock.get("width", 1) - 2 * stock.get("edge_trim", 0), stock["length"] - 2 * stock.get("end_trim", 0)
