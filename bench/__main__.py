"""`./foliowright bench [NAME]`: every measurement of this folder, each a ratio to its own baseline."""

import pkgutil
import sys
from importlib import import_module
from pathlib import Path


def main(names: list[str]) -> int:
    known = [m.name for m in pkgutil.iter_modules([str(Path(__file__).parent)]) if not m.name.startswith("_")]
    unknown = [name for name in names if name not in known]
    if unknown:
        print(f"no measurement {', '.join(unknown)}; there are: {', '.join(known)}", file=sys.stderr)
        return 2
    for name in names or known:
        print(f"== {name}")
        import_module(f"bench.{name}").main()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
