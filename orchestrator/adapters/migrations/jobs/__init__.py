"""Questions to planners anywhere."""
