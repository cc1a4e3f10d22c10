"""Witness pictures taken with a phone, by a one-time code."""
