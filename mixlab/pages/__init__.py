"""What is read as text, on the screen and on paper: records in, HTML out, said in the voice in force."""
