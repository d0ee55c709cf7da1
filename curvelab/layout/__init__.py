"""Geometry of the run and places for labels, in plain NumPy, shared by screen and paper."""
