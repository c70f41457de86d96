"""Tests; a package so that the evaluation can be run by its name."""
