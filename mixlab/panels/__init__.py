"""Panels for the screen: one frozen state, controls, one redraw."""
