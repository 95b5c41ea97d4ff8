"""A teacher's own words for an experiment come in; the same words with each given number named in braces go out.

So the words can be printed with other numbers, and a number that they leave out, or tell otherwise, is found.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass

from molewright.chem.quantity import Quantity
from molewright.errors import Mistake, Where
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_texts import find_name, texts_of
from molewright.sheet.own_words import ALONE, SLOT


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedWords:
    """The paragraphs and the task with their numbers named; `untold` are the given numbers that stand in neither."""

    stem: tuple[str, ...]
    task: str
    untold: tuple[Name, ...]


def named_words(stem: tuple[str, ...], task: str, given: Mapping[Name, Quantity], where: Where) -> NamedWords:
    """The words with every given number in them named. Raises Mistake for a name in braces that is none."""
    names = texts_of(given)
    texts = [_checked(text, names, where.under("words")) for text in (*stem, task)]
    told = {names[name] for name in given if any(_slots(text) & {names[name], ALONE + names[name]} for text in texts)}
    shared: dict[tuple[str, str], Name] = {}
    untold: list[Name] = []
    for name, quantity in given.items():
        if names[name] in told:
            continue
        spelt = (quantity.number_text, quantity.unit.text)
        for at, text in enumerate(texts):
            found = _found(text, quantity)
            if found is not None:
                unit = found["unit"] is not None or not quantity.unit
                slot = f"{{{'' if unit else ALONE}{names[name]}}}"
                texts[at] = text[: found.start()] + slot + text[found.end() :]
                shared.setdefault(spelt, name)
                break
        else:
            if spelt not in shared:  # one "25.0 cm3" may be said of two portions alike
                untold.append(name)
    return NamedWords(stem=tuple(texts[:-1]), task=texts[-1], untold=tuple(untold))


def _slots(text: str) -> set[str]:
    return set(SLOT.findall(text))


def _checked(text: str, names: Mapping[Name, str], where: Where) -> str:
    """The text with each name in braces as we write it."""

    def written(slot: re.Match[str]) -> str:
        words = " ".join(slot[1].split())
        alone = words.startswith(ALONE) and words not in names.values()
        try:
            name = find_name(words.removeprefix(ALONE) if alone else words, names)
        except Mistake as mistake:
            raise mistake.at(where) from None
        return f"{{{ALONE if alone else ''}{names[name]}}}"

    return SLOT.sub(written, text)


def _found(text: str, quantity: Quantity) -> re.Match[str] | None:
    """Where a text tells a quantity: its number as it is written, best with its unit, outside of braces."""
    spellings = sorted({quantity.unit.text, *quantity.unit.spellings} - {""}, key=len, reverse=True)
    unit = rf"(?:\s*(?P<unit>{'|'.join(map(re.escape, spellings))})(?![A-Za-z0-9^]))" if spellings else "(?P<unit>)"
    number = rf"(?<![\d.,\w^-]){re.escape(quantity.number_text)}"
    end, outside = r"(?![\d]|[.,]\d)", r"(?![^{}]*\})"
    whole = re.search(f"{number}{unit}{outside}", text)
    return whole or re.search(rf"{number}{end}(?P<unit>(?!))?{outside}", text)
