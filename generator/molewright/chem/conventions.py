"""How a paper rounds relative atomic masses and writes units, as closed sets. Rounds and converts nothing, imports nothing heavy."""

from __future__ import annotations

from typing import Literal, get_args

Convention = Literal["one place", "two places", "whole", "unrounded"]
CONVENTIONS: tuple[Convention, ...] = get_args(Convention)

UnitStyle = Literal["dm3", "litre"]
UNIT_STYLES: tuple[UnitStyle, ...] = get_args(UnitStyle)
