"""A model of a gear to cut out of card: its pieces, their layers, and how they lie on sheets."""
