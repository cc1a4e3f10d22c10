"""A caseload of 6,000 cases before and after, on PostgreSQL: the page of figures, and PAR scored anew for all.

The measuring is a process of its own, `bench/_caseload_on_postgresql.py`, because the settings are read once.
"""

import os
import subprocess
import sys
import tempfile

from tests.postgresql import temporary_cluster


def main() -> None:
    with temporary_cluster() as address, tempfile.TemporaryDirectory(prefix="foliowright-bench-") as folder:
        environment = {
            **os.environ,
            "FOLIOWRIGHT_DATABASE": address,
            "FOLIOWRIGHT_DATA": folder,
            "DJANGO_SETTINGS_MODULE": "config.settings",
        }
        subprocess.run([sys.executable, "-m", "bench._caseload_on_postgresql"], env=environment, check=True)
