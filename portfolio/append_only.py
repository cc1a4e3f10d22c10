"""Rows of a history: written once, and gone only with what they belong to."""

from typing import Any, NoReturn, TypeVar

from django.db import models

Row = TypeVar("Row", bound=models.Model)


class AppendOnly(models.QuerySet[Row]):
    """Refuses to change or delete rows; deleting what they belong to takes them along."""

    def update(self, **kwargs: Any) -> NoReturn:
        raise TypeError(f"{self.model.__name__} is append-only: rows are not changed.")

    def delete(self) -> NoReturn:
        raise TypeError(f"{self.model.__name__} is append-only: rows go only with what they belong to.")
