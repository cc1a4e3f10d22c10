"""Before and after: what treatment changed, by published verdicts, for one case and for a caseload."""
