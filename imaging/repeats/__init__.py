"""Repeat tracings: the same radiograph traced again without sight of the first, and what the pairs tell.

The statistics are `portfolio.repeats`; this package keeps which tracing repeats which, and reads pairs.
"""
