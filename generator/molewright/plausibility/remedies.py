"""The rule that refused a draw comes in; what whoever wrote the archetype can do about it goes out. It judges nothing."""

from __future__ import annotations

from molewright.bank.definitions import FURTHER_PARTS

REMEDIES = {
    "bench": "Check the numbers against your notes: the readings do not follow from them.",
    "enough acid or alkali": "Measure more of the acid or alkali that helps the reaction, or take less of what reacts.",
    "nothing": "Change a number that another is divided by.",
    "below nothing": "Take more of what is in excess, or less of what is titrated.",
    "above the whole": "Take a larger sample, or a smaller titre.",
    "window": "Move or widen the range marked 'fit', the amount of what is in excess, or the windows 'titre' and 'used'.",
    "titre": "Move the ranges of the other titrations' numbers, or widen the window 'titre'.",
    "excess": "Take more or less of the reagent in excess, or widen the window 'used'.",
    "approximation": "Take a stronger solution or a weaker acid, and a buffer with more of both in it: the short way fails here.",
    "volumes": "Take another volume of the reagent in excess, or a wider range for the titrant's concentration.",
    "fit": "Mark another number 'fit': one that the titre depends on in a straight line.",
    "knife edge": "Give the ranges finer steps, or the answer another number of figures: it is always half-way between two.",
    "accepted range": "Ask for the answer to 2 figures ('figures: 2'), or let what is subtracted be smaller: rounding moves it less.",
    "slip": "Change the numbers that the mistake turns on, so that it leads to another answer.",
    "readings": "Write 'runs: mean', or widen the window 'titre', so that a set of burette readings can be found.",
    "indicator": "Name another indicator under 'indicators' of the reaction, or in the titration; or take other strengths. "
    "'molewright banks indicators' lists them.",
    "gas": "Boil it off first, or name an indicator that has changed before it takes up alkali.",
    "hydroxide": "Name an indicator that changes at a lower pH, or take weaker solutions.",
    "precipitate": "Take out of the flask what comes down, or name another indicator.",
    "solubility": "Take weaker solutions or a smaller mass.",
    "saturated": "Take the salt at about the strength of its saturated solution, less where a solute beside it brings one of its ions.",
    "salt": "Take an acid whose salt stays in solution.",
    "strength": "Take weaker solutions.",
    "acid": "Add another acid, or none, before the titration: 'add: dilute sulfuric acid'.",
    "alkali": "Take the alkali out of the flask, or acidify before the titration.",
    "iodide": "Add 'an excess of potassium iodide' before the titration, or let more of it be left.",
    "temperature": "Warm the flask as this titration needs: 'warm: about 60 °C'.",
    "buffer": "Add a buffer of a pH before the titration: 'add: a buffer solution of pH 10'.",
    "EDTA": "Add a buffer of a higher pH before the titration.",
    "metal": "Take the other metal ion out of the flask first, or add a buffer of another pH.",
    "reagent in excess": "Take a larger volume or a higher concentration of the reagent: there must be some left.",
    "aliquot smaller than its flask": "Take a smaller aliquot, or make up to a larger volume.",
    "a mixture of both": "Narrow the ranges of the masses, so that there is some of each substance.",
    "something to react": "Measure in what reacts, or name the equation of what is there: 'reaction: ...'.",
    "a number for everything": "Give it a number where it is measured in, or one that it follows from.",
    "scene": "Give it a scene that does not rule out what it may be, or take that out of 'may be' or 'molar mass'.",
    "name": "Take substances under 'may be' whose molar masses lie further apart, or a window with larger titres.",
    "titrant of some strength": "Give the titrant a concentration, or dissolve something where it is made.",
}
"""What to do for each rule of drawing, of the bench and of plausibility."""


def remedy(rule: str) -> str:
    """What to do where a rule refused every draw; a further part has its kind for a rule."""
    if rule in REMEDIES:
        return REMEDIES[rule]
    if rule in FURTHER_PARTS or rule in ("graph", "curve", "conductivity"):
        return "Leave that further part out, or change what the reason names."
    return "Change what the reason names."
