"""A low, treated and measured again until it is over."""
