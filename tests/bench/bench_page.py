"""How long people wait for the page: from the command to the first page, and to a screen of a design.

`python tests/bench/bench_page.py [--smoke]`

Seconds of the clock, the least and the middle of five starts with warm caches, over the wire without a browser. The
first page should be there in 2 s. Where WOODSHOP_CHROMIUM names a browser, also until it shows the heading; the
browser runs before. `--smoke` starts once.
"""

import http.client
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SCREEN = "/design/hobby-batch/hives"


def get(port: int, path: str, cookie: str = "") -> http.client.HTTPResponse:
    """The answer to one request."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("GET", path, headers={"Cookie": cookie} if cookie else {})
    answer = connection.getresponse()
    answer.read()
    connection.close()
    return answer


def start(folder: Path, browser: object) -> dict[str, float]:
    """The seconds of one start, from the command: the first page, then a screen of a design."""
    began = time.perf_counter()
    words = [sys.executable, "-m", "woodshop", "page", str(folder), "--no-browser"]
    process = subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
    assert process.stdout is not None
    found = re.search(r"http://127\.0\.0\.1:(\d+)(/\?token=\S+)", process.stdout.readline())
    assert found is not None
    port, seconds = int(found[1]), {"address printed": time.perf_counter() - began}
    if browser is None:
        cookie = str(get(port, found[2]).headers["Set-Cookie"]).partition(";")[0]
        assert get(port, "/", cookie).status == 200
        seconds["first page"] = time.perf_counter() - began
        before = time.perf_counter()
        assert get(port, SCREEN, cookie).status == 200
        seconds["first screen of a design"] = time.perf_counter() - before
        before = time.perf_counter()
        assert get(port, SCREEN, cookie).status == 200
        seconds["the same again"] = time.perf_counter() - before
    else:
        page = browser.new_page()  # type: ignore[attr-defined]
        page.goto(found[0])
        page.wait_for_selector("h1")
        seconds = {"first page in the browser": time.perf_counter() - began}
        page.close()
    process.send_signal(signal.SIGINT)
    process.wait(timeout=30)
    return seconds


def measure(folder: Path, runs: int, browser: object = None) -> None:
    """Prints the seconds of some starts."""
    start(folder, browser)  # warms the caches
    starts = [start(folder, browser) for _ in range(runs)]
    for what in starts[0]:
        each = sorted(seconds[what] for seconds in starts)
        print(f"  {what:<28}{each[0]:6.2f} {each[len(each) // 2]:6.2f}", flush=True)


def main() -> int:
    """Measures; with --smoke one start."""
    runs = 1 if "--smoke" in sys.argv else 5
    with tempfile.TemporaryDirectory() as place:
        for name in ("hobby-batch.toml", "creekside-lumberyard.toml"):
            shutil.copy(ROOT / "designs" / name, place)
        print("The page: seconds, least and middle")
        measure(Path(place), runs)
        if (path := os.environ.get("WOODSHOP_CHROMIUM")) and "--smoke" not in sys.argv:
            from playwright.sync_api import sync_playwright

            with sync_playwright() as driver:
                measure(Path(place), runs, driver.chromium.launch(executable_path=path, args=["--no-sandbox"]))
    return 0


if __name__ == "__main__":
    sys.exit(main())
