"""The sheets of the card model."""
