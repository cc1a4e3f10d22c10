"""Errors of measurement that a portfolio sets in place of the defaults, with their history."""
