"""The syringe and the bench, drawn to scale."""
