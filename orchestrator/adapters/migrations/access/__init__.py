"""Steps of who may do what."""
