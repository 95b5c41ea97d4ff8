"""Common mistakes: one put into a derivation, the words it may use, and the wrong answers of a whole question."""
