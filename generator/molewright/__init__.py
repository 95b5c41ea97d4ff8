"""Molewright: titration questions and the mark schemes that belong to them.

A question is an experiment with one number hidden. DEVELOPERS.md tells the steps in order.
"""

__version__ = "0.2.0"
