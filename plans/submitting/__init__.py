"""Submissions: what was handed in, frozen by digest, and what came back."""
