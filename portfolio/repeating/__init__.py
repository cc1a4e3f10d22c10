"""Repeats of sheets: the same records measured again without sight of the first, and what the pairs tell.

The statistics are `portfolio.repeated`; this package keeps which sheet repeats which, and reads pairs.
"""
