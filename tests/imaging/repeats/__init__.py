"""Tests of repeat tracings."""
