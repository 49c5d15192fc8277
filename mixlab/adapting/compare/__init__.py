"""Comparing two sites: everything there is, what differs, and how it is told."""
