"""Tracings of lateral radiographs: which points lie where, what they measure, and what is taken over as findings.

Coordinates are pixels of the original picture, x to the right and y down, whatever has been done to the picture
since.  The formulas are those of `imaging.cephalometry`; this package keeps, shows and takes over.
"""
