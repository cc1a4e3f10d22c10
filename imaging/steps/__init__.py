"""Changes that are saved one by one, undone and done again: what marks and tracings have in common."""
