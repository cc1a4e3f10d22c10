"""The first page: codes only, never a name or a date."""

from dossier.pages import Page

PAGE = Page(order=10, contents=lambda file: {})
