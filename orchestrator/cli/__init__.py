"""The `coldwright` command."""
