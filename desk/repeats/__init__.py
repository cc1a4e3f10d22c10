"""Repeats of sheets on the screen: the blind page, what is shut meanwhile, pairs, figures and plots."""
