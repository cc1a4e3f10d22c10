"""The formulas as the tracing page gets them: the file that its script is tested with is what the server sends."""

import json
from pathlib import Path

from imaging.tracing.formulas import formulas

FILE = Path(__file__).parent / "tracing_formulas.json"


def written() -> str:
    return json.dumps(formulas(), indent=1, ensure_ascii=False) + "\n"


def test_the_script_is_tested_with_the_formulas_that_the_server_sends() -> None:
    """To write the file anew: `python -m tests.imaging.test_tracing_formulas`."""
    assert FILE.read_text(encoding="utf-8") == written()


if __name__ == "__main__":
    FILE.write_text(written(), encoding="utf-8")
