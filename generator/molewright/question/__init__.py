"""One question: procedure, draw, bench, derive, check."""
