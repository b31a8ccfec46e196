"""Random work on a small batch, entered in the book: each plan of the rest verifies, and no piece is lost or doubled.

Boards bought, cut, unusable; pieces spoiled, lost, found, made; entries undone; entering ended by force. After each
plan of the rest the pieces are counted here, from the two plan files and the entries alone.
"""

import json
import shutil
import tempfile
from collections import Counter
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, rule, run_state_machine_as_test

from tests.nightly import IS_NIGHT
from tests.once import planned_text, written
from tests.records.crash import cut_off
from tests.records.shop_days import sent
from woodshop.checks.check_batch import check_batch
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.orders.lines import read_run
from woodshop.design.settle.settle import settle
from woodshop.errors import InputError, NothingToCutError
from woodshop.plan.book.rest import BookSince, progress_since
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.rest.earlier_plan import read_earlier
from woodshop.plan.rest.plan_rest import plan_rest, rest_to_json
from woodshop.plan.verify import batch_findings
from woodshop.plan.verify_rest import rest_findings
from woodshop.records.events import NewEvent
from woodshop.records.store import new_book, open_book, read_book

SEQUENCES, STEPS = (1500, 14) if IS_NIGHT else (12, 14)
MEMORY = Path("/dev/shm")
DRAWN: Counter[str] = Counter()
DESIGN = """format = "woodshop-design/2"
batch = "small"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
[[hives]]
name = "tens"
frames = 10
width = "16 1/4"
count = 14
gap = "1/4"
[[make]]
item = "feeding shim"
"""
WORDS = ("spoiled", "lost", "found", "made")
Size = tuple[str, int, int]


class Work:
    """The batch planned once, and its first plan as written."""

    def __init__(self, folder: Path) -> None:
        self.design = read_run(written(DESIGN, folder))
        self.lumberyard = read_lumberyards(self.design.lumberyards)
        self.batch = settle(self.design, self.lumberyard)
        self.units, self.report = check_batch(self.batch)
        self.plan: dict[str, Any] = json.loads(json.dumps(batch_to_json(planned_text(DESIGN, folder))))
        self.text = json.dumps(self.plan)
        self.sizes: dict[str, Size] = {}
        self.wanted: Counter[Size] = Counter()
        self.layouts: list[tuple[str, str, int, Counter[str]]] = []  # material, stock, times, parts
        names = {row["stock"]: row["what"] for row in self.plan["purchases"] if row.get("stock")}
        for material, plan in self.plan["plans"].items():
            for layout in plan["layouts"]:
                for piece in layout["pieces"]:
                    self.sizes[piece["id"]] = size_of(material, piece)
                    self.wanted[size_of(material, piece)] += layout["times"] * (not piece["spare"])
                parts = Counter(piece["id"] for piece in layout["pieces"])
                self.layouts.append((material, names.get(layout["stock"], ""), layout["times"], parts))
        self.bought = [row["what"] for row in self.plan["purchases"] if row.get("stock")]


def size_of(material: str, piece: dict[str, Any]) -> Size:
    least, most = sorted((piece["length"], piece.get("width") or 0))
    return material, least, most


