"""Plausible numbers for an experiment: the stream of choices, the only home of randomness, and the draw."""
