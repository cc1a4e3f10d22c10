"""Print FOLDER/page.html to FOLDER/out.pdf: `python -m press.child FOLDER MEMORY SECONDS SIZE` (limits in bytes and seconds).

Knows no Django, settings, secrets or database. Pages reach files of the folder by relative addresses only; every other
address is refused and listed in FOLDER/refused.json, and then there is no out.pdf. The document is written under another name and
renamed when it is whole. Ends with 0 when printed, 3 when an address was refused, anything else on a fault.
"""

import json
import os
import resource
import sys
import warnings
from pathlib import Path
from urllib.parse import unquote, urlsplit

from weasyprint import HTML
from weasyprint.urls import FatalURLFetchingError, URLFetcher, URLFetcherResponse

REFUSED = 3
INSIDE = "inside.invalid"
"""The made-up host that stands for the folder; nothing is ever asked of a network."""

MEDIA_TYPES = {
    ".css": "text/css",
    ".jpg": "image/jpeg",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".ttf": "font/ttf",
}


class OnlyThisFolder(URLFetcher):  # type: ignore[misc]
    """Serves files of one folder and remembers what else was asked for."""

    def __init__(self, folder: Path) -> None:
        super().__init__(allowed_protocols=(), allow_redirects=False)
        self.folder = folder.resolve()
        self.refused: list[str] = []

    def fetch(self, url: str, headers: object = None) -> URLFetcherResponse:
        """The file an address stands for; raises FatalURLFetchingError for everything else."""
        parts = urlsplit(url)
        place = (self.folder / unquote(parts.path).lstrip("/")).resolve()
        kind = MEDIA_TYPES.get(place.suffix)
        inside = parts.scheme == "https" and parts.netloc == INSIDE and place.is_relative_to(self.folder)
        if not inside or kind is None or not place.is_file():
            self.refused.append(url[:300])
            raise FatalURLFetchingError(f"refused: {url[:300]}")
        return URLFetcherResponse(url, place.read_bytes(), {"Content-Type": kind})


def limit(memory_bytes: int, seconds: int, output_bytes: int) -> None:
    """Bound address space, processor time and size of files of this process; the system ends it beyond."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (output_bytes, output_bytes))
    resource.setrlimit(resource.RLIMIT_AS, (memory_bytes, memory_bytes))
    resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 1))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


def print_folder(folder: Path) -> int:
    """Print the page of a folder; the exit code."""
    fetcher = OnlyThisFolder(folder)
    unfinished = folder / "out.pdf.unfinished"
    try:
        page = HTML(
            string=(folder / "page.html").read_text(encoding="utf-8"),
            base_url=f"https://{INSIDE}/",
            url_fetcher=fetcher,
        )
        page.write_pdf(unfinished, pdf_variant="pdf/ua-1")
    except FatalURLFetchingError:
        if not fetcher.refused:
            raise
    if fetcher.refused:
        unfinished.unlink(missing_ok=True)
        (folder / "refused.json").write_text(json.dumps(fetcher.refused), encoding="utf-8")
        return REFUSED
    with unfinished.open("rb") as written:
        os.fsync(written.fileno())
    unfinished.rename(folder / "out.pdf")
    return 0


if __name__ == "__main__":
    warnings.simplefilter("ignore")
    limit(*map(int, sys.argv[2:5]))
    sys.exit(print_folder(Path(sys.argv[1])))
