"""The page served live: one visitor's session, and the server that answers from it."""
