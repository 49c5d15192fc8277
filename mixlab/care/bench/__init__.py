"""The bench: vials, a syringe and two hands, as physics that judges nothing."""
