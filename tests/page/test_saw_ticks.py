"""Ticks of the saw page: each counts once, whatever is sent again or killed; hostile messages change nothing."""

import asyncio
import http.client
import json
import os
import random
import signal
import subprocess
import sys
import threading
import time
import uuid
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from starlette.applications import Starlette

from tests.nightly import IS_NIGHT
from tests.page.small_saw import BATCH, BOARD, ROOT, small_data, small_folder
from woodshop.errors import InputError
from woodshop.page.saw import MOST_SENT, saw_routes
from woodshop.plan.book.saw_ticks import (
    SawBook,
    also_squared,
    boards_done,
    checked_rows,
    own_book,
    pieces_ticked,
    plan_mark,
    rows_of,
    squared_off,
    squared_rows,
)
from woodshop.records.store import checked_book, new_book, open_book
from woodshop.units.lengths import inch, millimetre

DATA = small_data()
MARK = plan_mark(DATA["plan"])
OTHERS = ("newer", "older", "numbers", "squared", "made")
AT = f"/saw/hobby-batch/{MARK}/"


class Client:
    """Asks the saw page's routes without a server."""

    def __init__(self, folder: Path) -> None:
        self.app = Starlette(routes=saw_routes(folder))

    def ask(self, method: str, path: str, **how: Any) -> httpx.Response:
        async def asked() -> httpx.Response:
            transport = httpx.ASGITransport(self.app)
            async with httpx.AsyncClient(transport=transport, base_url="http://127.0.0.1") as client:
                return await client.request(method, path, **how)

        return asyncio.run(asked())

    def get(self, path: str) -> httpx.Response:
        return self.ask("GET", path)

    def post(self, path: str, **how: Any) -> httpx.Response:
        return self.ask("POST", path, **how)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return small_folder(tmp_path)


@pytest.fixture
def client(folder: Path) -> Client:
    return Client(folder)


def tick(step: int, layout: int = 1, times: int = 1, **more: Any) -> dict[str, Any]:
    row = {"kind": "cuts made", "day": "2026-10-03", "id": str(uuid.uuid4()), "batch": BATCH, "plan": MARK}
    return row | {"step": DATA["steps"][step]["key"], "material": BOARD, "layout": layout, "times": times} | more


def send(client: Client, *rows: dict[str, Any]) -> dict[str, Any]:
    answer = client.post(f"{AT}ticks", json={"plan": DATA["plan"], "rows": list(rows)})
    assert answer.status_code == 200, answer.text
    return answer.json()  # type: ignore[no-any-return]


def test_the_page_and_its_files_are_served(client: Client) -> None:
    assert client.get("/saw/hobby-batch/").headers["location"] == AT
    assert "<script src=" in client.get(AT).text
    for file, kind in (("saw.js", "text/javascript"), ("saw.css", "text/css")):
        assert client.get(AT + file).headers["content-type"].startswith(kind)
    assert client.get(f"{AT}data").json() == DATA
    alone = {"numbers": [1, 2], "squared": {}, "made": {}}
    assert client.get(f"{AT}state").json() == {"rows": [], "newer": "", "older": "", **alone}


@pytest.mark.parametrize(
    "path",
    ["/saw/none/", "/saw/..%2F..%2Fetc/", "/saw/hobby-batch/0000/state", "/saw/%00/", "/saw/con/", f"/saw/{'x' * 300}/",
     f"{AT}plan.json", f"{AT}..%2Fsaw.js", f"{AT}__init__.py", "/saw/hobby-batch%2F/"],
)  # fmt: skip
def test_no_other_file_is_read(client: Client, path: str) -> None:
    assert client.get(path).status_code in (307, 404, 405, 409)


def test_a_plan_outside_the_folder_is_not_read(tmp_path: Path) -> None:
    outside = small_folder(tmp_path / "outside")
    folder = tmp_path / "inside"
    folder.mkdir()
    for name in ("hobby-batch.toml", "creekside-lumberyard.toml"):
        (folder / name).write_bytes((outside / name).read_bytes())
    (folder / "out").symlink_to(outside / "out")
    assert Client(folder).get("/saw/hobby-batch/").status_code == 409


