"""Points, lines, distances and angles that a person marks on a picture."""
