"""What is asked of a solution comes in as a teacher's words; the substance that its strength is counted as goes out.

"Mass of NaCl in 1 dm3 of sea water" rests on the chloride in it: sodium chloride gives one. Of zinc, chloride tells nothing.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from molewright.bank.readers.operation_lines import keyed, text_under
from molewright.bank.readers.portions_asked import POURED, POURING, portion_asked
from molewright.bank.readers.teachers_formulae import TeachersFormulae
from molewright.bank.readers.teachers_units import is_a_unit
from molewright.bank.readers.titrations_own import titrants
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.reading.yaml_text import Branch

OF_THE_LITRE = re.compile(
    r"mass of (?:the )?(?P<what>.+?) (?:per|in (?:1|one|each)) ?(?:dm3|dm\^3|dm³|litre|L) of (?:the )?(?P<name>.+)"
)
OF_IN = re.compile(r"(?P<before>.+? of )(?:the )?(?P<what>.+?) in (?:the )?(?P<name>.+)")
HARDNESS = re.compile(
    r"(?:total )?hardness(?: of (?:the )?(?P<name>.+?))?"
    r"(?:,? (?:(?:expressed|counted|given) )?(?:as|in terms of) (?:mg )?(?:of )?CaCO3)?"
    r"(?: in (?P<unit>[^ ]+(?: (?:dm|cm|L|l|kg)[^ ]*)?)(?: (?:of |as )?CaCO3)?)?"
)
BY_NATURE = re.compile(
    r"(?:value of )?[xn](?: in .+)?"
    r"|.*(?:water of crystallisation|molar mass|molecular mass|formula mass|atomic mass|\bM_?r\b|\bA_?r\b).*"
)
VOLUME_ASKED = re.compile(r"(?:the )?(?:mean )?(?:volume|titre)(?: of .+)?")  # of a sample: of all of it
PH_ASKED = re.compile(r"pH(?: (?:of|in) .+)?")
STRENGTH_ASKED = re.compile(r"(?:the )?(?:molarity|(?:molar |mass )?concentration|strength) of .+")


@dataclass(frozen=True, slots=True)
class SoluteAsked:
    """A substance and the name of the solution whose strength in it is asked for."""

    what: str
    name: str


def solute_asked(question: str, lines: Sequence[Branch]) -> SoluteAsked | None:
    """The substance of a strength, or of a mass in so much of a solution, that is asked for; None for any other question.

    A solution without a name is the first that is poured.
    """
    portion = portion_asked(question)
    if portion is not None:
        poured = (held for word, held in keyed(lines) if word in POURED)
        return SoluteAsked(portion.what, portion.name or next((text_under(one, "solution") for one in poured), ""))
    match = OF_THE_LITRE.fullmatch(question)
    if match is None and STRENGTH_ASKED.fullmatch(question):
        match = OF_IN.fullmatch(question)
    return SoluteAsked(match["what"], match["name"]) if match is not None and not is_a_unit(match["name"]) else None


def hard_water(question: str, lines: Sequence[Branch]) -> str:
    """The water whose hardness is asked for; "" where none is."""
    match = HARDNESS.fullmatch(question)
    if match is None:
        return ""
    poured = [text_under(held, "solution") for word, held in keyed(lines) if word in POURING]
    wanted = match["name"] or ""
    return wanted if wanted in poured else next(iter(poured), "")


def counted_as(
    what: str, content: str, formulae: TeachersFormulae, lines: Sequence[Branch]
) -> tuple[str, dict[str, str]]:
    """The formula of what the strength of a solution is counted as, where that is not what it is said to contain; and its further keys.

    A salt is counted by the ion that is contained, an ion that is titrated and a hydrate by the salt; "" where that tells nothing.
    """
    wanted, held = (formulae.formula(formulae.spelt(one)) for one in (what, content))
    forms = formulae.chemicals.forms
    if not wanted or not held or forms is None:
        return "", {}
    if _charged(wanted) and not _charged(held):  # of one ion of a salt there is as much as of the salt
        run_in = {form for one in titrants(lines).values() for form in formulae.forms(one)}
        titrated = any(formulae.chemicals.reaction_of(wanted, one) for one in run_in)
        return (wanted if titrated and (1, wanted) in forms.of(held) else ""), {}
    ways = forms.of(wanted)
    if _charged(held):
        given = next((count for count, species in ways if species == held), 0)
        return (wanted, {"gives": f"{given} {held}"}) if given else ("", {})
    return (wanted if any(not _charged(form[1]) and form in forms.of(held) for form in ways) else ""), {}


def _charged(species: str) -> bool:
    return bool(parse_formula(species, PLACEHOLDERS).charge)
