"""Engine files made wrong on purpose, and the command run on them."""
