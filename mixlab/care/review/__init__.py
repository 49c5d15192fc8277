"""Judging a run at the bench."""
