"""HTML to PDF in a child process that sees one folder and nothing else."""
