"""Norms that a portfolio holds its tracings against: the published ones, and its own in their place."""
