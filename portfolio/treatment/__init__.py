"""The course of a case: what was done when and by whom, and what is stated about the case as a whole."""
