"""A printed number comes in as text; a float goes out. Numbers of a pupil's own go out as they might be written."""

from __future__ import annotations

import re
from decimal import ROUND_HALF_UP, Decimal

_SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_NUMBER = re.compile(r"(\d+(?:\.\d+)?)(?:\s*×\s*10([⁻⁰¹²³⁴⁵⁶⁷⁸⁹]+))?")


def as_number(text: str) -> float | None:
    """The number at the beginning of a printed answer; None where there is none."""
    found = _NUMBER.match(text.strip())
    if found is None:
        return None
    return float(found[1]) * 10 ** int((found[2] or "0").translate(_SUPERSCRIPTS))


def unit_of(text: str) -> str:
    """The unit behind the number of a printed answer; "" where there is none."""
    found = _NUMBER.match(text.strip())
    rest = text.strip()[found.end() :] if found else ""
    return " ".join(rest.split()) if re.fullmatch(r"[\s%a-zA-Z³⁻¹\d]*", rest) else ""


def rounded(number: float, figures: int) -> float:
    """A number with so many figures, a five rounded up, as a calculator's value is rounded by hand."""
    exact = Decimal(repr(float(f"{number:.11e}")))
    if not exact:
        return 0.0
    return float(exact.quantize(Decimal((0, (1,), exact.adjusted() - figures + 1)), ROUND_HALF_UP))


def spelt(number: float, figures: int, manner: int) -> str:
    """One of the usual spellings of a number with so many figures."""
    number = rounded(number, figures)
    mantissa, _, power = f"{number:.{figures - 1}e}".partition("e")
    whole = int(power)
    if manner and abs(whole) > 1:
        raised = str(whole).translate(str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻"))
        return (f"{mantissa} x 10^{whole}", f"{mantissa}E{whole}", f"{mantissa} × 10{raised}")[manner - 1]
    return f"{number:.{max(0, figures - 1 - whole)}f}"
