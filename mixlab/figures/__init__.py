"""How things look: matplotlib figures that take records and return the artists they made."""
