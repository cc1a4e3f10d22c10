"""Pages of this room: they translate between request and services, nothing else."""
