"""Physics: pure functions of floats or arrays in SI. Knows nothing of files, names, units or screens."""
