"""Molewright: titration questions and the mark schemes that belong to them.

A question is an experiment with one number hidden. DEVELOPERS.md tells the way of a question. For people who program:

    import molewright

    banks = molewright.read_banks()
    order = molewright.new_order(banks, "back-portions", questions=2, level="exam", seed=7)
    sheets = molewright.make_sheets(order, banks)  # {"questions": b"%PDF...", "scheme": ..., "worked": ..., "answers": ...}
    files = molewright.write_papers(order, banks, "out", versions="AB")  # workers=molewright.Workers(2): by two processes
    molewright.show_question(order, banks, 2)  # in a notebook: the question, set
    solved = molewright.solve_experiment("experiment.yaml", banks)  # solved.exact, solved.rounded, solved.unit
    rows = molewright.mark_answers("answers.csv", banks)

Whatever a person can put right is raised as `molewright.Mistake`, whose text says what was expected and what to do. All of this is
imported when it is first used; `help(molewright.make_sheets)` and its neighbours tell the rest.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from molewright.version import VERSION

if TYPE_CHECKING:
    from molewright.interface import (
        Bank,
        Marked,
        Mistake,
        Order,
        ShownQuestion,
        Solved,
        Workers,
        make_sheets,
        mark_answers,
        new_order,
        read_banks,
        show_question,
        solve_experiment,
        write_papers,
    )

__version__ = VERSION
__all__ = [
    "Bank",
    "Marked",
    "Mistake",
    "Order",
    "ShownQuestion",
    "Solved",
    "Workers",
    "make_sheets",
    "mark_answers",
    "new_order",
    "read_banks",
    "show_question",
    "solve_experiment",
    "write_papers",
]


def __getattr__(name: str) -> Any:
    """What is offered, imported when it is first asked for (PEP 562)."""
    if name in __all__:
        from molewright import interface

        return getattr(interface, name)
    raise AttributeError(f"module 'molewright' has no attribute '{name}'")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
