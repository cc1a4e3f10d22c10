"""Superimpositions: marks on stable structures, which tracings are laid on which, and what cannot be laid.

How tracings are laid is `imaging.cephalometry.superimpose`; this package keeps marks, reads and draws.
"""
