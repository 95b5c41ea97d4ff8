"""Chemistry lives in the banks: no formula, name or key of theirs stands in the code, but for what the tables below allow, with why.

Every string of the package is looked at, as the syntax trees have it; docstrings are for people. `render` knows no chemistry at all,
and may write "C" for what it likes. A word of a message is no key: what is compared, looked up or handed on is.
"""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

import molewright
from molewright.bank.definitions import Bank, EdtaIndicator, EdtaMetal, Precipitant
from molewright.chem.formula import parse_formula
from molewright.errors import Mistake
from shared.for_each import for_each

PACKAGE = Path(molewright.__file__).parent

# What the theory itself is about may stand in code: water and its ions (pH, ionic product, water of crystallisation).
THEORY = {
    "bank/readers/teachers_lines.py": {"CaCO3": "what the hardness of water is counted as"},
    "bank/readers/soundness.py": {"H2O": "water is there wherever something is dissolved"},
    "bench/perform.py": {"H2O": "the water of a hydrate"},
    "chem/formula_tree.py": {"H": "water after a hydrate's dot", "O": "the same"},
    "chem/masses.py": {"H2O": "water after a hydrate's dot"},
    "chem/reaction.py": dict.fromkeys(("H+", "OH-", "H2O"), "beside the two that react: acid, alkali, solvent"),
    "experiment/acidity.py": {"H+": "pH", "OH-": "pOH", "H2O": "its ionic product"},
    "experiment/relations/found_so_far.py": {"H2O": "the water of a hydrate"},
    "further_parts/curves/instrument_readings.py": {"H+": "follows from the pH", "OH-": "the same"},
    "further_parts/faults/faulty_bench.py": {"H+": "taken up beside what is titrated in redox"},
    "bank/readers/forms.py": {"H2O": "the water of a hydrate"},
    "plausibility/end_point_equations.py": {
        "H2O": "what a proton and a hydroxide ion make",
        "H+": "a proton that goes over",
        "H": "what may be a proton",
    },
    "plausibility/flask.py": {"H2O": "made in a flask, it is no solute; and the water of a hydrate"},
    "plausibility/redox.py": {"H+": "where it takes part, an acid is needed"},
    "plausibility/solutes.py": {"OH-": "solids of a metal with it are hydroxides, which the pH brings down"},
    "sheet/telling/titrating.py": {"H2O": "never told as what a reaction set free"},
    "slips/slip_words.py": {"H2O": "the water of a hydrate that a pupil leaves out"},
}
# Strings that only look like a formula or like a key.
OTHER = {
    "bank/definitions/mistakes.py": {"dilution": "a place of a scaling"},
    "bank/readers/entries.py": {"Y": "the letter of EDTA's ion, no placeholder there"},
    "bank/readers/faults.py": {"water of crystallisation": "a change that a fault makes"},
    "reading/fields.py": dict.fromkeys(("Cf", "Cs", "Co", "Cn"), "a category of Unicode"),
    "bank/readers/asked.py": {"water": "a kind of quantity"},
    "bank/readers/teachers_units.py": {"M": "what a teacher writes for mol dm⁻³"},
    "solve/usual_figures.py": {"water": "a kind of quantity", "basicity": "a kind of quantity"},
    "bank/readers/putting_in.py": {"water": "what dissolves, where nothing is said"},
    "bank/readers/reacting.py": {"basicity": "a kind of quantity"},
    "bank/readers/slips.py": {"redox": "a nature of an equation"},
    "bank/readers/whole_bank.py": {"EDTA": "what its one entry is called in messages"},
    "chem/formula.py": {"M": "a placeholder", "X": "a placeholder", "Y": "a placeholder", "I3": "I3- has one reading"},
    "chem/groups.py": {"O": "an atom before oxygen belongs to another group"},
    "chem/masses.py": dict.fromkeys(("Cl", "Cu"), "whole numbers but for two, a convention of data sheets"),
    "chem/units.py": {"C": "°C", "M": "a unit that is not taken", "N": "a normality"},
    "derivation/routes/combined_steps.py": {"O": "the letter of a route"},
    "derivation/routes/search.py": dict.fromkeys("BCFHNOSV", "the letter of a route"),
    "derivation/routes/vessel_relations.py": dict.fromkeys("BCFHNSV", "the letter of a route"),
    "draw/chosen.py": {"water": "a kind of quantity"},
    "experiment/procedure.py": {"basicity": "a kind of quantity"},
    "experiment/plain_texts.py": {"water": "a kind of quantity", "basicity": "a kind of quantity"},
    "experiment/quantities.py": {"water": "a kind of quantity"},
    "experiment/quantity_kinds.py": {"water": "a kind of quantity", "basicity": "a kind of quantity"},
    "experiment/relations/found_so_far.py": {"water": "a kind of quantity"},
    "experiment/relations/kinds.py": {"water": "a kind of relation"},
    "solve/what_is_missing.py": {"water": "a kind of quantity"},
    "experiment/relations/variables.py": {"water": "a kind of quantity", "basicity": "a kind of quantity"},
    "further_parts/curves/indicator_forms.py": {"K": "KIn", "In": "KIn", "HIn": "an indicator with its proton"},
    "further_parts/curves/ph_curve.py": {"K": "Ka"},
    "further_parts/faults/conditions.py": {"water": "a kind of quantity"},
    "further_parts/faults/faulty_bench.py": {
        "water of crystallisation": "a change that a fault makes",
        "water": "a kind of quantity",
    },
    "further_parts/faults/titre_to_answer.py": {"water": "a kind of quantity"},
    "further_parts/planning/one_number.py": {"water": "a kind of quantity", "basicity": "a kind of quantity"},
    "marking/typed_answers.py": {"H2O": "water of crystallisation as it is typed, 7H2O for 7"},
    "marking/named_answers.py": {"I": "the pronoun, which names no iodine"},
    "order/class_list.py": dict.fromkeys(("NFC", "Cf", "Cs", "Co", "Cn"), "Unicode"),
    "plausibility/edta.py": {"EDTA": "a rule's name"},
    "plausibility/remedies.py": {"EDTA": "a rule's name"},
    "sheet/flow.py": {"water": "the last word of a solvent that changes no amount"},
    "sheet/names.py": {"basicity": "a kind of quantity"},
    "sheet/parts.py": {"water": "a kind of quantity"},
    "sheet/symbols.py": {
        "K": "a symbol",
        "M": "a symbol",
        "V": "a symbol",
        "water": "a kind of quantity",
        "basicity": "a kind of quantity",
    },
    "solve/as_entry.py": {"water": "a kind of quantity"},
    "slips/slip_words.py": {"dilution": "a place of a ratio", "redox": "a nature of an equation"},
}
LETTERS = {
    "cli/check.py": "N",
    "cli/paper_options.py": "N",
    "sheet/worked_steps.py": "M",
    "marking/typed_units.py": "M",
}
"""Single letters for a number in a usage line, for a mark of method and for a unit as it is typed."""


