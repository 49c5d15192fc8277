"""The one door for outside text: a file is read or refused with its line and the nearest name; it is written whole or not at all."""
