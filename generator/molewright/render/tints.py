"""The tints that a sheet can be asked for, as colours of its paper, in every form that is read on a screen."""

from __future__ import annotations

from molewright.nodes.blocks import TintName

TINTS: dict[TintName, str] = {
    "cream": "FBF3E0",
    "blue": "E2EEF9",
    "green": "E3F2E4",
    "pink": "FBE6EA",
    "grey": "ECECEC",
}
"""Red, green and blue, so pale that black words on them stand out seventeen times as bright."""
