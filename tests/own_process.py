"""The command in a process of its own, forked from one that has imported everything: a new interpreter takes a second.

`python -m tests.own_process` is that one: it reads a command a line, and answers with its exit code.
"""

import gc
import importlib
import json
import os
import pkgutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import woodshop
from woodshop.cli import main

ROOT = Path(__file__).resolve().parents[1]


class Processes:
    """Runs commands, each in a process that knows nothing of the others."""

    def __init__(self, server: "subprocess.Popen[str]") -> None:
        self.server = server

    def run(self, *words: str, folder: Path, path: tuple[Path, ...] = ()) -> "subprocess.CompletedProcess[str]":
        """The command, run in that folder with more folders on the path of modules; `.out` and `.err` stay there."""
        assert self.server.stdin is not None
        assert self.server.stdout is not None
        print(json.dumps([words, str(folder), list(map(str, path))]), file=self.server.stdin, flush=True)
        code = int(self.server.stdout.readline())
        out, err = ((folder / name).read_text(encoding="utf-8") for name in (".out", ".err"))
        return subprocess.CompletedProcess(words, code, out, err)


@contextmanager
def own_processes() -> Iterator[Processes]:
    """Ends when the block does."""
    command = [sys.executable, "-m", "tests.own_process"]
    with subprocess.Popen(command, cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as server:
        yield Processes(server)


def serve() -> None:
    """Answer commands until there are no more. Each child leaves this function by the exit of its command."""
    for each in pkgutil.walk_packages(woodshop.__path__, "woodshop."):
        if not each.name.endswith("__main__"):
            importlib.import_module(each.name)
    gc.freeze()  # else each child copies the memory of all modules as it searches them for garbage
    for line in sys.stdin:
        child = os.fork()
        if child == 0:
            _become(*json.loads(line))
        _, status = os.waitpid(child, 0)
        print(os.waitstatus_to_exitcode(status), flush=True)


def _become(words: list[str], folder: str, path: list[str]) -> None:
    os.chdir(folder)
    sys.path.extend(path)
    for number, name in enumerate((os.devnull, ".out", ".err")):
        file = os.open(name, os.O_RDWR | os.O_CREAT | os.O_TRUNC, 0o600)
        os.dup2(file, number)
        os.close(file)
    main(words, prog_name="woodshop")


if __name__ == "__main__":
    serve()
