"""The bytes of a PDF that was filled in on screen come in; what was typed, field by field, and the words of its pages go out.

The only home of pypdf. Nothing in the file is run.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Mapping
from dataclasses import dataclass

from molewright.errors import Mistake

MOST_PAGES = 100
MOST_FIELDS = 2_000


@dataclass(frozen=True, slots=True)
class FilledForm:
    """What was typed, by the names of the fields ("" where nothing was), and the words of each page."""

    typed: Mapping[str, str]
    pages: tuple[str, ...]


def read_form(content: bytes) -> FilledForm:
    """A filled form. Raises Mistake for what is no PDF, is locked, or has no fields: a scan, or a print of a filled paper."""
    import pypdf

    log = logging.getLogger("pypdf")
    before = log.level
    log.setLevel(logging.CRITICAL + 1)  # what is odd in a file from outside is told once, by the Mistake
    try:
        found = pypdf.PdfReader(io.BytesIO(content))
        if len(found.pages) > MOST_PAGES:
            raise Mistake(f"it has more than {MOST_PAGES} pages")
        fields = found.get_fields() or {}
        if not fields:
            raise Mistake("it has no fields: a scan, or printed again after it was filled in")
        if len(fields) > MOST_FIELDS:
            raise Mistake(f"it has more than {MOST_FIELDS} fields")
        typed = {str(name): _text(field.get("/V")) for name, field in fields.items()}
        return FilledForm(typed, tuple(page.extract_text() for page in found.pages))
    except Mistake:
        raise
    except Exception as broken:  # of whatever kind: the bytes come from outside
        raise Mistake(f"it cannot be read as a PDF ({type(broken).__name__})") from None
    finally:
        log.setLevel(before)


def _text(value: object) -> str:
    """A value as one line."""
    return " ".join(value.split()) if isinstance(value, str) else ""
