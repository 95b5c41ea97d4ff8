"""The kinds of relation between the quantities of a procedure, and the words that slips use for what stands in them."""

from __future__ import annotations

from typing import Literal

RelationKind = Literal[
    "concentration",  # n = cV/1000
    "ratio",  # n(A) = r n(B), from a balanced equation
    "contains",  # n(ion) = count × n(substance)
    "scale",  # n(whole) = n(portion) × F/P
    "balance",  # total = reacted + left over
    "total",  # a sum of amounts
    "molar mass",  # m = nM
    "percentage",
    "each",
    "mass concentration",  # γ = cM
    "dissolved",  # γ = 1000 m/V, of a solid that was weighed into the flask
    "hydrate",  # M(hydrate) = M(salt) + mass of water in a mole
    "water",  # mass of water in a mole = x M(H2O)
    "formula",  # M(M2CO3) = mass of M in a mole + M(CO3)
    "atoms",  # mass of M in a mole of M2CO3 = 2 Ar(M)
    "mass in volume",  # mass in 100 cm³ = γ/10
    "normality",  # normality = equivalents × c
    "by mass",  # γ = 10 × density × percentage by mass
    "volume strength",  # volumes of gas = n(gas from 1 dm³) Vm
    "gas volume",  # volume of gas = n Vm
    "mass factor",  # m(protein) = m(nitrogen) × factor
    "subscript",  # n(Cl) = x n(Fe), of FeClx
    "found ratio",  # the reacting ratio that is to be found
    "electrons",  # electrons taken up = count × n(titrant)
    "per gram",  # milligrams for each gram of the sample
    "supposed",  # mass of a mixture if all its amount were the lighter substance
    "extra",  # what the mixture weighs more than that
    "difference",  # of the two molar masses
    "heavier",  # extra mass = n(heavier) × difference
    "rest",  # mass of impurities = mass of sample − mass of the substance
    "impurity",  # the same as a percentage of the sample
    "excess",  # left over = reacted × excess/100
    "oxidation",  # oxidation state after = before + electrons lost
    "by difference",  # mass of sample = mass of the bottle before − after
    "volumes",  # volume of what is mixed = sum of the volumes
    "settled",  # reacted by then = at the start − at equilibrium, or what is there at equilibrium the other way round
    "constant",  # equilibrium constant = product of the right side ÷ product of the left
    "conversion",  # reacted by then as a percentage of the start
    "part",  # strength of a part = strength of the whole − strength of the rest
    "pH",  # pH = −log [H⁺]
    "pKa",  # pKa = −log Ka
    "weak acid",  # [H⁺]² = Ka c
    "weak base",  # [OH⁻]² = Kb c
    "base constant",  # Kb = Kw/Ka
    "ion product",  # [H⁺] = Kw/[OH⁻]
    "buffer",  # [H⁺] = Ka n(acid)/n(base)
    "half-neutralised",  # [H⁺] = Ka
    "ions",  # [OH⁻] = count × c
    "ions together",  # [OH⁻] = count × c(one solute) + count × c(another)
    "solubility product",  # Ksp = [cation]^count [anion]^count
]


BY_DEFINITION = frozenset({"pH", "pKa", "base constant", "ion product"})
"""True of every dilute solution, whatever is neglected elsewhere in a chain."""

ROLES: dict[str, tuple[str, ...]] = {
    "concentration": ("amount", "strength", "volume"),
    "ratio": ("first", "second"),
    "contains": ("first", "second"),
    "scale": ("whole", "portion", "flask", "aliquot"),
    "balance": ("reacted", "left", "total"),
    "molar mass": ("mass", "amount", "molar"),
    "percentage": ("percentage", "part", "sample"),
    "each": ("each", "part", "number"),
    "mass concentration": ("mass_strength", "strength", "molar"),
    "dissolved": ("mass_strength", "part", "volume"),
    "hydrate": ("molar", "salt", "water_mass"),
    "water": ("water_mass", "water", "molar_water"),
    "per gram": ("per_gram", "part", "sample"),
    "formula": ("molar", "metal", "rest"),
    "atoms": ("metal", "atomic"),
    "mass in volume": ("within", "mass_strength"),
    "normality": ("normality", "strength"),
    "by mass": ("mass_strength", "density", "share"),
    "volume strength": ("volume_strength", "amount", "molar_volume"),
    "gas volume": ("volume", "amount", "molar_volume"),
    "mass factor": ("counted", "part", "factor"),
    "subscript": ("other", "number", "metal"),
    "found ratio": ("first", "ratio", "second"),
    "electrons": ("electrons", "amount"),
    "rest": ("rest", "sample", "part"),
    "impurity": ("impurity", "rest", "sample"),
    "excess": ("left", "reacted", "excess"),
    "oxidation": ("after", "before", "electrons"),
    "by difference": ("sample", "full", "emptied"),
    "part": ("share", "whole", "rest"),
    "volumes": ("sum", "first", "second"),
    "pH": ("ph", "hydrogen"),
    "pKa": ("pk", "constant"),
    "weak acid": ("hydrogen", "constant", "strength"),
    "weak base": ("hydroxide", "constant", "strength"),
    "base constant": ("base_constant", "ion_product", "constant"),
    "ion product": ("hydrogen", "ion_product", "hydroxide"),
    "buffer": ("hydrogen", "base", "constant", "acid"),
    "half-neutralised": ("hydrogen", "constant"),
    "ions": ("ion", "strength"),
    "ions together": ("ion", "salt", "other"),
    "solubility product": ("product", "cation", "anion"),
    "settled": ("result", "start", "third"),
    "constant": ("constant", "first_made", "second_made", "first_left", "second_left"),
    "conversion": ("conversion", "turned", "start"),
}
"""What the quantities of each kind of relation are called in an expression of the bank, in the relation's order."""


SLIP_ROLES: dict[str, tuple[str, ...]] = {**ROLES, "total": ("whole", "first", "second")}
"""The same with those of a sum of two, for slips alone: sheets tell a sum by its parts."""


# Words that a slip of the banks may use beside its own relation: facts that are no quantity of a procedure, and quantities.
FACTS = (
    "alpha",
    "beta",
    "other_factor",
    "molar_bracket",
    "molar_first",
    "molar_last",
    "molar_plain",
    "prefix",
    "molar_anhydrous",
    "molar_numbers",
    "molar_ion",
    "coefficient",
    "subscript",
    "mean_with_rough",
    "mean_accurate",
    "mean_final",
    "mean_tenths",
    "mean_whole",
    "scale",
)
QUANTITIES = (
    "flask",
    "aliquot",
    "pipette",
    "titre",
    "excess_volume",
    "excess_strength",
    "sample_mass",
    "pieces",
    "bottle_volume",
    "molar_salt",
    "titre_before",
    "other_titre",
)
