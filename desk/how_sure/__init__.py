"""How sure a score is: the page beside the score page."""
