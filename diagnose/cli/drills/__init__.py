"""`drill`: exercises on a simulated engine, at the keys or through a pipe."""
