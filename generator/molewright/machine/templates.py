"""A folder of templates comes in; jinja2 over it goes out, in a sandbox, where a name that is not there is a fault. Its only home."""

from __future__ import annotations

from typing import TYPE_CHECKING

from molewright.machine import places

if TYPE_CHECKING:
    from jinja2 import Environment, Template

__all__ = ["Environment", "Template", "templates_in"]


def templates_in(
    folder: str, *, escaped: bool = True, keep_trailing_newline: bool = False, **signs: str
) -> Environment:
    """The templates of a folder. `escaped`: what they print is escaped for HTML; `signs` stand in the place of jinja2's own braces."""
    from jinja2 import FileSystemLoader, StrictUndefined
    from jinja2.sandbox import SandboxedEnvironment

    return SandboxedEnvironment(
        loader=FileSystemLoader(places.templates() / folder),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=keep_trailing_newline,
        autoescape=escaped,
        **signs,
    )
