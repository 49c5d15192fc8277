"""The order: what it is, how its text is read, and every reason not to read it."""
