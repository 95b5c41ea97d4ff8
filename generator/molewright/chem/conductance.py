"""Concentrations of ions come in; the conductivity of the solution at 25 °C goes out. Never corrects for other ions about.

The limiting values overestimate a real solution, by about 6 % at 0.01 mol dm⁻³: the lines of a titration are as straight with
them, and meet at the same volume.
"""

from __future__ import annotations

from collections.abc import Mapping

from molewright.chem.formula import parse_formula

# Limiting molar conductivities at 25 °C in S cm² mol⁻¹, for a mole of the whole ion. P. Vanýsek, Ionic Conductivity and
# Diffusion at Infinite Dilution, in CRC Handbook of Chemistry and Physics; from memory.
_LIMITING = {
    "H^+": 349.65, "Na^+": 50.08, "K^+": 73.48, "NH4^+": 73.5, "Ag^+": 61.9, "Ba^2+": 127.2,
    "OH^-": 198.0, "Cl^-": 76.31, "NO3^-": 71.42, "CH3COO^-": 40.9, "SO4^2-": 160.0,
}  # fmt: skip


def limiting(ion: str) -> float | None:
    """The limiting molar conductivity of an ion in S cm² mol⁻¹; 0 for a molecule, None for an ion that is not known."""
    read = parse_formula(ion)
    known = {parse_formula(formula).text: value for formula, value in _LIMITING.items()}
    return known.get(read.text, None if read.charge else 0.0)


def conductivity(ions: Mapping[str, float]) -> float | None:
    """In mS cm⁻¹, from concentrations in mol dm⁻³ by ion; None where an ion is not known."""
    total = 0.0
    for ion, concentration in ions.items():
        each = limiting(ion)
        if each is None:
            return None
        total += each * concentration  # S cm² mol⁻¹ × mol dm⁻³ = mS cm⁻¹
    return total
