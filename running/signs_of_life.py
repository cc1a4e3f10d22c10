"""Whether a process of this machine does its work, for health checks: ends with 0 if it does, else with words and 1.

    python -m running.signs_of_life web PORT   the server answers at 127.0.0.1:PORT and reaches its database
    python -m running.signs_of_life worker     the worker has reached the database and the data folder lately

Does without Django: it is called every few seconds.
"""

import os
import sys
import time
from http.client import HTTPConnection, HTTPException
from pathlib import Path

from jobs import pulse

PROJECT = Path(__file__).resolve().parent.parent
PATIENCE_SECONDS = 5.0


def web(port: int) -> str:
    """What is wrong with the server, or an empty text."""
    connection = HTTPConnection("127.0.0.1", port, timeout=PATIENCE_SECONDS)
    try:
        connection.request("GET", "/alive/")
        status = connection.getresponse().status
    except (OSError, HTTPException) as fault:
        return f"No answer at 127.0.0.1:{port}: {fault}"
    finally:
        connection.close()
    return "" if status == 200 else f"The server answers with status {status}."


def worker(data: Path) -> str:
    """What is wrong with the worker, or an empty text."""
    if pulse.is_alive(data, time.time()):
        return ""
    return f"No worker of this machine has given a sign for {pulse.SILENT_SECONDS:.0f} seconds."


def main(arguments: list[str]) -> str:
    match arguments:
        case ["web", port] if port.isascii() and port.isdecimal():
            return web(int(port))
        case ["worker"]:
            return worker(Path(os.environ.get("FOLIOWRIGHT_DATA") or PROJECT / "var" / "data"))
    return "Say what to look at: web PORT, or worker."


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]) or 0)
