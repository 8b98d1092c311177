"""Drawing, measured parts and distances between pins as one estimate of every dimension of a side."""
