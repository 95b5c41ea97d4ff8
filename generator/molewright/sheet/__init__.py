"""Sheets as trees of nodes, and how questions become sheets."""