def keys_of(bank: Bank) -> frozenset[str]:
    """Everything that an entry of the banks is called by, or calls a substance."""
    substances = [name for one in bank.substances.values() for name in (one.formula, one.name, one.solution) if name]
    edta = [one.metal for one in bank.edta if isinstance(one, EdtaMetal)]
    edta += [one.indicator for one in bank.edta if isinstance(one, EdtaIndicator)]
    shown = [one.ion if isinstance(one, Precipitant) else one.indicator for one in bank.precipitation]
    solids = [name for one in bank.sparing for name in (one.name, one.solid.solid, one.cation, one.anion)]
    named = [
        *bank.acids,
        *bank.indicators,
        *bank.materials,
        *bank.archetypes,
        *bank.topics,
        *(one.name for one in bank.families),
    ]
    numbered = [one.key for several in (bank.slips, bank.faults, bank.contexts) for one in several]
    return frozenset(
        (*substances, *bank.ions, *bank.solutes, *bank.redox, *edta, *shown, *solids, *named, *numbered, "EDTA")
    )


@cache
def is_formula(text: str) -> bool:
    """Whether it is written as a formula of one element or more: not "e-", and nothing that the reader would have to mend."""
    try:
        read = parse_formula(text)
    except Mistake:
        return False
    return bool(read.atoms) and text.replace("^", "") == read.text.replace("^", "")


@cache
def strings_of(source: str) -> list[tuple[int, str]]:
    """The strings of a module with their lines, those of docstrings and of constants explained below left out."""
    tree = ast.parse(source)
    told = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    nodes = (node for node in ast.walk(tree) if isinstance(node, ast.Constant) and id(node) not in told)
    return [(node.lineno, node.value) for node in nodes if isinstance(node.value, str)]


def chemistry_in(source: str, keys: frozenset[str]) -> list[tuple[int, str]]:
    return [(line, text) for line, text in strings_of(source) if text in keys or is_formula(text)]


def modules() -> list[str]:
    paths = (path.relative_to(PACKAGE) for path in PACKAGE.rglob("*.py"))
    return sorted(
        path.as_posix() for path in paths if path.parts[0] != "render" and not path.parts[0].startswith("_carried")
    )


def allowed(module: str) -> set[str]:
    letter = {LETTERS[module]} if module in LETTERS else set()
    return {*THEORY.get(module, {}), *OTHER.get(module, {}), *letter}


def test_no_module_names_a_substance_a_slip_a_fault_or_a_kind_of_question(bank: Bank) -> None:
    keys = keys_of(bank)
    found = [
        f"{module}:{line}: {text!r}"
        for module in modules()
        for line, text in chemistry_in((PACKAGE / module).read_text("utf-8"), keys)
        if text not in allowed(module)
    ]
    assert not found, "ask the banks for a property instead:\n" + "\n".join(found)


def test_nothing_is_allowed_that_is_not_there(bank: Bank) -> None:
    keys = keys_of(bank)
    for module in {*THEORY, *OTHER, *LETTERS}:
        there = {text for _, text in chemistry_in((PACKAGE / module).read_text("utf-8"), keys)}
        assert allowed(module) <= there, f"{module}: {sorted(allowed(module) - there)} is allowed and not there"


@for_each(
    "text",
    ["NaOH", "SO4^2-", "SO4", "MnO4-", "Na2CO3.10H2O", "S16", "F39b", "starch", "back titration", "direct-solutions", "group 1",
     "carbon dioxide", "hydrochloric acid", "ethanoic acid", "silver chromate"],
)  # fmt: skip
def test_a_formula_or_a_key_in_code_is_seen(text: str, bank: Bank) -> None:
    source = f'"""No docstring counts: {text}."""\n\nNAMES = ("", {text!r}, f"{{1}} of it")\n"""{text}"""\n'
    assert chemistry_in(source, keys_of(bank)) == [(3, text)]


@for_each("text", ["e-", "", "the acid", "mol dm⁻³", "Fe2+", "cm3", "is no acid", "hydroxide"])
def test_an_ordinary_word_is_not(text: str, bank: Bank) -> None:
    assert not chemistry_in(f"NAME = {text!r}\n", keys_of(bank))
