"""What one entry of the bibliography is."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Source:
    """One published text, or the plain admission that there is none."""

    key: str
    authors: str
    year: str
    title: str
    where: str = ""

    def __str__(self) -> str:
        return ", ".join(part for part in (self.authors, self.year, self.title, self.where) if part)
