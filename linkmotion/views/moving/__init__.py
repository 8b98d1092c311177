"""The page that moves: one self-contained file, or served and recomputed as figures are changed."""
