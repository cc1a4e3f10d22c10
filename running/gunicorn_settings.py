"""How gunicorn serves the app: two processes of four threads on a socket that `manage.py serve` has bound.

Threads, because browsers open connections ahead of use, which would each hold up a process without them.
"""

import os
from typing import Any

from running import keeper

workers = 2
threads = 4
worker_class = "gthread"
preload_app = True  # a fault in the app then stops the start with its message
timeout = 60
graceful_timeout = 8
control_socket_disable = True
accesslog = None  # addresses of pages are nobody's business
errorlog = "-"
loglevel = "warning"
forwarded_allow_ips = ""


def when_ready(server: Any) -> None:
    print(os.environ.get("FOLIOWRIGHT_READY", ""), flush=True)


def on_exit(server: Any) -> None:
    keeper.end()
