"""Steps of the readings."""
