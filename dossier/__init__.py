"""The printed case: what its pages may see, the pages, and their making."""
