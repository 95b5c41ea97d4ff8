"""Texts that people write for molewright: a tree with its lines, and typed access to it."""
