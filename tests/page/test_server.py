"""The page over the wire, without a browser: what it answers, what it leaves, how it ends."""

import base64
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.page.served import ROOT, Served, copied, serving
from woodshop.page.guard import MOST_BODY


@pytest.fixture(scope="module")
def served(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    home = tmp_path_factory.mktemp("home")
    with serving(copied(tmp_path_factory.mktemp("folder") / "designs"), home) as running:
        yield running


def handshake(served: Served, **headers: str) -> str:
    """The first line that answers the opening handshake of a WebSocket (RFC 6455, section 4.1)."""
    key = base64.b64encode(b"0123456789abcdef").decode()
    given = {
        "Host": f"127.0.0.1:{served.port}", "Upgrade": "websocket", "Connection": "Upgrade",
        "Sec-WebSocket-Key": key, "Sec-WebSocket-Version": "13", "Origin": served.base, "Cookie": served.cookie,
    } | {name.replace("_", "-"): value for name, value in headers.items()}  # fmt: skip
    lines = "".join(f"{name}: {value}\r\n" for name, value in given.items() if value)
    path = "/_nicegui_ws/socket.io/?EIO=4&transport=websocket"
    with socket.create_connection(("127.0.0.1", served.port), timeout=20) as wire:
        wire.sendall(f"GET {path} HTTP/1.1\r\n{lines}\r\n".encode())
        return wire.recv(4096).decode("latin-1").partition("\r\n")[0]


def test_only_the_printed_address_lets_in(served: Served) -> None:
    assert served.ask("/", with_cookie=False)[0] == 403
    assert served.ask("/?token=guess", with_cookie=False)[0] == 403
    status, headers, body = served.ask("/")
    assert status == 200
    assert served.token not in body.decode()
    assert "server" not in headers
    own = {"Origin": served.base}
    assert served.ask("/", own)[0] == 200
    assert served.ask("/", {"Origin": "null"})[0] == 403
    assert served.ask("/", {"Host": f"evil.example:{served.port}"})[0] == 403


def test_a_foreign_websocket_is_refused(served: Served) -> None:
    served.ask("/")
    assert " 101 " in handshake(served)
    assert " 403 " in handshake(served, Origin="http://evil.example")
    assert " 403 " in handshake(served, Origin="null")
    assert " 403 " in handshake(served, Origin="")
    assert " 403 " in handshake(served, Cookie="x=y")
    assert " 403 " in handshake(served, Host=f"evil.example:{served.port}", Origin=f"http://evil.example:{served.port}")


@pytest.mark.parametrize("path", [
    "/nothing", "/docs", "/openapi.json", "/redoc", "/design/hobby-batch/nothing", "/design/none/file",
    "/design/..%2f..%2fetc%2fpasswd/file", "/design/%2e%2e/file", "/design/%00/file", "/_nicegui/x",
    "/design/creekside-lumberyard/file", f"/design/{'a' * 1_000}/file", "/design/con/file", "/%5c%5cevil/file",
    "//etc/passwd", "/_nicegui/3.18.0/static/../../../../x", "/_nicegui/3.18.0/static/%2e%2e/nicegui.py",
    "/_nicegui/3.18.0/resources/x/%2e%2e/y",
])  # fmt: skip
def test_an_unknown_path_is_plainly_not_found(served: Served, path: str) -> None:
    status, headers, body = served.ask(path)
    assert status == 404
    assert headers["content-type"].startswith(("text/plain", "application/json"))
    assert b"Traceback" not in body
    assert len(body) < 400


def test_large_and_odd_requests_are_refused(served: Served) -> None:
    own = {"Origin": served.base}
    assert served.ask("/", own, "POST", b"x" * (MOST_BODY + 1))[0] == 413
    assert served.ask("/", own, "POST", b"x")[0] in (404, 405)
    assert served.ask("/", {}, "POST", b"x")[0] == 403
    assert served.ask("/", own, "DELETE")[0] in (404, 405)
    assert served.ask("/?x=" + "y" * 3_000)[0] == 404
    assert served.ask("/")[0] == 200


def test_it_answers_on_this_computer_alone(served: Served) -> None:
    """A name of this computer in the network leads to another address, where nothing answers."""
    lines = Path("/proc/net/tcp").read_text().splitlines()[1:] if Path("/proc/net/tcp").exists() else []
    listening = {line.split()[1] for line in lines if line.split()[3] == "0A"}
    places = {each for each in listening if int(each.partition(":")[2], 16) == served.port}
    assert places == ({f"0100007F:{served.port:04X}"} if lines else set())


def test_it_ends_with_one_key_and_leaves_nothing(tmp_path: Path) -> None:
    folder, home = copied(tmp_path / "designs"), tmp_path / "home"
    home.mkdir()
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    with serving(folder, home) as served:
        assert served.ask("/")[0] == served.ask("/design/hobby-batch/file")[0] == 200
        code, said = served.end(signal.SIGINT)
    assert (code, said) == (0, "The page has ended. Your designs are saved.\n")
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    assert list(home.iterdir()) == []


def run(*words: str, **environment: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "woodshop", "page", *words, "--no-browser"],
        cwd=ROOT, env={**os.environ, **environment}, capture_output=True, text=True, timeout=60, check=False,
    )  # fmt: skip


def test_a_folder_or_port_that_cannot_be_used_is_one_error(tmp_path: Path, served: Served) -> None:
    for words, said in (
        ((str(tmp_path / "none"),), "wanted a folder with your designs"),
        ((str(tmp_path), "--port", str(served.port)), "wanted a free port"),
    ):
        done = run(*words)
        assert (done.returncode, done.stdout) == (3, "")
        assert done.stderr.startswith("error: page")
        assert said in done.stderr
        assert "Traceback" not in done.stderr


def test_without_its_packages_the_error_says_how_to_install_them(tmp_path: Path) -> None:
    """Python finds no nicegui: a finder before all others says so."""
    (tmp_path / "sitecustomize.py").write_text(
        "import importlib.util as u\nfound = u.find_spec\n"
        "u.find_spec = lambda name, package=None: None if name == 'nicegui' else found(name, package)\n"
    )
    done = run(str(tmp_path), PYTHONPATH=f"{tmp_path}{os.pathsep}{ROOT}")
    assert done.returncode == 3
    assert done.stderr == (
        "error: page: given an installation without nicegui; wanted woodshop with the page. "
        "Install it: pip install '.[page]' in the woodshop folder.\n"
    )
