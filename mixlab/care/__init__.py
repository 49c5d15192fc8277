"""The verbs: what is done with the order, as pure functions."""
