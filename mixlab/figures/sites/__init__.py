"""Two wards, drawn one above the other."""