def test_a_tick_counts_once_however_often_it_is_sent(client: Client, folder: Path) -> None:
    row = tick(0)
    assert send(client, row, row)["entered"] == [row["id"]]
    answer = send(client, row, tick(0))
    assert len(answer["entered"]) == 2
    assert [each["kind"] for each in answer["rows"]] == ["cuts made"] * 2
    book = own_book(folder / "hobby-batch.toml")
    with open_book(book) as opened:
        events = opened.events()
    assert [event.kind for event in events] == ["plan started", "cuts made", "cuts made"]
    assert checked_book(book).faults == ()
    (batch,) = open_book(book).state().batches
    assert [(each.step, each.times) for each in batch.ticks] == [(DATA["steps"][0]["key"], 2)]


def test_the_same_id_with_other_content_is_refused_and_the_rest_is_entered(client: Client) -> None:
    row, other = tick(0), tick(1)
    send(client, row)
    answer = send(client, row | {"layout": 2}, other)
    assert answer["entered"] == [other["id"]]
    assert [each["id"] for each in answer["refused"]] == [row["id"]]


@pytest.mark.parametrize(
    "change",
    [{"batch": "other"}, {"plan": "0" * 16}, {"step": "9-ffffff"}, {"layout": 7}, {"material": "board 1 in"},
     {"times": 3}, {"kind": "units sold"}, {"kind": "stock bought", "stock": "x", "count": 1}, {"kind": "nothing"},
     {"step": DATA["steps"][3]["key"], "layout": 2}, {"day": "yesterday"}, {"times": 0}, {"unit": "cubit"},
     {"kind": "undo", "of": "someone else's"}, {"kind": "plan started"}],
)  # fmt: skip
def test_what_does_not_fit_the_plan_is_refused_with_a_sentence(client: Client, change: dict[str, Any]) -> None:
    answer = send(client, tick(0) | change)
    assert answer["entered"] == []
    assert answer["rows"] == []
    (refused,) = answer["refused"]
    assert all(refused["problem"][name] for name in ("where", "given", "wanted", "do"))


def test_undo_bad_boards_and_spoiled_pieces(client: Client, folder: Path) -> None:
    first = tick(1)
    spoiled = tick(2) | {"kind": "pieces spoiled", "part": "A", "count": 1}
    del spoiled["layout"], spoiled["times"]
    bad = tick(1) | {"kind": "board with bad stretch", "board": "3F2A", "from": "0", "to": "260 mm"}
    del bad["times"]
    whole = tick(2, 2) | {"kind": "board unusable", "count": 1}
    del whole["times"]
    undo = {"kind": "undo", "id": f"{first['id']}-undo-1", "of": first["id"]}
    answer = send(client, first, spoiled, bad, whole, undo)
    assert answer["refused"] == []
    assert len(answer["entered"]) == 5
    state = open_book(own_book(folder / "hobby-batch.toml")).state()
    (batch,) = state.batches
    assert batch.ticks == ()
    assert [(each.part, each.spoiled) for each in batch.pieces] == [("A", 1)]
    assert [(each.board, each.bad) for each in state.boards] == [("3F2A", ((inch(0), millimetre(260)),))]
    assert [each.layout for each in batch.unusable] == [2]
    redone = {"kind": "undo", "id": "again", "of": undo["id"]}
    assert send(client, redone)["entered"] == ["again"]


def test_begun_and_completed_boards(client: Client, folder: Path) -> None:
    """Squaring an end begins no board; a board found bad after a cut is no longer begun."""
    rows = [tick(0, times=2), tick(0, 2), tick(1, times=2), tick(2), tick(3)]
    bad = tick(2) | {"kind": "board unusable", "count": 1}
    del bad["times"]
    send(client, *rows)
    book = open_book(own_book(folder / "hobby-batch.toml"))
    done = boards_done(book.events(), DATA)
    assert (done.begun, done.completed, done.is_unfinished) == ({1: 2}, {1: 1}, True)
    send(client, bad)
    done = boards_done(book.events(), DATA)
    assert (done.begun, done.completed, done.is_unfinished) == ({1: 1}, {1: 1}, False)


