"""Cephalometric tracing: landmarks, measures, their errors, outlines and superimposition.  Pure.

A tracing file becomes a `Face` (`reading.py`): points in millimetres, profile facing +x, y up.  Measures are
formulas of few shapes (`shapes.py`), listed by analysis (`analyses/`); a formula gives its value and how it
moves with each coordinate, which is what `errors.py` propagates.
"""
