"""What puts pictures and controls on the screen; it knows no insulin."""
