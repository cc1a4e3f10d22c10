"""Lateral radiographs of invented faces, drawn from parameters; nobody was exposed."""
