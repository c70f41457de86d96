"""Measurements side by side in one run; nothing here is a test."""
