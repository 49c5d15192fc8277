"""Adapting the course: comparing sites, copies for a cohort, and the catalogue of sentences."""
