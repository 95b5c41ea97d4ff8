"""A described experiment as a teacher types it comes in; the same in the keys of the readers goes out, line for line.

Nothing is worked out here, and what is not understood is left as it stands, for its reader to refuse with its line. Lines keep their
places and numbers their keys, so that other numbers find their way back into the text.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace

from molewright.bank.readers.asked import bare_question
from molewright.bank.readers.described import Chemicals
from molewright.bank.readers.driven_over import driven, only_becomes, received
from molewright.bank.readers.operation_lines import each_text, keyed, line_of, parted, renamed, text_under, with_texts
from molewright.bank.readers.portions_asked import (
    POURING,
    bottles,
    each_counted,
    piece_asked,
    portion_asked,
    with_piece,
    with_portion,
)
from molewright.bank.readers.reacting import OF_THE_TITRATION
from molewright.bank.readers.salt_with_x import as_two_elements, content_of, salt_with_x
from molewright.bank.readers.solute_asked import (
    BY_NATURE,
    HARDNESS,
    OF_IN,
    OF_THE_LITRE,
    PH_ASKED,
    STRENGTH_ASKED,
    VOLUME_ASKED,
    counted_as,
    hard_water,
    solute_asked,
)
from molewright.bank.readers.teachers_formulae import TeachersFormulae
from molewright.bank.readers.teachers_units import is_a_unit
from molewright.bank.readers.teachers_words import MASSES_TYPED, usual_word
from molewright.bank.readers.titrations_own import titrants, with_equations
from molewright.chem.formula import PLACEHOLDERS
from molewright.reading.each_asked import ASKED
from molewright.reading.yaml_text import Branch, Keys, Listing, Scalar

PROCEDURE = "procedure"
_STRENGTHS = ("concentration", "mass concentration", "volume strength", "normality", "percentage by mass")
_CHEMICAL = ("solution", "with", "contains", "species", "excess", "of", "gives")
_NAMES = ("solution", "sample", "with")
_TWO = 2  # substances of a mixture that one titration tells apart
_SHARES = ("percentage", "mass within", "pure", "impurities", "pieces", "elements", "per gram")


def in_the_readers_keys(tree: Branch, chemicals: Chemicals) -> Branch:
    """The description with every line of its procedure, and what is asked, as the readers of operations have it."""
    if not isinstance(tree, Keys) or not isinstance(tree.members.get(PROCEDURE), Listing):
        return tree
    return _Lines(tree, chemicals).tree()


class _Lines:
    """One description on its way: its lines, what it asks, and what is in each thing that has a name."""

    def __init__(self, tree: Keys, chemicals: Chemicals) -> None:
        self.whole, self.chemicals = tree, chemicals
        self.formulae = TeachersFormulae(chemicals)
        listing, asked = tree.members[PROCEDURE], tree.members.get(ASKED)
        assert isinstance(listing, Listing)
        self.listing = listing
        self.asked = " ".join(asked.text.split()) if isinstance(asked, Scalar) else ""
        self.question = bare_question(self.asked)
        self.put_in = frozenset(self._put_in(listing))
        self.lines = [self._usual(one) for one in listing.members]
        self.solute = solute_asked(self.question, self.lines)
        self.things = {text_under(held, key) for _, held in keyed(self.lines) for key in _NAMES}
        self.held = dict(self._named())  # what is in a thing, by its name

    def tree(self) -> Branch:
        """The whole of it, rewritten."""
        hard = hard_water(self.question, self.lines)
        self.piece, self.question = piece_asked(self.question)
        self.asked = self.question if self.piece else self.asked
        self.lines = each_counted(with_piece(self.lines, self.piece) if self.piece else self.lines)
        self.lines = [self._poured(one, hard) for one in self.lines]
        self.lines = [self._weighed(one) for one in self.lines]
        self.lines = received(self.lines, self._titrated)
        portion, bottle = portion_asked(self.question), ""
        if portion is not None:
            self.lines, bottle = with_portion(self.lines, portion)
        self.lines = [self._in_plenty(one) for one in self.lines]
        self.lines = with_equations(self.lines, self.formulae)
        members = {**self.whole.members, PROCEDURE: replace(self.listing, members=tuple(self.lines))}
        asked = self.whole.members.get(ASKED)
        if isinstance(asked, Scalar):
            told = portion is not None and bottle and self._told_of(bottle, self._solute_of(bottle))
            text = (
                f"mass in {portion.volume_cm3} cm3 of {bottle}" if portion is not None and told else self._asked(hard)
            )
            members[ASKED] = replace(asked, text=text)
        return replace(self.whole, members=members)

    def _indicator(self, text: str) -> str:
        """An indicator as the banks spell it, whatever the capitals, and without "indicator" or "solution" after it."""
        plain = re.sub(r"(?: indicator)?(?: solution)?$", "", " ".join(text.split())).casefold()
        return next((one for one in self.chemicals.indicators if one.casefold() == plain), text)

    def _gas(self, word: str, held: Keys) -> Keys:
        if word == "drive over":
            return driven(held, self.formulae)
        return renamed(held, "gas", "species") if word in ("collect gas", "lead in") else held

    def _put_in(self, listing: Listing) -> Iterator[str]:
        """The formula of each thing that is weighed or measured."""
        for _, held in keyed(listing.members):
            texts = (text_under(held, key) for key in ("contains", "sample", "solution"))
            yield from filter(None, (self.formulae.formula(self.formulae.spelt(one)) for one in texts if one))

    # ------------------------------------------------------------ one line

    def _usual(self, line: Branch) -> Branch:
        """A line with the usual word of its operation, and each formula and name in it as the banks have it."""
        if isinstance(line, Scalar):
            return replace(line, text=usual_word(line.text))
        word, held = parted(line)
        if held is None:
            return line
        word = usual_word(word, held)
        if isinstance(held, Scalar):
            if word == "react":
                held = replace(held, text=self.formulae.in_an_equation(held.text))
                if only_becomes(held.text, self.put_in, self.chemicals.forms):
                    held = with_texts(held, {"reaction": held.text, OF_THE_TITRATION: "yes"})
            elif word in ("drive over", "collect gas"):
                held = with_texts(held, {"species": held.text})
            elif word == "boil off":
                held = replace(held, text=self.formulae.spelt(held.text))
            elif word in ("add", "dissolve"):
                held = replace(held, text=self._in_words(held.text))
            elif word == "add excess":
                held = with_texts(held, {"solution": self.formulae.spelt(held.text)})
        if isinstance(held, Keys):
            word, held = self._usual_keys(word, held)
        return line_of(line, word, held)

    def _usual_keys(self, word: str, held: Keys) -> tuple[str, Keys]:
        held = self._gas(word, held)
        if word == "dissolve" and "mass" in held.members:
            word = "weigh"
        if word == "weigh" and "sample" not in held.members:
            other = next((one for one in ("solid", "substance", "contains") if one in held.members), "")
            copied = {"sample": text_under(held, other)} if other == "contains" else {}
            held = with_texts(held, copied) if copied else renamed(held, other, "sample")
        if word == "add" and "what" not in held.members:
            word, held = ("measure", held) if "volume" in held.members else (word, renamed(held, "solution", "what"))
        if word == "titrate" and "with" not in held.members and "against" in held.members:
            held = renamed(held, "against", "with")
        if word in POURING and "solution" not in held.members:
            other = "sample" if "sample" in held.members else "contains"
            held = renamed(held, other, "solution")
        if word == "dilute" and "solution" not in held.members and len(held.members) == 1:
            word, held = "make up", renamed(held, "to", "volume")
        for typed, key in MASSES_TYPED.items() if word == "weigh" else ():
            held = renamed(held, typed, key)
        members: dict[str, Branch] = {}
        for key, branch in held.members.items():
            if key in ("reaction", "breaks down"):
                members[key] = each_text(branch, self.formulae.in_an_equation)
            elif key in ("indicator", "indicators"):
                members[key] = each_text(branch, self._indicator)
            elif key in _CHEMICAL:
                members[key] = each_text(branch, self.formulae.spelt)
            else:
                members[key] = branch
        return word, replace(held, members=members)

    def _named(self) -> Iterator[tuple[str, str]]:
        """What is in each thing, by its name, where one line or the question tells it."""
        match = OF_IN.fullmatch(self.question) or OF_THE_LITRE.fullmatch(self.question)
        if match is not None:
            what = self.formulae.spelt(match["what"])
            if self.formulae.formula(what) is not None:
                yield match["name"], what
        for _, held in keyed(self.lines):
            name = next(filter(None, (text_under(held, key) for key in _NAMES)), "")
            contains = text_under(held, "contains")
            if name and contains:
                yield name, contains

    def _poured(self, line: Branch, hard: str) -> Branch:
        """A solution by its name, as 'vinegar', by what is in it, with the name on its bottle."""
        word, held = parted(line)
        key = "with" if word == "titrate" else "solution"
        if not isinstance(held, Keys) or word not in (*POURING, "titrate") or key not in held.members:
            return line
        name = text_under(held, key)
        members = {one: branch for one, branch in held.members.items() if one != "contains"}
        contents = held.members.get("contains")
        if hard and name == hard:
            found = {"solution": "CaCO3", "gives": "1 Ca^2+", "bottle": name}
            return line_of(line, word, with_texts(replace(held, members=members), found))
        if isinstance(contents, Listing):
            return line  # several: its reader says what is known there
        content = contents.text if isinstance(contents, Scalar) else self.held.get(name, "")
        own = contents is None and self.formulae.formula(name) is not None  # its name tells what is in it
        found = {key: name if own else content}
        if self.solute and self.solute.name == name and not self._told_of(name, found[key]):
            counted, further = counted_as(self.solute.what, found[key], self.formulae, self.lines)
            found, own = ({key: counted, **further}, False) if counted else (found, own)
        if own or not found[key]:
            return line
        if name != found[key] and "bottle" not in members:
            found["bottle"] = name
        return line_of(line, word, with_texts(replace(held, members=members), found))

    def _weighed(self, line: Branch) -> Branch:
        """A weighing with its unknown element named, and taken as pure where what is asked says so."""
        word, held = parted(line)
        if word != "weigh" or not isinstance(held, Keys):
            return line
        sample, found = text_under(held, "sample"), {}
        if salt := salt_with_x(content_of(held)):
            line = line_of(line, word, as_two_elements(held, salt))
            return line if "x" not in held.members else self._weighed(line)
        spelt = self.formulae.spelt(sample)
        open_formula = self.formulae.formula(spelt, PLACEHOLDERS)
        if open_formula is not None and ("contains" not in held.members or self._hydrate(open_formula, held)):
            found["contains"] = spelt
        content = found.get("contains", "") or text_under(held, "contains")
        if "unknown" not in held.members and content:
            letter = next((one for one in sorted(PLACEHOLDERS) if self._stands_for(one, content)), "")
            if letter:
                found["unknown"] = letter
        if "factor" in held.members and "counted as" not in held.members:
            if what := self._counted_as(sample):
                found["counted as"] = what
            elif self._of_this(sample):  # the percentage of nitrogen needs none
                held = replace(held, members={key: one for key, one in held.members.items() if key != "factor"})
        element = self._element_asked(sample, content)
        if element and "elements" not in held.members:
            found["elements"] = element
        told = any(key in held.members for key in _SHARES)
        if not told and ((content and self._pure()) or self._of_two(held)):
            found["pure"] = "yes"
        return line_of(line, word, with_texts(held, found))

    def _of_this(self, sample: str) -> bool:
        """Whether something is asked that is in this sample."""
        match = OF_IN.fullmatch(self.question)
        return match is not None and self._thing(match["name"]) == sample

    def _hydrate(self, sample: str, held: Keys) -> bool:
        """Whether a sample is the hydrate, with x, of the salt that it is said to contain."""
        return sample == f"{self.formulae.formula(text_under(held, 'contains'))}.xH2O"

    def _stands_for(self, letter: str, content: str) -> bool:
        """Whether a letter of a formula is no element, and one of those that stand for an unknown one."""
        return (
            self.formulae.formula(content) is None and self.formulae.formula(content, frozenset({letter})) is not None
        )

    def _pure(self) -> bool:
        """Whether a weighed substance is the whole sample: what is asked is in its nature, or is the strength of a solution."""
        if BY_NATURE.fullmatch(self.question):
            return True
        words = [parted(line)[0] for line in self.lines]
        if PH_ASKED.fullmatch(self.question) or VOLUME_ASKED.fullmatch(self.question):
            return words.count("weigh") == 1
        if not STRENGTH_ASKED.fullmatch(self.question):
            return False
        solutions = [held for word, held in keyed(self.lines) if word in (*POURING, "titrate")]
        without = [one for one in solutions if not any(key in one.members for key in _STRENGTHS)]
        return words.count("weigh") == 1 and len(without) == 1

    def _of_two(self, held: Keys) -> bool:
        """Whether a sample of two substances is both of them and nothing else: by one titration no third could be told apart."""
        contents = held.members.get("contains")
        words = [parted(line)[0] for line in self.lines]
        return (
            isinstance(contents, Listing)
            and len(contents.members) == _TWO
            and words.count("weigh") == words.count("titrate") == 1
        )

    def _in_plenty(self, line: Branch) -> Branch:
        """A reagent in excess whose amount nobody states, and which no titration here could find, as something added."""
        word, held = parted(line)
        if word != "add excess" or not isinstance(held, Keys) or set(held.members) - {"solution", "vessel", "into"}:
            return line
        reagent = text_under(held, "solution")
        if any(self._titrated(reagent, titrant) for titrant in titrants(self.lines).values()):
            return line
        members: dict[str, Branch] = {"what": Scalar(f"an excess of {self._in_words(reagent)}", held.where)}
        for key in ("vessel", "into"):
            if key in held.members:
                members["vessel"] = held.members[key]
        return line_of(line, "add", replace(held, members=members))

    def _in_words(self, reagent: str) -> str:
        """What a reagent is called where it is poured: "sulfuric acid" for H2SO4; as it stands where it is no formula of the banks."""
        known = self.chemicals.substances.get(self.formulae.formula(reagent) or "")
        return known.poured if known is not None else reagent

    def _titrated(self, reagent: str, titrant: str) -> bool:
        """Whether a titrant reacts with a reagent itself, and not only in its presence as manganate(VII) does in acid."""
        return any(
            one not in entry.reaction.helpers
            for one in self.formulae.forms(reagent)
            for other in self.formulae.forms(titrant)
            for entry in self.chemicals.reaction_of(one, other)
        )

    # ------------------------------------------------------------ what is asked

    def _asked(self, hard: str) -> str:
        if hard and (match := HARDNESS.fullmatch(self.question)) is not None:
            return f"mass concentration of {hard}" + (f" in {match['unit']}" if match["unit"] else "")
        match = OF_THE_LITRE.fullmatch(self.question)
        if match is not None:
            told = self._told_of(match["name"], self._solute_of(match["name"]))
            return f"mass concentration of {match['name']}" if told else self.asked
        match = OF_IN.fullmatch(self.question)
        if match is not None and (thing := self._thing(match["name"])) in self.things:
            content = self._meant(match["what"], thing)
            return f"{match['before']}{content} in {match['name']}" if content else self.asked
        return self.formulae.in_an_equation(self._without_the_bottle(match))

    def _without_the_bottle(self, match: re.Match[str] | None) -> str:
        """The strength of a solution asked for "in vinegar", where its line has no such name."""
        if match is None or not STRENGTH_ASKED.fullmatch(self.question) or is_a_unit(match["name"]):
            return self.asked
        spelt = self.formulae.spelt(match["what"])
        what = self.formulae.formula(spelt) or spelt
        poured = {self.formulae.formula(one) for one in self.things}
        return f"{match['before']}{what}" if what in poured else self.asked

    def _meant(self, what: str, name: str) -> str:
        """The substance of a thing that somebody's word means: one of the same atoms, or the one that its name tells of."""
        weighed = (held for _, held in keyed(self.lines) if text_under(held, "sample") == name)
        content = next((text_under(one, "contains") for one in weighed), self.held.get(name, ""))
        if not content or self.formulae.alike(what, content):
            return content
        if element := self._element_asked(name, content):
            return element
        if any(text_under(held, "counted as") == what for _, held in keyed(self.lines)):
            return what
        return content if self._is_named(what, name) and not self._several(name) else self.formulae.spelt(what)

    def _is_named(self, what: str, name: str) -> bool:
        """Whether a word that is no substance stands in the name of a thing: vitamin, in vitamin tablets."""
        word = self.formulae.formula(self.formulae.spelt(what)) is None and not self.formulae.is_element(what)
        return word and what.casefold() in name.casefold()

    def _told_of(self, name: str, content: str) -> bool:
        """Whether the strength of a solution in what it contains is the one that is asked for."""
        what = self.solute.what if self.solute is not None else ""
        return self.formulae.alike(what, content) or self._is_named(what, name)

    def _solute_of(self, bottle: str) -> str:
        """What is in a bottle, as its line has it now; "" for a name that is no bottle's."""
        return next((solute for name, solute in bottles(self.lines) if bottle in (name, solute)), "")

    def _thing(self, name: str) -> str:
        """What a name in the question means: itself, or of each piece what is counted in such."""
        if not self.piece or name != f"each {self.piece}":
            return name
        counted = (held for _, held in keyed(self.lines) if text_under(held, "pieces") == self.piece)
        return next((text_under(one, "sample") for one in counted), name)

    def _counted_as(self, sample: str) -> str:
        """What is asked for in a sample, where that is no substance: protein; "" for no such."""
        match = OF_IN.fullmatch(self.question)
        if match is None or self._thing(match["name"]) != sample:
            return ""
        known = self.formulae.formula(self.formulae.spelt(match["what"])) or self.formulae.is_element(match["what"])
        return "" if known else match["what"]

    def _element_asked(self, sample: str, content: str) -> str:
        """The element of a sample's substance that is asked for, where that is not all of it: N of NH3; "" for no such."""
        match = OF_IN.fullmatch(self.question)
        if match is None or self._thing(match["name"]) != sample or self.formulae.alike(match["what"], content):
            return ""
        return self.formulae.element_of(match["what"], content)

    def _several(self, name: str) -> bool:
        return any(
            text_under(held, "sample") == name and isinstance(held.members.get("contains"), Listing)
            for _, held in keyed(self.lines)
        )
