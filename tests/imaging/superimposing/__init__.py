"""Tests of superimpositions."""
