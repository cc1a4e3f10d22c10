"""One file for each published analysis, with `ANALYSIS`; the registry finds it by the file's name."""
