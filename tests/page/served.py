"""A page that runs in a process of its own, on a folder of its own, as people start it."""

import http.client
import os
import re
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
NEEDED = ("hobby-batch.toml", "creekside-lumberyard.toml", "two-lumberyards.toml", "tidewater-lumberyard.toml")


@dataclass
class Served:
    """A running page: the address that it printed, its folder, and its process."""

    address: str
    folder: Path
    process: subprocess.Popen[str]
    home: Path
    cookie: str = field(default="")

    @property
    def base(self) -> str:
        return self.address.partition("/?")[0]

    @property
    def port(self) -> int:
        return int(self.base.rpartition(":")[2])

    @property
    def token(self) -> str:
        return self.address.partition("token=")[2]

    def end(self, how: signal.Signals = signal.SIGINT) -> tuple[int, str]:
        """Ends the process; its exit code, and what it said on standard error."""
        if self.process.poll() is None:
            self.process.send_signal(how)
        _, said = self.process.communicate(timeout=30)
        return self.process.returncode, said

    def ask(self, path: str, headers: dict[str, str] | None = None, method: str = "GET", body: bytes | None = None,
            with_cookie: bool = True) -> tuple[int, dict[str, str], bytes]:  # fmt: skip
        """One request over the wire: status, headers, body."""
        if with_cookie and not self.cookie:
            given = self.ask(f"/?token={self.token}", with_cookie=False)[1]
            self.cookie = given["set-cookie"].partition(";")[0]
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=20)
        try:
            sent = {**({"Cookie": self.cookie} if with_cookie else {}), **(headers or {})}
            connection.request(method, path, body, sent)
            answer = connection.getresponse()
            return answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read()
        finally:
            connection.close()


@contextmanager
def serving(folder: Path, home: Path, *words: str) -> Iterator[Served]:
    """Starts the page on a folder and a free port; ends it. `home` stands in for the user's home."""
    environment = {**os.environ, "HOME": str(home), "PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "default"}
    environment.pop("PYTEST_CURRENT_TEST", None)  # the web library behaves otherwise under pytest
    process = subprocess.Popen(
        [sys.executable, "-m", "woodshop", "page", ".", "--no-browser", *words],
        cwd=folder, env=environment, text=True, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:\d+/\?token=[\w-]+", line)
        if found is None:
            raise AssertionError(line + process.communicate(timeout=30)[1])
        yield Served(found[0], folder, process, home)
    finally:
        if process.poll() is None:
            process.kill()
        process.communicate()


def copied(folder: Path, names: tuple[str, ...] = NEEDED) -> Path:
    """The folder, with copies of demo files in it."""
    folder.mkdir(parents=True, exist_ok=True)
    for name in names:
        shutil.copy(ROOT / "designs" / name, folder / name)
    return folder
