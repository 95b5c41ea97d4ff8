"""The document of one paper comes in; the questions that were set in it, and before it, go out, as an order keeps them; and back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from molewright.order.order import Past

BEFORE = "set before"  # in the record of a practice: the questions of the papers that it follows


def past_of(document: Any) -> Iterator[Past]:
    """What was set in one paper of a record; of a practice, also what was set in the papers that it follows."""
    for question in (*document["questions"], *document.get(BEFORE, ())):
        if not isinstance(question, dict) or "archetype" not in question:
            continue  # a question in a teacher's own words
        roles = question.get("roles")
        yield Past(
            kind=str(question["archetype"]),
            roles=tuple(sorted((str(role), str(what)) for role, what in roles.items()))
            if isinstance(roles, dict)
            else (),
            asked=str(question.get("asked", "")),
            scene=str(question.get("context", "")),
        )


def as_before(past: Past) -> dict[str, Any]:
    """A question that was set before, as the record of a practice keeps it."""
    return {"archetype": past.kind, "roles": dict(past.roles), "asked": past.asked, "context": past.scene}
