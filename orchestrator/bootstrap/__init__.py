"""Knows every floor and wires them together."""
