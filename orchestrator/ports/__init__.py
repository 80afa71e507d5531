"""Small protocols: what the engine needs from the world, and no more."""
