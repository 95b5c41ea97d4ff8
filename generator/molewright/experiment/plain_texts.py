"""The text of a quantity by its kind, filled from the fields of its name; kinds whose text depends on a stage stand in `quantities`."""

from __future__ import annotations

from molewright.experiment.quantity_kinds import Kind

PLAIN: dict[Kind, str] = {
    "mass": "mass of {0.subject}",
    "mass within": "mass of {0.subject} in {0.place}",
    "mass each": "mass of {0.subject} in each {0.place}",
    "mass per gram": "mass of {0.subject} for each gram of {0.place}",
    "percentage": "percentage of {0.subject} in {0.place}",
    "impurity mass": "mass of impurities in {0.place}",
    "impurity": "percentage of impurities in {0.place}",
    "pieces": "number of {0.subject}s",
    "molar mass": "molar mass of {0.subject}",
    "water": "water in {0.subject}",
    "water mass": "mass of water in a mole of {0.subject}",
    "metal mass": "mass of {0.subject} in a mole of {0.place}",
    "atomic mass": "relative atomic mass of {0.subject}",
    "supposed mass": "mass of {0.place} if all {0.subject}",
    "extra mass": "mass of {0.place} beyond that",
    "molar difference": "molar mass of {0.subject} beyond that of {0.source}",
    "mass concentration": "mass concentration of {0.subject}",
    "volume strength": "volume strength of {0.subject}",
    "mass in volume": "mass in {0.stage} of {0.subject}",
    "molar volume": "molar volume of gas",
    "ratio": "reacting ratio of {0.subject} to {0.source}",
    "basicity": "basicity of {0.subject}",
    "electrons": "electrons lost by each {0.subject}",
    "oxidation state": "oxidation state of {0.subject} {0.stage} the titration",
    "excess": "excess of {0.subject}",
    "equilibrium constant": "equilibrium constant",
    "conversion": "conversion of {0.subject}",
    "pH": "pH in {0.place}",
    "pKa": "pKa of {0.subject}",
    "ion concentration": "concentration of {0.subject} ions in {0.place}{0.source}",
    "acid constant": "acid constant of {0.subject}",
    "base constant": "base constant of {0.subject}",
    "ion product": "ion product of water",
    "solubility product of two ions": "solubility product of {0.subject}",
    "solubility product of three ions": "solubility product of {0.subject}",
}
