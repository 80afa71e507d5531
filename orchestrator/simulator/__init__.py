"""People and thermometers for the demo and the tests: they act from outside, as people do."""
