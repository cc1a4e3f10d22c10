"""A pytest plugin that makes every import of Django fail, so that pure code proves it does without."""

import sys
from collections.abc import Sequence
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec
from types import ModuleType

BARRED = ("django", "pytest_django", "allauth", "factory")


class Barrier(MetaPathFinder):
    """Refuses the barred packages before any other finder is asked."""

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        if fullname.split(".")[0] in BARRED:
            raise ModuleNotFoundError(
                f"{fullname} is barred here: pure code must do without it", name=fullname
            )
        return None


already = sorted(name for name in sys.modules if name.split(".")[0] in BARRED)
if already:
    raise RuntimeError(f"imported before the barrier was up: {', '.join(already[:3])}")
sys.meta_path.insert(0, Barrier())
