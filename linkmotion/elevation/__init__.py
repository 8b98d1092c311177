"""The side elevation of an engine: one drawing, made from a gear's own parts, that any view can place and colour."""
