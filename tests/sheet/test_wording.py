"""Wording: every key and slot is there, and no sheet shows a seam between words, numbers and formulae."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator
from decimal import Decimal
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

import molewright
from molewright.bank.definitions import Bank
from molewright.chem.conventions import UnitStyle
from molewright.chem.quantity import Quantity
from molewright.chem.units import Unit
from molewright.errors import Mistake
from molewright.nodes.blocks import Table
from molewright.nodes.inline import Amount, Chem, Gap, Maths, Symbol, Text
from molewright.render.text.lines import plain_line
from molewright.sheet.parts import LEVELS, Level
from molewright.sheet.wording import Words, capitalised, fill, joined, means_several
from shared.banks import built_in
from shared.composed_sheets import Turn, every_kind_once, every_sheet
from shared.for_each import for_each

Compose = Callable[[str, Level, UnitStyle], Any]
KEYS = sorted(built_in().archetypes)
every_level = pytest.mark.parametrize("level", LEVELS)
NB = "\N{NO-BREAK SPACE}"

# What a pupil must never see on a sheet.
SEAMS = {
    "a brace": r"[{}]",
    "None": r"\bNone\b",
    "a Python value": r"Decimal\(|Fraction\(|<generator",
    "a space before a full stop or comma": r" [.,;](?![.\d])",
    "a space before a colon that tells no ratio": r"(?<![\dA-Z⁻⁺]) :",  # 5 : 2, X : MnO₄⁻
    "two full stops": r"(?<![.\s])\.\.(?!\.)",
    "an article before nothing": r"\b(a|the|of|in|with|by) [.,]",
    "a doubled word": r"\b(the|a|of|in|was|is|to|and) \1\b",
    "a sentence that starts small": r"(?<=[a-z)³¹%])\. [a-z]",
    "a number run into its unit": r"\d(cm³|dm³|mol|g|mL|L|%)\b",
    "a word run into a number": r"[a-z]{2,}\d+\.\d",
    "'a' before a number read with a vowel": r"\b[Aa] (8|1[18](?!\d))",
    "'an' before a number read with none": r"\b[Aa]n (?!8|1[18](?!\d))\d",
    "one of many": r"(?<![\d.])1 marks\b",
    "a measuring cylinder that is exact": r"[Ee]xactly [^.]*measuring cylinder|measuring cylinder [^.]*exactly",
    "several things with the verb of one": r"(?:^|[.,;] )[Tt]he (crystals|tablets|sweepings|pellets|sand and clay) (was|is|consists)\b",
    "a number of the bank of slips": r"\bS\d\d\b",
    "a letter before the number of a mark point": r"\b[MAB]\d{1,2}\b(?!-)",
    "a word that elsewhere opens a marker's note": r"\b(Allow|Accept|Reject|Ignore|Award|ecf)\b",
    "several moles with the verb of one": r"(?<![\d.])(?!1 )\d+ mol \S+ (reacts|gives|comes)\b",
    "one mole with the verb of several": r"(?<![\d.])1 mol \S+ (react|give|come)\b",
    "a mistake that is told": r"\btells? of a mistake",
    "a curve that is upright": r"\bis upright\b",
}


@cache
def seam_in(said: str) -> str:
    """What a pupil must not see in a line, or "": many lines stand on many sheets."""
    return next((what for what, pattern in SEAMS.items() if re.search(pattern, said)), "")


@every_sheet
def test_no_sheet_shows_a_seam(turn: Turn, compose: Compose, said_of: Any) -> None:
    made = compose(*turn)
    for sheet in made.sheets():
        found = {said: seam for said in said_of(sheet) if (seam := seam_in(said))}
        assert not found, f"on the {sheet.kind} sheet"


PARTED = re.compile(r"\d (cm³|dm³|mol|mg|g|°C|%|mL|L)(?!\w)")


@every_sheet
def test_no_number_may_part_from_its_unit_at_the_end_of_a_line(turn: Turn, compose: Compose, nodes_of: Any) -> None:
    for sheet in compose(*turn).sheets():
        texts = [node.text for node in nodes_of(sheet) if isinstance(node, Text)]
        assert texts
        assert not [text for text in texts if PARTED.search(text)]


@every_sheet
def test_words_and_formulae_are_a_space_apart(turn: Turn, compose: Compose, lines_of: Any) -> None:
    for sheet in compose(*turn).sheets():
        for line in lines_of(sheet):
            for before, after in pairwise(line):
                if isinstance(after, Text) and not isinstance(before, Text) and after.text:
                    assert after.text[0] in " ,.;:)?!/…" + NB, plain_line(line)
                if isinstance(before, Text) and not isinstance(after, Text) and before.text:
                    assert before.text[-1] in " (/+−" + NB or before.text.split()[-1:] == ["p"], plain_line(line)  # pK
                if isinstance(before, Text) and isinstance(after, Text) and before.text and after.text:
                    assert before.text[-1] in " (" + NB or after.text[0] in " ,.;:)?!", plain_line(line)
                if not isinstance(before, Text) and not isinstance(after, Text):
                    assert not (isinstance(before, Amount | Chem) and isinstance(after, Amount | Chem | Symbol | Maths))


@every_sheet
def test_no_line_has_a_double_space_or_an_end_in_space(
    turn: Turn, compose: Compose, lines_of: Any, said_of: Any
) -> None:
    for sheet in compose(*turn).sheets():
        for line, said in zip(lines_of(sheet), said_of(sheet), strict=True):
            if isinstance(line[0], Gap):
                continue
            assert "  " not in said, repr(said)


@every_sheet
def test_every_sheet_is_rendered_as_text(turn: Turn, compose: Compose, text_of: Any) -> None:
    for sheet in compose(*turn).sheets():
        text = text_of(sheet)
        assert all(len(line) <= 78 for line in text.splitlines())
        assert not re.search(r"[{}]|\bNone\b", text)


@every_kind_once
def test_sentences_of_a_stem_start_with_a_capital_and_end_with_a_stop(turn: Turn, compose: Compose) -> None:
    made = compose(*turn)
    for block in made.paper.blocks:
        for one in getattr(block, "stem", ())[:1]:
            said = plain_line(one.line).replace(NB, " ")
            assert said[0].isupper()
            assert said.endswith((".", "?"))  # a scene may end by asking


# ------------------------------------------------------------------ keys and slots


def keys_in_the_code() -> Iterator[tuple[str, str]]:
    """Every wording that the code asks for by a text written out in it."""
    for path in sorted((Path(molewright.__file__).parent / "sheet").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.args:
                owner = ast.unparse(node.func.value)
                asks = node.func.attr == "say" or (node.func.attr in ("line", "text") and "words" in owner)
                if (asks or node.func.attr == "has") and isinstance(node.args[0], ast.Constant):
                    yield str(node.args[0].value), path.name


def test_every_wording_that_the_code_asks_for_is_there(bank: Bank) -> None:
    asked = dict(keys_in_the_code())
    assert len(asked) >= 30
    missing = {key: module for key, module in asked.items() if key not in bank.words}
    assert not missing


def test_every_wording_has_at_least_one_text(bank: Bank) -> None:
    assert all(texts and all(text.strip() for text in texts) for texts in bank.words.values())


def test_the_wordings_of_one_key_have_the_same_slots(bank: Bank) -> None:
    uneven = {}
    for key, texts in bank.words.items():
        slots = {
            frozenset(name.lower().partition(":")[0] for name in re.findall(r"\{([^{}]*)\}", text)) for text in texts
        }
        if len(slots) > 1 and not key.startswith(("weigh", "measure", "calculate")):
            union, least = frozenset.union(*slots), frozenset.intersection(*slots)
            if union - least - {"apparatus"}:
                uneven[key] = sorted(union - least)
    assert not uneven


@for_each("number", ["8.243", "8", "80.1", "812", "11.443", "11", "18.86", "18"])
def test_a_number_that_is_read_with_a_vowel_has_an_before_it(number: str) -> None:
    mass = Amount(Quantity(Decimal(number), Unit.G))
    assert plain_line(fill("A {mass} sample", {"mass": mass}, "weigh")).startswith(f"An {number}")
    flask = fill(f"a portion, and a {number} cm³ flask", {}, "weigh")
    assert plain_line(flask) == f"a portion, and an {number}{NB}cm³ flask"


@for_each("number", ["1.8", "110", "180", "0.8", "1.1", "28", "118.0"])
def test_any_other_number_has_a_before_it(number: str) -> None:
    mass = Amount(Quantity(Decimal(number), Unit.G))
    assert plain_line(fill("A {mass} sample", {"mass": mass}, "weigh")).startswith(f"A {number}")


@for_each(
    ("sample", "said"),
    [
        ("the sweepings", "The sweepings consist of it."),
        ("sand and clay", "Sand and clay consist of it."),
        ("the bath salts", "The bath salts consist of it."),
        ("this sample of salts", "This sample of salts consists of it."),
        ("the brass", "The brass consists of it."),
        ("the gas", "The gas consists of it."),
        ("the liquid in the cans", "The liquid in the cans consists of it."),
    ],
)
def test_a_verb_goes_with_what_fills_its_slot(sample: str, said: str) -> None:
    assert plain_line(fill("{Sample} {sample: consists, consist} of it.", {"sample": sample}, "holds both")) == said


def test_names_of_several_things_are_those_that_banks_name_so(bank: Bank) -> None:
    """A name that ends in s without meaning several, as "the brass", would need a word in sheet/wording.py: then it shows here."""
    names = {context.sample for context in bank.contexts} | {
        one.residue for one in bank.materials.values() if one.residue
    }
    several = {re.sub("^the ", "", name) for name in names if means_several(name)}
    assert several == {
        "bath salts",
        "crystals",
        "dried crystals",
        "granules",
        "pellets",
        "sand and clay",
        "sweepings",
        "tablets",
    }


@every_sheet
def test_concordant_is_told_wherever_it_is_said(turn: Turn, compose: Compose, lines_of: Any) -> None:
    for block in compose(*turn).paper.blocks:
        said = " ".join(plain_line(line).replace(NB, " ") for line in lines_of(block))
        assert "concordant" not in said or re.search("agreed? within 0.10 (cm³|mL)", said), said


@every_kind_once
def test_worked_solutions_hold_no_table_to_be_filled_in(turn: Turn, compose: Compose, nodes_of: Any) -> None:
    for node in nodes_of(compose(*turn).worked):
        if isinstance(node, Table):
            assert all(plain_line(line) for row in node.rows for cell in row for line in cell.lines), node.summary


@every_sheet
def test_no_two_rows_of_a_scheme_have_one_number(turn: Turn, compose: Compose, nodes_of: Any) -> None:
    """Neither two mark points of a question, nor two wrong answers to one part."""
    for table in (node for node in nodes_of(compose(*turn).scheme) if isinstance(node, Table)):
        found = []
        for first, second, third, *_ in table.rows:
            if table.summary.startswith("Mark points"):
                found += [plain_line(third.lines[0])] if plain_line(first.lines[0]) != "or" else []
            elif table.summary.startswith("Common wrong answers"):
                part = re.match(r"Part (\(.\))", plain_line(second.lines[0]))
                found.append(f"{plain_line(first.lines[0])} {part and part[1]}")
        assert len(found) == len(set(found)), found


@every_kind_once
def test_what_the_bank_counts_by_stays_in_the_record(turn: Turn, bank: Bank, compose: Compose, text_of: Any) -> None:
    keys = "|".join(slip.key for slip in bank.slips)
    for sheet in compose(*turn).sheets():
        printed = text_of(sheet)
        assert bank.fingerprint not in printed
        assert not re.search(rf"\b({keys})\b", printed)


@every_sheet
def test_a_question_speaks_of_the_vessels_that_it_has(turn: Turn, compose: Compose, text_of: Any) -> None:
    """Where all was done in a beaker, neither its paper nor its scheme speaks of a flask that holds the whole."""
    composed = compose(*turn)
    for sheet in (composed.paper, composed.scheme, composed.worked):
        assert "whole flask" not in re.sub(r"\s+", " ", text_of(sheet))


def test_a_stem_has_more_than_one_wording_for_its_common_sentences(bank: Bank) -> None:
    for key in ("weigh", "excess", "aliquot", "titrate aliquot", "mean titre", "measure portion"):
        assert len(bank.words[key]) >= 2


def test_a_solvent_ends_its_sentence(bank: Bank) -> None:
    # it may bring a clause with it: "concentrated nitric acid by a technician, who boiled off the brown gas"
    for key in ("dissolve", "dissolve partly"):
        assert all(text.endswith("{solvent}.") for text in bank.words[key])


def test_wording_is_british_and_plain(bank: Bank) -> None:
    for key, texts in bank.words.items():
        for text in texts:
            assert not re.search(r"\b(titer|buret|pipet|sulfur-?ph|analyze|color|liter)\b", text), key
            assert "  " not in text
            assert not re.search(r"<[a-z]+>|\\\\|\$", text)


# ------------------------------------------------------------------ filling


def test_an_unknown_slot_is_told_with_its_wording() -> None:
    with pytest.raises(Mistake) as caught:
        Words({"mean": ("The mean was {titer}.",)}).line("mean", titre="24.80")
    assert "'mean' has a slot {titer}" in str(caught.value)
    assert caught.value.near == ("titre",)


def test_an_unknown_wording_is_told_with_the_nearest() -> None:
    with pytest.raises(Mistake) as caught:
        Words({"mean titre": ("x",)}).line("mean titer")
    assert caught.value.near == ("mean titre",)


def test_a_number_keeps_its_unit_whether_wording_or_slot_holds_it() -> None:
    assert fill("100 cm³ was {warmed}.", {"warmed": "warmed to 60 °C"}, "k") == (
        Text(f"100{NB}cm³ was warmed to 60{NB}°C."),
    )
    assert fill("1 gram, 2 molecules", {}, "k") == (Text("1 gram, 2 molecules"),)


def test_a_slot_with_a_capital_starts_a_sentence() -> None:
    assert fill("{Sample} is wet.", {"sample": "the shell"}, "k") == (Text("The shell is wet."),)
    assert fill("It is {sample}.", {"sample": "the shell"}, "k") == (Text("It is the shell."),)


def test_a_slot_may_hold_a_formula_or_a_line() -> None:
    line = fill("Of {x} in {y}.", {"x": Chem("HCl"), "y": (Text("the "), Chem("NaOH"))}, "k")
    assert line == (Text("Of "), Chem("HCl"), Text(" in the "), Chem("NaOH"), Text("."))


def test_braces_in_what_fills_a_slot_are_not_filled_again() -> None:
    assert fill("{x}", {"x": "{y}", "y": "secret"}, "k") == (Text("{y}"),)


@pytest.mark.parametrize("slot", ["{x.__class__}", "{x!r}", "{x:>10}", "{0}", "{x[0]}"])
def test_nothing_in_a_wording_is_evaluated(slot: str) -> None:
    with pytest.raises(Mistake, match="has a slot"):
        fill(slot, {"x": "words"}, "k")


def test_a_slot_without_a_name_is_a_mistake() -> None:
    with pytest.raises(Mistake):
        fill("Take {} of it.", {"x": "words"}, "k")


def test_neighbouring_words_are_joined_and_bold_ones_are_not() -> None:
    assert joined([Text("a"), Text("b"), Text("c", bold=True), Text("")]) == (Text("ab"), Text("c", bold=True))


def test_a_capital_is_given_to_words_only() -> None:
    assert capitalised((Text("the acid"),)) == (Text("The acid"),)
    assert capitalised((Chem("HCl"),)) == (Chem("HCl"),)
    assert capitalised(()) == ()


def test_a_question_keeps_its_wording(compose: Compose) -> None:
    made = compose(KEYS[0], "exam", "dm3")
    assert made.composer.question_paper() == made.paper
    assert made.composer.mark_scheme() == made.scheme


def test_several_ions_take_the_verb_of_several_whatever_formula_stands_behind_them() -> None:
    ions = (Text("iodate(V) ions ("), Chem("IO3^-"), Text(")"))
    told = fill("{Left} {left: becomes, become} iodine", {"left": ions}, "becomes")
    assert plain_line(told) == "Iodate(V) ions (IO₃⁻) become iodine"


def test_a_sentence_begins_with_a_capital_and_a_symbol_stays_small() -> None:
    assert capitalised((Text("the ratio"),)) == (Text("The ratio"),)
    assert capitalised((Text("n("), Chem("HCl"), Text(")"))) == (Text("n("), Chem("HCl"), Text(")"))