def test_a_design_with_a_book_uses_that_book(folder: Path) -> None:
    new_book(folder / "shop.book")
    design = folder / "hobby-batch.toml"
    design.write_text(design.read_text().replace("lumberyard =", 'book = "shop.book"\nlumberyard =', 1))
    cut = {"kind": "layout cut", "id": f"{MARK}-layout-1-board-1-1", "batch": BATCH, "material": BOARD, "layout": 1}
    cut |= {"times": 1, "plan": MARK, "stock": "1x6 pine, 4 ft"}
    client = Client(folder)
    answer = send(client, tick(0), cut)
    assert len(answer["entered"]) == 2
    assert "does not have 1x6 pine, 4 ft on hand" in answer["notes"][0]
    assert send(client, cut)["notes"] == [], "sent again with the stock, it is the same"
    with open_book(folder / "shop.book") as book:
        assert [event.kind for event in book.events()] == ["cuts made", "layout cut"]
        assert rows_of(book.events(), DATA)[1]["id"] == cut["id"]
    assert not own_book(design).exists()


def test_a_design_that_cannot_be_read_for_now_loses_no_tick(client: Client, folder: Path) -> None:
    send(client, tick(0))
    (folder / "hobby-batch.toml").write_text("half a desi")
    assert len(send(client, tick(0))["rows"]) == 2


def test_a_replaced_plan_is_said_and_its_ticks_are_not_taken(client: Client, folder: Path) -> None:
    send(client, tick(0))
    other = small_data("6b" * 32)
    results = folder / "out" / BATCH
    (results / "plan.json").write_text(json.dumps({"digest": other["plan"], "batch": BATCH}))
    (results / "saw.html").write_bytes((small_folder(folder / "x", other) / "out" / BATCH / "saw.html").read_bytes())
    answer = client.post(f"{AT}ticks", json={"rows": [tick(1)]})
    assert answer.status_code == 409
    assert "replaced" in answer.json()["problems"][0]["given"]


def test_the_rest_of_a_plan_is_the_plan_in_force(client: Client, folder: Path) -> None:
    send(client, tick(0, times=2), tick(1))
    rest = small_data("7c" * 32)
    other = small_folder(folder / "x", rest) / "out" / BATCH
    written = {"digest": rest["plan"], "batch": BATCH, "rest_of": {"digest": DATA["plan"]}}
    (other / "plan.json").write_text(json.dumps(written))
    other.rename(folder / "out" / f"{BATCH}-rest")
    there = f"/saw/hobby-batch/{plan_mark(rest['plan'])}/"
    assert client.get("/saw/hobby-batch/").headers["location"] == there
    assert client.get(f"{AT}state").json()["newer"] == there
    others = {"numbers": [1, 2], "squared": {}, "made": {}}
    assert client.get(f"{there}state").json() == {"rows": [], "newer": "", "older": AT, **others}
    assert send(client, tick(1))["entered"], "boards that are begun are still ticked"


def rest_of(digest: str, *layouts: tuple[int, int]) -> dict[str, Any]:
    """A rest of the small plan: its layouts 1 and 2 under other numbers, in that order."""
    data: dict[str, Any] = json.loads(json.dumps(small_data(digest)))
    for (number, times), old in zip(layouts, (1, 2), strict=True):
        data["layouts"][old - 1] |= {"number": number, "times": times}
        for step in data["steps"]:
            step["marks"] = {str(number) if mark == str(old) else mark: of for mark, of in step["marks"].items()}
            for board in step["boards"]:
                if board["layout"] == old:
                    board |= {"layout": number, "times": times}
    for step in data["steps"]:
        step["key"] = f"{step['key']}{digest[:2]}"
    return data


