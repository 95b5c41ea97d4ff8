"""Parts that ask for reasons: why a back titration, what is wrong in a solution, which substance it is."""
