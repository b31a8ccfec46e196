"""The findings of fit of an open design, and how its sizes vary, which follows in a process of its own."""

from collections.abc import Callable
from pathlib import Path
from threading import Lock
from weakref import WeakKeyDictionary

from woodshop.checks.check_batch import Fit, check_variation, fit_of
from woodshop.checks.kept import Kept
from woodshop.design.batch import Batch
from woodshop.design.design_file import Design, files_named, read_design_text
from woodshop.design.make_units import make_units
from woodshop.design.orders.lines import with_read_orders
from woodshop.design.schema import toml_tables
from woodshop.documents.plan_design import settled_design
from woodshop.errors import Problem, WoodshopError
from woodshop.findings import Finding
from woodshop.page.background import BackgroundTask
from woodshop.page.opened.opened import OpenDesign, file_stamp
from woodshop.plan.book.reading import with_inventory
from woodshop.plan.buying.where_to_buy import refuse_what_plan_refuses
from woodshop.units.lengths import lengths_in
from woodshop.units.wording import LengthUnit


class Fitting:
    """The check of one open design, shared by its tabs. Hives that did not change since the last check are kept."""

    def __init__(self, opened: OpenDesign) -> None:
        self._opened = opened
        self._kept = Kept()
        self._lock = Lock()  # who asks while another is asked finds what that one kept
        self._stock_lock = Lock()  # of its own, so that findings need not wait
        self._fit: tuple[object, tuple[Batch, Fit]] | None = None
        self._refused: tuple[Fit, tuple[Problem, ...]] | None = None
        self._varied: tuple[tuple[str, LengthUnit], BackgroundTask] | None = None

    def fit(self, shown: LengthUnit) -> tuple[Batch, Fit]:
        """The batch of the last readable text, with its findings except how sizes vary. Takes up to a second.

        It is worked out once for each change of the text or of a file that it names. Findings give lengths in the unit
        `shown`, and values for the file in the unit of the design. Raises InputError for a design that contradicts
        itself or cannot be made.
        """
        with self._lock:
            text, folder = self._opened.readable, self._opened.path.parent
            named = files_named(toml_tables(text, self._opened.path.name))
            key = text, shown, tuple(file_stamp(folder / name) for _, name in named)
            if self._fit is None or self._fit[0] != key:
                batch = _settled(self._opened.design(), shown)
                self._fit = key, (batch, fit_of(batch, self._kept))
            return self._fit[1]

    def refused(self, batch: Batch, fit: Fit, shown: LengthUnit) -> tuple[Problem, ...]:
        """What would keep a batch from being planned, such as wood that no lumberyard has; () if nothing.

        `batch` and `fit` are as `fit` returns them.
        """
        with self._stock_lock:
            if self._refused is None or self._refused[0] is not fit:
                found: tuple[Problem, ...] = ()
                try:
                    with lengths_in(shown):
                        refuse_what_plan_refuses(batch, fit.units)
                except WoodshopError as why:
                    found = why.problems
                self._refused = fit, found
            return self._refused[1]

    def variation(self, shown: LengthUnit) -> BackgroundTask:
        """The work that finds how the sizes of the present design vary; its result is findings, as `fit` words them.

        Work on an earlier text, or for the other unit, is canceled.
        """
        text = self._opened.readable
        if self._varied is not None:
            if self._varied[0] == (text, shown) and not self._varied[1].is_canceled:
                return self._varied[1]
            self._varied[1].cancel()
        task = BackgroundTask.start(varied_findings, text, self._opened.path, shown)
        self._varied = (text, shown), task
        return task

    def varied(self, shown: LengthUnit) -> tuple[Finding, ...] | None:
        """The findings of `variation` for the present design, or None if they are not known."""
        if self._varied is None or self._varied[0] != (self._opened.readable, shown):
            return None
        task = self._varied[1]
        return None if task.is_running or task.is_canceled or task.problems else task.result


_fittings: WeakKeyDictionary[OpenDesign, Fitting] = WeakKeyDictionary()


def fitting_of(opened: OpenDesign) -> Fitting:
    """The check of an open design; every tab gets the same."""
    return _fittings.setdefault(opened, Fitting(opened))


def varied_findings(text: str, path: Path, shown: LengthUnit, *, say: Callable[[str], None]) -> tuple[Finding, ...]:
    """The findings about how the sizes vary of the design with this text, which is at `path`.

    They give lengths in the unit `shown`. `say` takes lines of progress. Raises InputError as `Fitting.fit` does.
    """
    batch = _settled(read_design_text(text, path), shown)
    with lengths_in(shown):
        return check_variation(batch, make_units(batch), say)


def _settled(design: Design, shown: LengthUnit) -> Batch:
    return settled_design(with_read_orders(with_inventory(design)), shown)
