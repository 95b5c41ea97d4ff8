"""What a form cannot print is refused before it prints: joined, stacked and right-to-left scripts, and what a typeface lacks."""

from __future__ import annotations

import sys
import unicodedata

import pytest

from molewright.errors import Mistake
from molewright.nodes.blocks import Paragraph, Sheet
from molewright.nodes.inline import Text
from molewright.render import FORMS, renderer
from shared.for_each import for_each, for_every

# Letters as the languages' own schools teach them; from memory, no source.
ALPHABETS = {
    "English, French, German": "AZaz ÀÂÆÇÉÈÊËÎÏÔŒÙÛÜŸ àâæçéèêëîïôœùûüÿ ÄÖÜẞ äöüß",
    "Scandinavian, Icelandic": "ÅÆØ åæø ÐÞÁÉÍÓÚÝ ðþáéíóúý",
    "Polish, Czech, Slovak": "ĄĆĘŁŃÓŚŹŻ ąćęłńóśźż ČĎĚŇŘŠŤŮŽ čďěňřšťůž ĽĹŔ ľĺŕ",
    "Hungarian, Romanian, Turkish": "ŐŰ őű ĂÂÎȘȚ ăâîșț ĞİŞ ğış",
    "Baltic, Maltese, Welsh": "ĀČĒĢĪĶĻŅŠŪŽ āčēģīķļņšūž ĖĮŲ ėįų ĊĠĦ ċġħ ŴŶ ŵŷ",
    "Spanish, Portuguese, Catalan": "ÑÃÕ ñãõ",
    "Yoruba, Hausa, Igbo": "ẸỌṢ ẹọṣ ƁƊƘ ɓɗƙ ỊỤ ịụ",
    "Vietnamese": "ẠẢẤẦẨẪẬẮẰẲẴẶĐẸẺẼẾỀỂỄỆỈỊỌỎỐỒỔỖỘỚỜỞỠỢỤỦỨỪỬỮỰỲỴỶỸ ạảấầẩẫậắằẳẵặđẹẻẽếềểễệỉịọỏốồổỗộớờởỡợụủứừửữựỳỵỷỹ",
    "Greek": "ΑΒΓΔΕΖΗΘΙΚΛΜΝΞΟΠΡΣΤΥΦΧΨΩ αβγδεζηθικλμνξοπρσςτυφχψω άέήίόύώϊϋΐΰ",
    "Russian, Ukrainian, Belarusian": "АБВГДЕЁЖЗИЙКЛМНОПРСТУФХЦЧШЩЪЫЬЭЮЯ абвгдеёжзийклмнопрстуфхцчшщъыьэюя ҐЄІЇЎ ґєіїў",
    "Serbian, Macedonian, Kazakh": "ЂЈЉЊЋЏЃЅЌ ђјљњћџѓѕќ ӘҒҚҢӨҰҮҺ әғқңөұүһ",
}
JOINED_OR_STACKED = (
    "ARABIC", "HEBREW", "SYRIAC", "THAANA", "NKO", "SAMARITAN", "MANDAIC", "DEVANAGARI", "BENGALI", "GURMUKHI", "GUJARATI",
    "ORIYA", "TAMIL", "TELUGU", "KANNADA", "MALAYALAM", "SINHALA", "THAI", "LAO", "TIBETAN", "MYANMAR", "KHMER", "MONGOLIAN",
    "BALINESE", "JAVANESE", "CHAM", "LIMBU", "SUNDANESE", "LEPCHA", "SAURASHTRA", "MEETEI", "ADLAM", "CHAKMA", "HANGUL",
)  # fmt: skip
"""Scripts that the Unicode Standard 15.0, chapters 9 and 12 to 18, describes as joined, reordered, stacked or right to left."""


def letters_of_unicode() -> dict[str, str]:
    """Every letter with the script that its name begins with."""
    return {
        character: unicodedata.name(character, "").partition(" ")[0]
        for character in map(chr, range(32, sys.maxunicode + 1))
        if unicodedata.category(character)[0] == "L"
    }


def refused(form: str, text: str) -> bool:
    try:
        renderer(form).require_text(text)
    except Mistake:
        return True
    return False


@for_each("language", ALPHABETS)
def test_latin_greek_and_cyrillic_letters_are_printed(language: str) -> None:
    for letter in ALPHABETS[language].replace(" ", ""):
        assert not refused("pdf", letter), letter
        assert not refused("pdf", unicodedata.normalize("NFD", letter)), letter


def test_no_letter_is_printed_that_would_have_to_be_joined_stacked_or_turned() -> None:
    """The typeface holds some of them: set one by one they would be no word."""
    every = letters_of_unicode()
    letters = [letter for letter, script in every.items() if script in JOINED_OR_STACKED]
    letters += [letter for letter in every if unicodedata.bidirectional(letter) in ("R", "AL")]
    assert len(letters) > 5000
    assert [letter for letter in letters if not refused("pdf", letter)] == []


@for_every(text=["Ada Quern", "Łukasz", "Оксана", "محمد", "王小明", "कमल", "𝒜da", "a\u0301\u0302"], form=FORMS)
def test_what_is_let_through_is_what_can_be_rendered(form: str, text: str) -> None:
    sheet = Sheet(kind="questions", title=text, subject="names", code="A-7", blocks=(Paragraph((Text(text),)),))
    if refused(form, text):
        with pytest.raises(Mistake):
            renderer(form).render(sheet)
    else:
        assert renderer(form).render(sheet)
