"""Temperatures as functions of arrays and numbers: estimates, verdicts, lethality, boiling point."""
