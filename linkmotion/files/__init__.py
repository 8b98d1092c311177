"""Engine files and readings in, results out."""
