"""The one door: submit a command, look at a snapshot, follow the changes."""
