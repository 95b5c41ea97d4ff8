"""Chemistry that is true: quantities, formulae, reactions, equilibria."""
