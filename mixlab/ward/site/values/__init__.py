"""Kinds of values in a site file: how each is read, checked and written."""
