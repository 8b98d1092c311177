"""What is wrong with it: which dimensions explain the readings, how surely, and what to read next."""
