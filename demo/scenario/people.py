"""Who works at the invented clinic."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody of the invented clinic."""

    name: str
    email: str
    administrator: bool = False


MANAGER = Person("Tove Almqvist", "manager@quillhaven.example", administrator=True)
CANDIDATE = Person("Dr Maren Quillon", "candidate@quillhaven.example")
COLLEAGUE = Person("Dr Idris Vantongeren", "colleague@quillhaven.example")
COLLEAGUES_PORTFOLIO = "Study records"