def test_boards_that_are_squared_stay_squared_in_the_rest(client: Client, folder: Path) -> None:
    """Layout 1: two squared, one of them cut into; layout 2: one squared. The rest keeps 1 and renumbers 2 to 5."""
    send(client, tick(0, times=2), tick(0, 2), tick(2))
    with open_book(own_book(folder / "hobby-batch.toml")) as book:
        rest = rest_of("7c" * 32, (1, 1), (5, 1))
        (row,) = squared_rows(book.events(), DATA, rest)
        assert (row["layout"], row["times"], row["step"]) == ("1", "1", rest["steps"][0]["key"])
        assert also_squared(book.events(), [DATA, rest]) == {1: 1, 5: 1}, "one board of layout 2 is squared"
        assert pieces_ticked(book.events(), DATA) == {BOARD: 2}
    ticks = SawBook(own_book(folder / "hobby-batch.toml"), True)
    assert ticks.enter(rest, [row]).refused == ()
    assert boards_done(ticks.events(), rest).begun == {}
    again = rest_of("8d" * 32, (1, 1), (9, 1))
    assert [each["times"] for each in squared_rows(ticks.events(), rest, again)] == ["1"], "and in the rest of that"
    assert also_squared(ticks.events(), [DATA, rest, again]) == {1: 1, 9: 1}
    step = {"step": rest["steps"][0]["key"], "plan": plan_mark(rest["plan"])}
    ticks.enter(rest, [{name: str(value) for name, value in (tick(0, 5) | step).items()}])
    assert also_squared(ticks.events(), [DATA, rest, again]) == {1: 1, 9: 1}, "ticked there, and not cut into"
    ticks.close()


def test_a_board_found_bad_after_squaring_is_shorter(client: Client, folder: Path) -> None:
    """Its bad stretch is measured from the squared end; 1/2 in was cut off there."""
    bad = [tick(n) | {"kind": "board with bad stretch", "board": f"3F2{n}", "from": "0", "to": "2"} for n in (0, 1)]
    for row in bad:
        del row["times"]
    assert send(client, tick(0, times=2), *bad)["refused"] == []
    with open_book(own_book(folder / "hobby-batch.toml")) as book:
        assert squared_off(book.events(), DATA) == {"3F21": inch("1/2")}
        assert also_squared(book.events(), [DATA, rest_of("7c" * 32, (3, 2), (4, 1))]) == {3: 1, 4: 1}


# ---- hostile messages ------------------------------------------------------------------------

_JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=40),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=12), inner, max_size=4),
    max_leaves=12,
)
_COLUMN = st.sampled_from(["kind", "id", "batch", "plan", "step", "layout", "times", "of", "stock", "from", "unit"])
_ROWS = st.lists(st.dictionaries(_COLUMN | st.text(max_size=9), _JSON, max_size=9), max_size=5)


@given(_JSON | st.fixed_dictionaries({"rows": _ROWS | _JSON}))
def test_hostile_json_is_answered_with_problems(sent: Any) -> None:
    rows = sent.get("rows") if isinstance(sent, dict) else sent
    with suppress(InputError):
        assert all(isinstance(text, str) for row in checked_rows(rows) for text in row.values())


def test_hostile_messages_enter_nothing(client: Client, folder: Path) -> None:
    """Bodies that are not JSON, or JSON of the wrong kind, drawn with a fixed seed; also the right one, broken."""
    draw = random.Random(5)
    whole = json.dumps({"plan": DATA["plan"], "rows": [tick(0), tick(1)]}).encode()
    bodies = [b"", b"[", b"null", b"[]", b'{"rows":0}', b"[" * 100_000, b'{"rows":' + b"[" * 3000, whole[:-1], b"\xff"]
    for _ in range(400 if IS_NIGHT else 80):
        body = bytearray(whole)
        for _ in range(draw.randint(1, 6)):
            at = draw.randrange(len(body))
            body[at : at + draw.randint(0, 3)] = draw.randbytes(draw.randint(0, 3))
        bodies.append(bytes(body))
    for body in bodies:
        answer = client.post(f"{AT}ticks", content=body, headers={"Content-Type": "application/json"})
        assert answer.status_code in (200, 409)
        read = answer.json()
        assert set(read) in ({"problems"}, {"rows", "entered", "refused", "notes", *OTHERS})
    large = client.post(f"{AT}ticks", content=b" " * (MOST_SENT + 1), headers={"Content-Type": "application/json"})
    assert large.status_code == 409
    plain = client.post(f"{AT}ticks", content=whole, headers={"Content-Type": "text/plain"})
    assert plain.status_code == 409, "a form of another site cannot send JSON"
    rows = client.get(f"{AT}state").json()["rows"]
    assert all(row["step"] in {each["key"] for each in DATA["steps"]} for row in rows if row["kind"] == "cuts made")


