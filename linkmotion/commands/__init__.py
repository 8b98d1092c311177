"""Commands: each reads its input, makes one study, and shows it."""
