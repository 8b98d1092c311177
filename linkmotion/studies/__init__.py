"""Studies: the questions a restorer asks, each answered from the exact motion."""
