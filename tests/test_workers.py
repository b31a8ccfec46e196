"""Work shared over the cores comes back in order, and no worker outlives the process that started it."""

import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest

from woodshop import workers
from woodshop.workers import over_cores

ROOT = Path(__file__).resolve().parents[1]
forking = pytest.mark.skipif(not hasattr(os, "fork"), reason="no processes can be forked here")


def _square(number: int) -> int:
    return number * number


def _fail(number: int) -> int:
    raise ValueError(f"task {number}")


@pytest.mark.invariant
@pytest.mark.parametrize("cores", [1, 3])
def test_results_come_in_the_order_of_the_tasks(cores: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: cores)
    ended: list[int] = []
    assert over_cores(_square, [(n,) for n in range(20)], ended=ended.append) == [n * n for n in range(20)]
    assert sorted(ended) == list(range(20))


@pytest.mark.parametrize("cores", [1, 3])
def test_an_exception_of_a_task_is_raised(cores: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(os, "cpu_count", lambda: cores)
    with pytest.raises(ValueError, match="task 1"):
        over_cores(_fail, [(1,), (2,)])


SCRIPT = r"""
    import os, signal, sys, time
    signal.signal(signal.SIGINT, signal.default_int_handler)  # a run in the background ignores it
    os.cpu_count = lambda: 3
    from woodshop import workers
    if sys.argv[1] == "watched":
        workers._dies_with_parent = lambda: False
    def work(number):
        os.write(1, b"%d\n" % os.getpid())
        time.sleep(300)
    workers.over_cores(work, [(n,) for n in range(3)])
"""


def _lives(pid: int) -> bool:
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except OSError:
        return False
    return state not in "ZX"


@forking
@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processes are listed in /proc only")
@pytest.mark.parametrize("how", ["asked of the kernel", "watched"])
@pytest.mark.parametrize("number", [signal.SIGKILL, signal.SIGTERM, signal.SIGINT])
def test_workers_end_with_their_parent(how: str, number: int) -> None:
    command = [sys.executable, "-c", textwrap.dedent(SCRIPT), how]
    parent = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    assert parent.stdout is not None
    pids = [int(parent.stdout.readline()) for _ in range(3)]
    assert all(_lives(pid) for pid in pids)
    parent.send_signal(number)
    parent.communicate(timeout=60)
    for _ in range(300):
        if not any(_lives(pid) for pid in pids):
            break
        time.sleep(0.1)
    assert [pid for pid in pids if _lives(pid)] == []


@forking
def test_a_pool_runs_in_this_process_where_threads_run(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("threading.active_count", lambda: 2)
    with workers.workers(4) as pool:
        assert pool.submit(os.getpid).result() == os.getpid()


@forking
def test_an_interrupt_while_the_workers_are_forked_is_not_lost() -> None:
    """What runs at a fork ignores exceptions: the signal waits until the workers are there."""
    code = """
        import os, signal
        signal.signal(signal.SIGINT, signal.default_int_handler)  # a run in the background ignores it
        from woodshop import workers
        workers._cores = lambda: 2
        os.register_at_fork(after_in_parent=lambda: os.kill(os.getpid(), signal.SIGINT))
        try:
            workers.over_cores(abs, [(1,), (2,)])
        except KeyboardInterrupt:
            print("interrupted")
    """
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code)], cwd=ROOT, capture_output=True, text=True, timeout=60, check=False
    )
    assert (done.stdout, done.stderr) == ("interrupted\n", "")


def test_products_of_arrays_take_one_thread_unless_the_user_says_more() -> None:
    script = "import os, woodshop; print(os.environ['OPENBLAS_NUM_THREADS'])"
    for given, wanted in ((None, "1"), ("3", "3")):
        env = {name: value for name, value in os.environ.items() if name != "OPENBLAS_NUM_THREADS"}
        env |= {"OPENBLAS_NUM_THREADS": given} if given else {}
        done = subprocess.run([sys.executable, "-c", script], cwd=ROOT, env=env, capture_output=True, text=True)
        assert done.stdout.strip() == wanted
