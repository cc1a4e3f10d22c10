"""Pages of pictures: they translate between request and services, nothing else."""
