"""The point-by-point sheet: every line of a score with what it rests on, and the lines nearest to a step."""
