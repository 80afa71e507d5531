"""What the screens and the API show: facts, no words. Builders take (state, facts, now) and nothing else."""
