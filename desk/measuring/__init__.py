"""The measuring page and the bench sheet as plain frozen objects."""
