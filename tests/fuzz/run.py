"""Hostile files and command lines, each tried by a process of its own under limits of processor and memory.

    python -m tests.fuzz.run --cases 20000 --processes 2 --seed 1

prints the figures, and each case that failed with what makes it again; it exits with 1 if any did.
"""

import argparse
import importlib
import os
import pkgutil
import resource
import shutil
import signal
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from random import Random

from click.testing import CliRunner

import woodshop as package
from tests.fuzz import mutations
from tests.fuzz.corpus import COMMANDS, known_keys, options_of, write_corpus
from woodshop.cli import main as woodshop

SECONDS, MEGABYTES = 60, 1000
LOADED = 150.0  # megabytes of a process in which every module was imported and nothing was done
HEAVY = ("plan", "quote", "compare", "season", "schedule")  # these plan; every eighth case is one of them
_CODES = (0, 1, 2, 3, 4)


@dataclass(frozen=True)
class Outcome:
    """What came of a case: its exit code, what was wrong, seconds of processor and megabytes it took."""

    case: str
    code: int
    wrong: str
    seconds: float
    megabytes: float
    words: tuple[str, ...]


def make_case(seed: int, number: int, folder: Path) -> list[str]:
    """Change the files in the folder, or the words of a command, and return the words."""
    draw = Random(f"{seed}-{number}")
    heavy = number % 8 == 0
    words = draw.choice([each for each in COMMANDS if (each.split()[0] in HEAVY) is heavy]).split()
    words = [word.replace("quilt-box", "quilt box") for word in words]
    files = sorted(path for path in folder.iterdir() if path.name in _read_by(words, folder))
    kind = draw.random()
    if files and kind < 0.85:
        for path in draw.sample(files, min(len(files), draw.choice((1, 1, 1, 2)))):
            _change(path, draw)
    if not files or kind > 0.75:
        words = [words[0], *mutations.options(words[1:], draw, options_of(words[0]))]
    return words


def _read_by(words: list[str], folder: Path) -> set[str]:
    """The files that a command reads: those it names, and those that they name."""
    found = {word for word in words if (folder / word).is_file()}
    text = "".join((folder / name).read_text(encoding="utf-8") for name in found if name.endswith(".toml"))
    return found | {path.name for path in folder.iterdir() if f'"{path.name}"' in text}


def _change(path: Path, draw: Random) -> None:
    data = path.read_bytes()
    if draw.random() < 0.12 or path.suffix == ".book":
        made = mutations.some_bytes(data, draw)
    elif path.suffix == ".xlsx":
        made = mutations.xlsx(data, draw)
    else:
        text = data.decode("utf-8")
        if path.suffix == ".toml":
            text = mutations.toml(text, draw, _KEYS)
        else:
            text = mutations.TEXT_KINDS[path.suffix](text, draw)
        made = text.encode("utf-8", "surrogatepass")
    path.write_bytes(made)


_KEYS = known_keys()


def _state(folder: Path) -> dict[str, tuple[int, int]]:
    return {
        str(path.relative_to(folder)): (path.lstat().st_mtime_ns, path.lstat().st_size) for path in folder.rglob("*")
    }


def try_case(seed: int, number: int, corpus: Path) -> Outcome:
    """Run one case in a child process, and judge it."""
    folder = Path(tempfile.mkdtemp(prefix="fuzz-"))
    try:
        for path in corpus.iterdir():
            shutil.copy2(path, folder / path.name)
        words = make_case(seed, number, folder)
        read, write = os.pipe()
        inherited = max(0.0, _megabytes_here() - LOADED)
        child = os.fork()
        if child == 0:
            os.close(read)
            _run(words, folder, write)
        os.close(write)
        with os.fdopen(read, "rb") as pipe:
            said = pipe.read().decode("utf-8", "replace")
        _, status, used = os.wait4(child, 0)
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    seconds, megabytes = used.ru_utime + used.ru_stime, used.ru_maxrss / 1000 - inherited
    code, _, wrong = said.partition("\n")
    if os.WIFSIGNALED(status):
        number_of = os.WTERMSIG(status)
        wrong = f"over {SECONDS} s of processor" if number_of == signal.SIGXCPU else f"ended by signal {number_of}"
    elif megabytes > MEGABYTES and not wrong:
        wrong = f"{megabytes:.0f} MB of memory"
    return Outcome(f"{seed}-{number}", int(code or -1), wrong, seconds, megabytes, tuple(words))


