"""Parts on mistakes in the laboratory: every effect is performed or computed, none is stated."""
