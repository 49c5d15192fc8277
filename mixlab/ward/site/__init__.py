"""The site: how one ward works, its file, and which one is in force."""
