"""The day after a dose: meals, windows, visits and what does not fit."""
