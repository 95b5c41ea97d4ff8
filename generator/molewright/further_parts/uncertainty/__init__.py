"""Parts on the uncertainty of an answer, and what would make it smaller."""
