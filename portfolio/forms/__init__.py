"""Forms of this room, one module for each thing they describe."""
