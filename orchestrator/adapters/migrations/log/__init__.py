"""Steps of the event log."""
