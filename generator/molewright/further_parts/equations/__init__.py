"""Equations that pupils write: a calculation comes in; parts that ask for an equation, or for its ratio, go out."""
