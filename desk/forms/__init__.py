"""Checks of what pages send."""
