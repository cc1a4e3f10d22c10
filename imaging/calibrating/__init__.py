"""Scales of pictures: kept by people or stated by files, with their history."""
