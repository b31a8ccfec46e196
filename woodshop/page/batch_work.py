"""The work on each open design: planning, reading its plan, comparing costs. All tabs of a design share it."""

from typing import Literal
from weakref import WeakKeyDictionary

from woodshop.cutting.model.plan import Effort
from woodshop.errors import InputError, Problem
from woodshop.page.background import BackgroundTask
from woodshop.page.opened.opened import OpenDesign
from woodshop.page.shown import ScreenPart, ShownBatch, inputs_digest, results_beside
from woodshop.trade.compare import read_varies, refuse_values
from woodshop.trade.what_ifs import SettingToChange, SettingToTry

Kind = Literal["plan", "read", "compare"]
WORDS: dict[Kind, str] = {
    "plan": "Planning",
    "read": "Reading the plan made earlier",
    "compare": "Comparing costs",
}
NOTHING_TICKED = "Tick something to compare first."
_HERE = "woodshop.page.planned"


class BatchWork:
    """What was planned for one open design, and the task that works on it now, if any.

    `shown` is the last plan; `comparison` are the costs compared last. `effort`, `compare_effort`
    and `to_compare` (settings with their values, ticked or not) are what was chosen for the next ones. `added` are the
    changes that people added to those that are offered; the next one is of the key `to_change`, to the `value` chosen
    or typed, and `value_problem` says what is wrong with it. `ended` says in words how the last
    task ended, `is_bad` whether that is bad news, and `problems` why it failed. `version` grows when one of these
    changes.
    """

    def __init__(self, opened: OpenDesign) -> None:
        """The work on this open design; there is none yet."""
        self.opened = opened
        self.shown: ShownBatch | None = None
        self.comparison: ScreenPart | None = None
        self.effort: Effort = "default"
        self.to_compare: dict[str, bool] = {}
        self.compare_effort: Effort = "quick"
        self.added: list[SettingToTry] = []
        self.to_change = ""
        self.value = ""
        self.value_problem = ""
        self.ended = ""
        self.is_bad = False
        self.problems: tuple[Problem, ...] = ()
        self.version = 0
        self._task: BackgroundTask | None = None
        self._kind: Kind = "plan"
        self._compared = ""
        self._read = ""

    @property
    def is_running(self) -> bool:
        """Whether a task is at work."""
        self._look()
        return self._task is not None

    @property
    def is_comparing(self) -> bool:
        """Whether a task compares costs now."""
        return self.is_running and self._kind == "compare"

    @property
    def progress(self) -> str:
        """What is being done now, in words; "" if nothing is."""
        self._look()
        if self._task is None:
            return ""
        if self._task.is_canceled:
            return "Canceling. What was begun is being undone."
        last = self._task.progress[-1:]
        return f"{WORDS[self._kind]}{': ' if last else ' …'}{''.join(last)}"

    @property
    def lines(self) -> tuple[str, ...]:
        """All lines of progress of the task at work."""
        return () if self._task is None else tuple(self._task.progress)

    @property
    def is_current(self) -> bool:
        """Whether the last plan was made from the files as they are now."""
        return self.shown is not None and self.shown.inputs == self._inputs()

    @property
    def is_compared_now(self) -> bool:
        """Whether the costs were compared for the files as they are now."""
        return self.comparison is not None and self._compared == self._inputs()

    def plan(self) -> None:
        """Starts to plan the saved design with `effort`, unless a task is at work or the design is not saved."""
        self._start("plan", "plan_and_show", self.effort)

    def compare(self) -> None:
        """Starts to compare the costs of what was chosen to compare, as `plan` starts to plan.

        A value that was chosen or typed, but not added yet, is added first.
        """
        if self.value.strip():
            self.add_change()
            if self.value_problem:
                self.ended, self.is_bad = "Correct the other value first, or empty it.", True
                self.version += 1
                return
        self._compared = self._inputs()
        values: dict[str, list[str]] = {}
        said: dict[str, str] = {}
        for each in (each for each in self.offered if self.to_compare.get(each.vary)):
            key, _, text = each.vary.partition("=")
            values.setdefault(key, []).extend(text.split(","))
            said |= {key: each.words} | {f"{key}={v}": w for v, w in zip(text.split(","), each.values, strict=True)}
        varies = tuple(f"{key}={','.join(dict.fromkeys(each))}" for key, each in values.items())
        if not varies:
            self.ended, self.is_bad = NOTHING_TICKED, True
            self.version += 1
            return
        self._start("compare", "compare_and_show", varies, said, self.compare_effort)

    @property
    def offered(self) -> tuple[SettingToTry, ...]:
        """The changes that can be ticked: those of the last plan, then those added."""
        first = self.shown.to_try if self.shown is not None else ()
        return tuple({each.vary: each for each in (*first, *self.added)}.values())

    @property
    def chosen_setting(self) -> SettingToChange | None:
        """The setting whose value would be added, if one is chosen."""
        known = self.shown.to_change if self.shown is not None else ()
        return next((each for each in known if each.key == self.to_change), None)

    def add_change(self) -> None:
        """Adds the value chosen or typed to the changes to compare, ticked, unless it cannot be read."""
        setting = self.chosen_setting
        values = tuple(dict.fromkeys(each.strip() for each in self.value.split(",") if each.strip()))
        if setting is None:
            return
        self.value_problem = "" if values else "Give another value first."
        if values:
            added = setting.with_values(values)
            try:
                refuse_values(
                    self.opened.path, read_varies((added.vary,), is_each_alone=True), self.opened.design().book
                )
            except InputError as bad:
                first = bad.problems[0]
                do = first.do.removesuffix("Write it in quotes.")  # a rule of the file, not of the field
                self.value_problem = f"Given {self.value!r}; wanted {first.wanted}. {do}".strip()
                return
            self.added = [*self.added, added]
            self.to_compare[added.vary] = True
            self.value = ""

    def read_earlier(self) -> None:
        """Starts to read the plan in the design's folder of results, if there is one and it has not been tried."""
        inputs = self._inputs()
        if self.is_running or self.shown is not None or inputs in ("", self._read) or self._not_saved():
            return
        self._read = inputs
        if (results_beside(self.opened.path) / self.opened.design().batch / "plan.json").is_file():
            self._start("read", "show_planned")

    def cancel(self) -> None:
        """Cancels the task at work, if any."""
        if self._task is not None:
            self._task.cancel()
            self.version += 1

    def _start(self, kind: Kind, function: str, *args: object) -> None:
        if self.is_running:
            return
        self.problems, self.ended, self.is_bad = self._not_saved(), "", False
        self.version += 1
        if self.problems:
            return
        self._kind = kind
        self._task = BackgroundTask.start(f"{_HERE}:{function}", self.opened.path, *args)

    def _look(self) -> None:
        """Takes over what the task has made, once it has ended."""
        task = self._task
        if task is None or task.is_running:
            return
        self._task = None
        self.version += 1
        self.problems = task.problems
        if task.is_canceled:
            self.ended = "Canceled. Files made earlier are as they were."
        elif isinstance(task.result, ShownBatch):
            self.shown = task.result
            self.ended = task.result.late or (
                "The plan is ready." if task.result.is_planned else "The check found errors."
            )
            self.is_bad = self.ended != "The plan is ready."
        elif isinstance(task.result, ScreenPart):
            self.comparison = task.result
            self.ended = "The costs are compared."
        if self._kind == "read" and task.problems:  # no plan of this design: nothing to report
            self.problems, self.ended = (), "The plan made earlier is not of this design as it is now."

    def _inputs(self) -> str:
        try:
            return inputs_digest(self.opened.path)
        except InputError:
            return ""

    def _not_saved(self) -> tuple[Problem, ...]:
        opened = self.opened
        if opened.problems:
            return opened.problems
        if opened.save_state == "saved":
            return ()
        given, do = f"a design that is {opened.save_state}", "Choose above which one to keep, then plan again."
        return (Problem(opened.path.name, given, "a saved design", do),)


_works: "WeakKeyDictionary[OpenDesign, BatchWork]" = WeakKeyDictionary()


def work_on(opened: OpenDesign) -> BatchWork:
    """The work on this open design, the same for every tab."""
    if opened not in _works:
        _works[opened] = BatchWork(opened)
    return _works[opened]
