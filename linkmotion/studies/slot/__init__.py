"""How to clean up a worn slot."""
