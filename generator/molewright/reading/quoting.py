"""Texts come in; what YAML reads back as the same texts goes out."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from typing import assert_never

from molewright.reading.yaml_text import Branch, Keys, Listing, Scalar

_PLAIN = re.compile(r"[A-Za-z0-9(⁻][^\n:?#\"'\[\]{},&*!|>%@`\\]*[^\s:?#\"'\[\]{},&*!|>%@`\\]|[A-Za-z0-9]")
_TAKEN = re.compile(r"null|true|false|yes|no|on|off|y|n|\d{4}-\d\d?-\d\d?.*", re.IGNORECASE)
"""Words and dates that other readers of YAML take for something else; ours takes every scalar for the text that it is."""


def quoted(text: str) -> str:
    """A text as YAML reads it back: bare where nothing in it could be read as a sign, else in quotation marks."""
    bare = _PLAIN.fullmatch(text) and not _TAKEN.fullmatch(text)
    return text if bare else json.dumps(text, ensure_ascii=False)


def listed(texts: Iterable[str]) -> str:
    """Several texts on one line."""
    return f"[{', '.join(map(quoted, texts))}]"


def mapped(pairs: Iterable[tuple[str, str]]) -> str:
    """Keys and their texts on one line."""
    return f"{{{', '.join(f'{quoted(key)}: {quoted(text)}' for key, text in pairs)}}}"


def flow_text(branch: Branch) -> str:
    """A whole branch on one line."""
    match branch:
        case Scalar(text=text):
            return quoted(" ".join(text.split()))
        case Listing(members=members):
            return f"[{', '.join(map(flow_text, members))}]"
        case Keys():
            return f"{{{', '.join(f'{quoted(key)}: {flow_text(held)}' for key, held in branch.items())}}}"
        case _:
            assert_never(branch)
