"""Text from outside comes in; LaTeX that prints exactly that text goes out. Never lets a character through unknown.

Every character is looked up in one table: a character that is in no table is refused by name, never dropped.
The letters with accents are taken apart by Unicode's own rules and put together with LaTeX's accents.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from molewright.errors import Mistake, shortened

NO_BREAK = "\N{NO-BREAK SPACE}"
LONGEST_WORD = 30  # a longer run without a space may break anywhere: better than running off the page

# TeX's own signs, and the pairs that T1 fonts would join into other characters (-- ,, << >> '' !` ?`).
_SIGNS: dict[str, str] = {
    "\\": r"\textbackslash{}",
    "{": r"\{",
    "}": r"\}",
    "$": r"\$",
    "&": r"\&",
    "#": r"\#",
    "%": r"\%",
    "_": r"\_",
    "^": r"\textasciicircum{}",
    "~": r"\textasciitilde{}",
    "<": r"\textless{}",
    ">": r"\textgreater{}",
    "|": r"\textbar{}",
    '"': r"\textquotedbl{}",
    "'": r"\textquoteright{}",
    "`": r"\textasciigrave{}",
    "[": "{[}",  # never the start of an optional argument
    "]": "{]}",
    "*": "{*}",  # never the star of a command
    "\n": " ",
    "\r": " ",
    "\t": " ",
    NO_BREAK: "~",
    "\N{FIGURE SPACE}": "~",
    "\N{THIN SPACE}": r"\,",
    "\N{NARROW NO-BREAK SPACE}": r"\,",
    "\N{SOFT HYPHEN}": r"\-",
    "\N{ZERO WIDTH SPACE}": r"\allowbreak{}",
    "\N{HYPHEN}": "-",
    "\N{NON-BREAKING HYPHEN}": r"\mbox{-}",
    "\N{EN DASH}": r"\textendash{}",
    "\N{EM DASH}": r"\textemdash{}",
    "\N{LEFT SINGLE QUOTATION MARK}": r"\textquoteleft{}",
    "\N{RIGHT SINGLE QUOTATION MARK}": r"\textquoteright{}",
    "\N{LEFT DOUBLE QUOTATION MARK}": r"\textquotedblleft{}",
    "\N{RIGHT DOUBLE QUOTATION MARK}": r"\textquotedblright{}",
    "\N{SINGLE LOW-9 QUOTATION MARK}": r"\quotesinglbase{}",
    "\N{DOUBLE LOW-9 QUOTATION MARK}": r"\quotedblbase{}",
    "«": r"\guillemotleft{}",
    "»": r"\guillemotright{}",
    "\N{BULLET}": r"\textbullet{}",
    "…": r"\dots{}",
    "·": r"\textperiodcentered{}",
    "\N{DOT OPERATOR}": r"\textperiodcentered{}",
    "\N{BULLET OPERATOR}": r"\textperiodcentered{}",
    "°": r"\textdegree{}",
    "\N{MICRO SIGN}": r"\textmu{}",
    "\N{GREEK SMALL LETTER MU}": r"\textmu{}",
    "£": r"\textsterling{}",
    "€": r"\texteuro{}",
    "¢": r"\textcent{}",
    "¥": r"\textyen{}",
    "§": r"\textsection{}",
    "¶": r"\textparagraph{}",
    "†": r"\textdagger{}",
    "‡": r"\textdaggerdbl{}",
    "©": r"\textcopyright{}",
    "®": r"\textregistered{}",
    "™": r"\texttrademark{}",
    "ª": r"\textordfeminine{}",
    "º": r"\textordmasculine{}",
    "¡": r"\textexclamdown{}",
    "¿": r"\textquestiondown{}",
    "‰": r"\textperthousand{}",
    "½": r"\textonehalf{}",
    "¼": r"\textonequarter{}",
    "¾": r"\textthreequarters{}",
    "×": r"\texttimes{}",
    "÷": r"\textdiv{}",
    "±": r"\textpm{}",
    "\N{MINUS SIGN}": r"\textminus{}",
    "¬": r"\textlnot{}",
    "≈": r"\ensuremath{\approx}",
    "≡": r"\ensuremath{\equiv}",
    "≠": r"\ensuremath{\neq}",
    "≤": r"\ensuremath{\leq}",
    "≥": r"\ensuremath{\geq}",
    "∝": r"\ensuremath{\propto}",
    "∞": r"\ensuremath{\infty}",
    "√": r"\ensuremath{\surd}",
    "′": r"\ensuremath{{}'}",
    "″": r"\ensuremath{{}''}",
    "→": r"\ensuremath{\rightarrow}",
    "⟶": r"\ensuremath{\longrightarrow}",
    "←": r"\ensuremath{\leftarrow}",
    "↑": r"\ensuremath{\uparrow}",
    "↓": r"\ensuremath{\downarrow}",
    "↔": r"\ensuremath{\leftrightarrow}",
    "⇒": r"\ensuremath{\Rightarrow}",
    "⇔": r"\ensuremath{\Leftrightarrow}",
    "⇌": r"\ensuremath{\rightleftharpoons}",
    "☐": r"\ensuremath{\square}",
    "□": r"\ensuremath{\square}",
    "✓": r"\ensuremath{\checkmark}",
    "✗": r"\ensuremath{\times}",
    "ß": r"\ss{}",
    "ẞ": r"\SS{}",
    "æ": r"\ae{}",
    "Æ": r"\AE{}",
    "œ": r"\oe{}",
    "Œ": r"\OE{}",
    "ø": r"\o{}",
    "Ø": r"\O{}",
    "ł": r"\l{}",
    "Ł": r"\L{}",
    "đ": r"\dj{}",
    "Đ": r"\DJ{}",
    "ð": r"\dh{}",
    "Ð": r"\DH{}",
    "þ": r"\th{}",
    "Þ": r"\TH{}",
    "ŋ": r"\ng{}",
    "Ŋ": r"\NG{}",
    "ı": r"\i{}",
    "ȷ": r"\j{}",
}
_GREEK = {
    letter: unicodedata.name(letter).split()[-1].replace("LAMDA", "LAMBDA").lower()
    for letter in "αβγδεζηθικλνξπρστυφχψωΓΔΘΛΞΠΣΥΦΨΩ"
}
_GREEK |= {letter: name.title() for letter, name in _GREEK.items() if letter.isupper()} | {"\N{INCREMENT}": "Delta"}
_GREEK_FORMS = {"epsilon": "varepsilon", "phi": "varphi"}  # the forms that books of chemistry print
_ACCENTS = {
    "\u0300": r"\`",
    "\u0301": r"\'",
    "\u0302": r"\^",
    "\u0303": r"\~",
    "\u0304": r"\=",
    "\u0306": r"\u",
    "\u0307": r"\.",
    "\u0308": r"\"",
    "\u030a": r"\r",
    "\u030b": r"\H",
    "\u030c": r"\v",
    "\u0323": r"\d",
    "\u0326": r"\textcommabelow",
    "\u0327": r"\c",
    "\u0328": r"\k",
    "\u0331": r"\b",
}
RAISED = dict(zip("⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻⁼⁽⁾ⁿⁱˣʸᵃᵇ", "0123456789+−=()nixyab", strict=True))
LOWERED = dict(zip("₀₁₂₃₄₅₆₇₈₉₊₋₌₍₎ₐₑₒₓₕₖₗₘₙₚₛₜᵢⱼᵣᵤᵥ", "0123456789+−=()aeoxhklmnpstijruv", strict=True))
_SCRIPTS = re.compile(f"([{''.join(RAISED)}]+)|([{''.join(LOWERED)}]+)")

# Where a PDF shows words without type (title, bookmarks, words for a figure): the nearest plain writing.
_PLAIN = str.maketrans(
    {
        **{sign: plain.replace("\N{MINUS SIGN}", "-") for sign, plain in (RAISED | LOWERED).items()},
        "→": "->",
        "⟶": "->",
        "←": "<-",
        "↔": "<->",
        "⇌": "<=>",
        "⇒": "=>",
        "⇔": "<=>",
        "≈": "about",
        "≤": "<=",
        "≥": ">=",
        "≠": "not equal to",
        "≡": "=",
        "∝": "proportional to",
        "∞": "infinity",
        "√": "root",
        "↑": "up",
        "↓": "down",
        "′": "'",
        "″": '"',
        "☐": "box",
        "□": "box",
        "✓": "tick",
        "✗": "cross",
        "\N{MINUS SIGN}": "-",
        "\N{FIGURE SPACE}": " ",
        "\N{THIN SPACE}": " ",
        "\N{NARROW NO-BREAK SPACE}": " ",
        "\N{SOFT HYPHEN}": "",
        "\N{ZERO WIDTH SPACE}": "",
        "\N{NON-BREAKING HYPHEN}": "-",
        NO_BREAK: " ",
        **_GREEK,
    }
)


@lru_cache(maxsize=1024)
def _one(character: str) -> str | None:
    """The LaTeX of one character, or None where there is none."""
    if character in _SIGNS:
        return _SIGNS[character]
    if character in _GREEK:
        name = _GREEK[character]
        return rf"\ensuremath{{\{_GREEK_FORMS.get(name, name)}}}"
    if " " <= character <= "~":
        return character
    decomposed = unicodedata.normalize("NFD", character)
    base, marks = decomposed[0], decomposed[1:]
    if not marks or not base.isascii() or not base.isalpha() or not all(mark in _ACCENTS for mark in marks):
        return None
    written = {"i": r"\i", "j": r"\j"}.get(base, base) if unicodedata.combining(marks[0]) == 230 else base
    for mark in marks:
        written = f"{_ACCENTS[mark]}{{{written}}}"
    return written


def _refusal(character: str, text: str) -> Mistake:
    name = unicodedata.name(character, "no name")
    return Mistake(
        f"the character U+{ord(character):04X} ({name}) in {shortened(text)} cannot be printed by LaTeX",
        expected="Latin letters, Greek letters, figures and the signs of chemistry",
        do="Write it another way, or print the PDF instead.",
    )


def _plain_run(run: str, whole: str) -> str:
    """A run without sub- and superscripts. A character joined to its like ("--") is held apart from it."""
    pieces: list[str] = []
    previous = ""
    for character in run:
        written = _one(character)
        if written is None:
            raise _refusal(character, whole)
        if previous == character and character in "-,":
            pieces.append("{}")
        pieces.append(written)
        previous = character
    return "".join(pieces)


def _scripts(run: str, whole: str) -> str:
    pieces: list[str] = []
    end = 0
    for found in _SCRIPTS.finditer(run):
        pieces.append(_plain_run(run[end : found.start()], whole))
        table, command = (RAISED, "textsuperscript") if found[1] else (LOWERED, "textsubscript")
        pieces.append(rf"\{command}{{{_plain_run(''.join(table[letter] for letter in found[0]), whole)}}}")
        end = found.end()
    pieces.append(_plain_run(run[end:], whole))
    return "".join(pieces)


def escape(text: str) -> str:
    """LaTeX that prints the text as it is. Raises Mistake for a character that LaTeX here cannot print."""
    composed = unicodedata.normalize("NFC", text)
    words = re.split(r"([ \n\r\t])", composed)
    return "".join(
        r"\allowbreak{}".join(_scripts(letter, text) for letter in word)
        if len(word) > LONGEST_WORD and NO_BREAK not in word
        else _scripts(word, text)
        for word in words
    )


def escape_plain(text: str) -> str:
    """LaTeX for a PDF's title, bookmarks and words for a figure: letters and simple signs only, no type."""
    composed = unicodedata.normalize("NFC", text).translate(_PLAIN)
    return " ".join(_plain_run(composed, text).split())
