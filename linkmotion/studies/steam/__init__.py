"""What the steam does: diagrams, turning effort, beats."""