@pytest.mark.parametrize("name", ["<img src=x onerror=alert(1)>", "=cmd|' /C calc'!A0", "'; DROP TABLE event"])
def test_hostile_texts_are_texts(client: Client, name: str) -> None:
    row = tick(0, note=name)
    answer = send(client, row)
    assert answer["refused"] or answer["rows"][0]["note"] == name


# ---- kills -----------------------------------------------------------------------------------


@contextmanager
def servers(folder: Path) -> Iterator[tuple[int, "subprocess.Popen[str]"]]:
    """A process that starts servers on one port."""
    words = [sys.executable, "-m", "tests.page.saw_server", str(folder)]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen(words, text=True, stdin=-1, stdout=-1, env=environment, cwd=ROOT) as process:
        assert process.stdout is not None
        try:
            yield int(process.stdout.readline()), process
        finally:
            process.stdin.close()  # type: ignore[union-attr]
            process.wait(20)


def started(process: "subprocess.Popen[str]") -> int:
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write("start\n")
    process.stdin.flush()
    return int(process.stdout.readline())


class Sender:
    """Mimics the page's queue: what is not acknowledged is sent again."""

    def __init__(self, port: int) -> None:
        self.port, self.acknowledged = port, set[str]()
        self.queue: list[dict[str, Any]] = []
        self.is_stopped = False

    def post(self) -> bool:
        rows = self.queue[:5]
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=5)
        try:
            body = json.dumps({"plan": DATA["plan"], "rows": rows})
            connection.request("POST", f"{AT}ticks", body, {"Content-Type": "application/json"})
            answer = json.loads(connection.getresponse().read())
        except (OSError, http.client.HTTPException, ValueError):
            return False
        finally:
            connection.close()
        assert answer.get("refused") == [], answer
        self.acknowledged |= set(answer["entered"])
        self.queue = [row for row in self.queue if row["id"] not in self.acknowledged]
        return True

    def go_on(self) -> None:
        draw = random.Random(3)
        while not self.is_stopped:
            self.queue.append(tick(draw.choice([0, 1, 2, 3])))
            if not self.post():
                time.sleep(0.003)


@pytest.mark.slow("a server started and killed for each case")
def test_kills_lose_nothing_acknowledged_and_count_nothing_twice(folder: Path) -> None:
    kills = 200 if IS_NIGHT else 20
    draw = random.Random(1)
    with servers(folder) as (port, process):
        sender = Sender(port)
        ticking = threading.Thread(target=sender.go_on, daemon=True)
        ticking.start()
        cut_off = 0
        for _ in range(kills):
            child = started(process)
            before = len(sender.acknowledged)
            until = time.monotonic() + 10
            while len(sender.acknowledged) < before + draw.choice([0, 1, 3]) and time.monotonic() < until:
                time.sleep(0.001)
            time.sleep(draw.random() * 0.03)
            os.kill(child, signal.SIGKILL)
            cut_off += bool(sender.queue)
        sender.is_stopped = True
        ticking.join()
        sent = len(sender.acknowledged) + len(sender.queue)
        started(process)
        until = time.monotonic() + 20
        while sender.queue and time.monotonic() < until:
            sender.post()
        assert sender.queue == []
    assert cut_off > kills // 4, "kills fall between sending and acknowledging"
    book = own_book(folder / "hobby-batch.toml")
    assert checked_book(book).faults == ()
    with open_book(book) as opened:
        counts = Counter(event.id for event in opened.events() if event.kind == "cuts made")
        (batch,) = opened.state().batches
    assert set(counts) == sender.acknowledged
    assert set(counts.values()) == {1}
    assert sum(each.times for each in batch.ticks) == len(counts) == sent