def _megabytes_here() -> float:
    """Memory of this process now: a child that is forked from it starts with as much."""
    return int(Path("/proc/self/statm").read_text().split()[1]) * resource.getpagesize() / 1e6


def _run(words: list[str], folder: Path, write: int) -> None:
    """In the child: the command, in its folder, on one core; then what came of it through the pipe."""
    try:
        resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS + 5))
        resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30))
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
        os.cpu_count = lambda: 1
        os.chdir(folder)
        before = _state(folder)
        done = CliRunner().invoke(woodshop, words)
        wrong = ""
        if done.exception is not None and not isinstance(done.exception, SystemExit):
            wrong = "".join(traceback.format_exception(done.exception))
        elif done.exit_code not in _CODES:
            wrong = f"exit code {done.exit_code}"
        elif done.exit_code in (2, 3, 4) and _state(folder) != before:
            wrong = f"exit code {done.exit_code}, and written: {sorted(_state(folder).keys() ^ before.keys())}"
        elif done.exit_code in (2, 3, 4) and not done.output.strip():
            wrong = f"exit code {done.exit_code} without a message"
        os.write(write, f"{done.exit_code}\n{wrong}".encode("utf-8", "replace")[:60_000])
    except BaseException:
        os.write(write, f"-1\n{traceback.format_exc()}".encode("utf-8", "replace")[:60_000])
    finally:
        os._exit(0)


def load_all() -> None:
    """Import every module once, so that no case has to."""
    for each in pkgutil.walk_packages(package.__path__, "woodshop."):
        if not each.name.endswith("__main__"):
            importlib.import_module(each.name)


def try_all(seed: int, numbers: range) -> Iterator[Outcome]:
    """Every case of these numbers."""
    with tempfile.TemporaryDirectory() as corpus:
        write_corpus(Path(corpus))
        for number in numbers:
            yield try_case(seed, number, Path(corpus))


def main() -> int:
    """Try the cases over several processes, and print the figures."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--cases", type=int, default=500)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--processes", type=int, default=os.cpu_count() or 1)
    given = asked.parse_args()
    shares = [range(given.first + n, given.first + given.cases, given.processes) for n in range(given.processes)]
    load_all()
    children = []
    for share in shares[1:]:
        child = os.fork()
        if child == 0:
            os._exit(_print(given.seed, share))
        children.append(child)
    failed = _print(given.seed, shares[0])
    codes = [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children]
    return 1 if failed or any(codes) else 0


def _short(wrong: str) -> str:
    """The end of a traceback."""
    return "\n".join(wrong.strip().splitlines()[-8:])


def _print(seed: int, numbers: range) -> int:
    """Print each case that failed, and the figures; interrupted, those of the cases tried by then."""
    codes: Counter[int] = Counter()
    wrongs, longest, largest = 0, 0.0, 0.0
    with suppress(KeyboardInterrupt):
        for outcome in try_all(seed, numbers):
            codes[outcome.code] += 1
            longest, largest = max(longest, outcome.seconds), max(largest, outcome.megabytes)
            if outcome.wrong:
                wrongs += 1
                print(f"CASE {outcome.case}: {list(outcome.words)!a}\n{_short(outcome.wrong)}", flush=True)
    print(
        f"{codes.total()} cases, seed {seed}: {wrongs} failed; exit codes {dict(sorted(codes.items()))}; "
        f"longest {longest:.1f} s of processor, largest {largest:.0f} MB",
        flush=True,
    )
    return 1 if wrongs else 0


if __name__ == "__main__":
    sys.exit(main())
