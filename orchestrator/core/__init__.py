"""Pure heart of the program: no I/O, no clock, no randomness; pydantic is its only third party."""
