"""Before and after: one case between two stages, and a whole caseload."""
