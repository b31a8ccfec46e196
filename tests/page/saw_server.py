"""A server of the saw page alone, for tests that kill it: `python -m tests.page.saw_server FOLDER`.

It prints its port. For each line on standard input it starts a server on that port, and prints the process to kill.
The port stays open in between, as the queue of the browser's connections does not matter for what is tested.
"""

import os
import signal
import socket
import sys
import time
from contextlib import suppress
from pathlib import Path

import uvicorn
from starlette.applications import Starlette

from woodshop.page.saw import saw_routes


def main() -> None:
    folder = Path(sys.argv[1])
    chosen = socket.socket()
    chosen.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    chosen.bind(("127.0.0.1", 0))
    port = chosen.getsockname()[1]
    chosen.close()
    print(port, flush=True)
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)
    child = 0
    for _ in sys.stdin:
        bound = socket.socket()
        bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        for _ in range(500):  # the killed one may not be gone yet
            try:
                bound.bind(("127.0.0.1", port))
                break
            except OSError:
                time.sleep(0.01)
        bound.listen(16)
        child = os.fork()
        if not child:
            signal.signal(signal.SIGCHLD, signal.SIG_DFL)
            app = Starlette(routes=saw_routes(folder))
            uvicorn.Server(uvicorn.Config(app, log_config=None, access_log=False)).run(sockets=[bound])
            os._exit(0)
        bound.close()
        print(child, flush=True)
    if child:
        with suppress(OSError):  # it may be killed already
            os.kill(child, signal.SIGKILL)


if __name__ == "__main__":
    main()
