"""Slots by cases: the grid, the best choice, one case against every slot, what is due."""
