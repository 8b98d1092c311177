"""What a fitter reads on the engine, and what a gear of other dimensions would have him read."""
