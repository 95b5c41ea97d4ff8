"""Chemistry that a draw must not break: what is in the flask, and a rule for each kind of titration."""
