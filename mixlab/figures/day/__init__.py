"""The day after a dose, drawn on a clock line."""
