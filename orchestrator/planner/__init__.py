"""Orders become batches, tasks and a plan: first guess, constraint model, repair and explanation."""
