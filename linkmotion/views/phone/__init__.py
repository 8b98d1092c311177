"""Readings taken on a telephone: one offline page, large keys, a drawing for each reading, and a file to carry back."""
