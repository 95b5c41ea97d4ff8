"""The tree of described experiments comes in; one tree for each quantity that is asked goes out.

A description may ask for several quantities in a list; each is worked out, and printed, as if it were asked for alone.
"""

from __future__ import annotations

from dataclasses import replace

from molewright.errors import Mistake
from molewright.reading.yaml_text import Branch, Keys, Listing, each_of

ASKED = "asked"


def each_asked(tree: Branch) -> tuple[Branch, ...]:
    """Every experiment of a file, once for each quantity that it asks for. Raises Mistake for an empty list."""
    return tuple(asking for one in each_of(tree) for asking in _asking(one))


def _asking(tree: Branch) -> tuple[Branch, ...]:
    asked = tree.members.get(ASKED) if isinstance(tree, Keys) else None
    if not isinstance(tree, Keys) or not isinstance(asked, Listing):
        return (tree,)
    if not asked.members:
        raise Mistake("nothing is asked", expected="at least one quantity", where=tree.wheres.get(ASKED, tree.where))
    return tuple(replace(tree, members={**tree.members, ASKED: one}) for one in asked.members)