class SmallBatch(RuleBasedStateMachine):
    """Entries in random order, and plans of the rest between them."""

    work: Work

    def __init__(self) -> None:
        super().__init__()
        self.folder = Path(tempfile.mkdtemp(dir=MEMORY if MEMORY.is_dir() else None))
        self.path = self.folder / "shop.book"
        new_book(self.path)
        self.at_plan = read_book(self.path)
        self.entries: list[NewEvent] = []
        self.n = 0

    def teardown(self) -> None:
        shutil.rmtree(self.folder)

    def happen(self, kind: str, **texts: Any) -> None:
        self.n += 1
        event = sent(kind, event_id=f"e{self.n}", **texts)
        DRAWN["entries"] += 1
        with open_book(self.path) as book:
            try:
                book.add([event])
                self.entries.append(event)
            except InputError:
                DRAWN["refused by the book"] += 1  # more cut or bad than was bought

    @rule(data=st.data(), count=st.integers(1, 6))
    def buy(self, data: st.DataObject, count: int) -> None:
        self.happen("stock bought", stock=data.draw(st.sampled_from(self.work.bought)), count=count, batch="small")

    @rule(data=st.data())
    def buy_and_cut(self, data: st.DataObject) -> None:
        self.bought_and_cut(data)

    def bought_and_cut(self, data: st.DataObject) -> None:
        """The boards of one layout are bought, and some of them cut."""
        n = data.draw(st.integers(0, len(self.work.layouts) - 1))
        _, stock, times, _ = self.work.layouts[n]
        if stock:
            self.happen("stock bought", stock=stock, count=times, batch="small")
        self.cut(n, data.draw(st.integers(1, times)))

    @rule(data=st.data(), times=st.sampled_from((1, 1, 1, 2, 3)))
    def cut_one(self, data: st.DataObject, times: int) -> None:
        self.cut(data.draw(st.integers(0, len(self.work.layouts) - 1)), times)

    def cut(self, n: int, times: int) -> None:
        material, stock, _, _ = self.work.layouts[n]
        more = {"stock": stock} if stock else {}
        self.happen("layout cut", batch="small", material=material, layout=n + 1, times=times, **more)

    @rule(data=st.data(), count=st.integers(1, 2), what=st.sampled_from(WORDS))
    def pieces(self, data: st.DataObject, count: int, what: str) -> None:
        self.miscount(data, count, what)

    def miscount(self, data: st.DataObject, count: int, what: str) -> None:
        """Of parts that were cut, where there are any; more may be spoiled or lost than there are."""
        cut = {json.loads(e.payload)["layout"] for e in self.entries if e.kind == "layout cut"}
        known = sorted({part for n in cut for part in self.work.layouts[n - 1][3]} or self.work.sizes)
        part = data.draw(st.sampled_from(known))
        self.happen(f"pieces {what}", batch="small", material=self.work.sizes[part][0], part=part, count=count)

    @rule(data=st.data(), what=st.sampled_from(WORDS))
    def cut_and_miscount(self, data: st.DataObject, what: str) -> None:
        self.bought_and_cut(data)
        self.miscount(data, 1, what)

    @rule(data=st.data())
    def unusable(self, data: st.DataObject) -> None:
        material, stock, _, _ = data.draw(st.sampled_from(self.work.layouts))
        if stock:
            self.happen("board unusable", batch="small", material=material, stock=stock, count=1)

    @rule(data=st.data())
    def undo(self, data: st.DataObject) -> None:
        if self.entries:
            self.happen("undo", of=data.draw(st.sampled_from([e.id for e in self.entries if e.kind != "undo"])))

    @rule(data=st.data(), statement=st.integers(1, 6))
    def crash(self, data: st.DataObject, statement: int) -> None:
        """The same entry again after a process was ended in the middle of it is there once."""
        self.n += 1
        stock = data.draw(st.sampled_from(self.work.bought))
        event = sent("stock bought", event_id=f"e{self.n}", stock=stock, count=1, batch="small")
        DRAWN["cut off"] += cut_off(self.path, [event], statement)
        with open_book(self.path) as book:
            book.add([event])
        self.entries.append(event)

    # ---- the rest ----------------------------------------------------------------------------------------------------

    @rule()
    def plan_the_rest(self) -> None:
        work = self.work
        there, can_be = self.counted()
        since = BookSince(work.plan, self.at_plan, read_book(self.path))
        progress = progress_since(since, work.design, work.lumberyard)
        DRAWN["plans"] += 1
        earlier = read_earlier(work.text, "plan.json")
        if not can_be:
            DRAWN["refused by the plan"] += 1
            with pytest.raises(InputError):
                plan_rest(earlier, work.batch, work.units, work.report, progress, effort="quick")
            return
        try:
            found = plan_rest(earlier, work.batch, work.units, work.report, progress, effort="quick")
        except NothingToCutError:
            assert not work.wanted - there
            return
        raw = json.loads(json.dumps(rest_to_json(found)))
        assert rest_findings(raw, work.plan, work.plan["digest"]) == ()
        assert batch_findings(raw) == ()
        kept, left = (Counter[Size](), Counter[Size]())
        for name, counts in (("kept", kept), ("rack", left)):
            for row in raw["rest_of"][name]:
                counts[size_of(row["material"], row)] += row["count"]
        planned = Counter[Size]()
        for material, plan in raw["plans"].items():
            for layout in plan["layouts"]:
                for piece in layout["pieces"]:
                    planned[size_of(material, piece)] += layout["times"] * (not piece["spare"])
        assert +(kept + left) == +there
        assert +(kept + planned) == +work.wanted

    def counted(self) -> tuple[Counter[Size], bool]:
        """The pieces that are there by the entries that were not undone, and whether these agree with the plan."""
        undone = {json.loads(e.payload)["of"] for e in self.entries if e.kind == "undo"}
        cut, parts, gone, there = Counter[int](), Counter[str](), Counter[str](), Counter[Size]()
        for event in self.entries:
            fields = json.loads(event.payload)
            if event.id in undone or event.kind not in ("layout cut", *(f"pieces {w}" for w in WORDS)):
                continue
            if event.kind == "layout cut":
                cut[fields["layout"]] += fields["times"]
                for part, n in self.work.layouts[fields["layout"] - 1][3].items():
                    parts[part] += n * fields["times"]
            elif event.kind in ("pieces spoiled", "pieces lost"):
                gone[fields["part"]] += fields["count"]
            else:
                parts[fields["part"]] += fields["count"]
        for part in parts | gone:
            there[self.work.sizes[part]] += parts[part] - gone[part]
        is_planned = all(times <= self.work.layouts[n - 1][2] for n, times in cut.items())
        return there, is_planned and all(n <= parts[part] for part, n in gone.items())


@pytest.mark.invariant
@pytest.mark.slow("plans the rest of a small batch many times")
def test_pieces_are_conserved_by_every_plan_of_the_rest(tmp_path: Path, record_property: Any) -> None:
    DRAWN.clear()
    SmallBatch.work = Work(tmp_path)
    run_state_machine_as_test(  # type: ignore[no-untyped-call]
        SmallBatch,
        settings=settings(
            max_examples=SEQUENCES,
            stateful_step_count=STEPS,
            deadline=None,
            derandomize=not IS_NIGHT,
            suppress_health_check=list(HealthCheck),
        ),
    )
    entries, plans = DRAWN["entries"], DRAWN["plans"]
    refused = [100 * DRAWN[f"refused by the {who}"] // of for who, of in (("book", entries), ("plan", plans))]
    summary = (
        f"random work: {entries} entries, {refused[0]} % refused; {plans} plans of the rest, {refused[1]} % refused"
    )
    record_property("summary", f"{summary}; {DRAWN['cut off']} cut off")
    assert plans - DRAWN["refused by the plan"] >= 5
