from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from tests.jobs.settings import JOB_KINDS


@pytest.fixture(autouse=True)
def _kinds_and_a_data_folder_of_its_own(settings: Any, tmp_path: Path) -> None:
    settings.JOB_KINDS = JOB_KINDS
    settings.DATA_DIR = tmp_path
