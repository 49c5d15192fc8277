"""What is true and who says so."""
