"""The single writer: one inbox, one loop, replay, and the folding of readings into assessments."""
