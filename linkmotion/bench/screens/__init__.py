"""The screens, one in a file; each has a ``SCREEN``."""
