"""The look that a sheet is asked for comes in; how much larger than the usual one it is, and its names in the style sheet, go out."""

from __future__ import annotations

from dataclasses import dataclass

from molewright.nodes.blocks import LookName, Sheet
from molewright.render.tints import TINTS


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """`grow` is what `--grow` is in templates/html/sheet.css; `phone_ems` of its type stand side by side on the narrowest screen."""

    grow: float = 1.0
    figure: float = 1.0  # how many times as large figures are, whose type is small in the usual look
    phone_ems: float = 17.0


LOOKS: dict[LookName, Look] = {
    "usual": Look(),
    "large": Look(grow=1.64, figure=1.72, phone_ems=12.0),
    "extra-large": Look(grow=2.18, figure=2.29, phone_ems=9.0),
    "wide-set": Look(grow=1.18, figure=1.24, phone_ems=13.0),
}


def tints() -> str:
    """The rules of the style sheet that give a tinted sheet its paper."""
    return "".join([f".molewright.{name} {{ --paper: #{colour.lower()}; }}\n" for name, colour in TINTS.items()])


def names(sheet: Sheet) -> str:
    """The classes of a sheet: its kind, its look, its tint."""
    tint = f"tinted {sheet.tint}" if sheet.tint else ""
    look = sheet.look if sheet.look != "usual" else ""
    return " ".join(filter(None, ("molewright", sheet.kind, look, tint, "wide-sheet" if sheet.wide else "")))


def mm(length: float) -> str:
    """A length of the usual look, which grows with the type."""
    return f"calc({length:g}mm*var(--grow))"
