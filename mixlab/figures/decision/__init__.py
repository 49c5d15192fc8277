"""The decision, drawn: the reading on its line and the answer as a card."""
