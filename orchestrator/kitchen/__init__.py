"""Reads a kitchen folder of YAML into the models of core, and names every fault with file and line."""
