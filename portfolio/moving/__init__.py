"""A coded patient handed over to a colleague's portfolio: asked for by one, taken by the other."""
