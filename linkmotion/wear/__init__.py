"""Wear, bends and fits: parts that are not as drawn."""
