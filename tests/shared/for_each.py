"""A test of one case and many cases come in; a test of few items that checks every case and tells all failures at once goes out.

A rule that holds for each kind of question, form or species of the banks is one fact. As an item for each case it would cost
more to collect than to check.
"""

from __future__ import annotations

import functools
import inspect
import traceback
from collections.abc import Callable, Iterable
from functools import cache
from itertools import product
from typing import Any

import pytest

SHARES_OF_KINDS = 4  # of tests of all kinds of question: two for each of the two processors that they are made for
MOST_TOLD = 12  # failures that are told in full; the others by name
_wanted = ""  # a part of the names of the cases to check; "" for all


class NothingToCheck(AssertionError):
    """A list of cases is empty, or two cases share a name: the test would say less than it claims."""


def only(part_of_name: str) -> None:
    """Check only the cases whose name holds this, until called again (the option --case)."""
    global _wanted
    _wanted = part_of_name


def for_each(
    arguments: str | tuple[str, ...],
    cases: Iterable[Any] | Callable[[], Iterable[Any]],
    names: Iterable[str] = (),
    shares: int = 1,
    share_of: Callable[[tuple[Any, ...]], int] | None = None,
) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Check every case in `shares` items of about the same work. Failures are gathered; a skipped case is a failure.

    It is written as pytest.mark.parametrize is: the argument or arguments, the cases, and what each is called. Cases that take long to
    find are found by a function, called when the test runs. What needs several shares is a thorough test. Whatever else the test asks
    for is shared by the cases of an item, so no case may change it. A case is in the share whose turn it is by its place among the
    cases, or by what `share_of` says of it.
    """
    spelt = (arguments,) if isinstance(arguments, str) else arguments
    of_each_share = cache(lambda: _parted(spelt, cases() if callable(cases) else cases, names, shares, share_of))
    told = "every case" if callable(cases) else f"{sum(map(len, of_each_share()))} cases"

    def gathered(test: Callable[..., None]) -> Callable[..., None]:
        @functools.wraps(test)
        def checked(share: int, **others: Any) -> None:
            check_all(test, spelt, [one for one in of_each_share()[share] if _wanted in one[0]], others)

        own = inspect.signature(test)
        missing = set(spelt) - set(own.parameters)
        if missing:
            raise NothingToCheck(f"{test.__name__} takes no {', '.join(sorted(missing))}")
        kept = [
            parameter.replace(kind=parameter.KEYWORD_ONLY)
            for name, parameter in own.parameters.items()
            if name not in spelt
        ]
        share = inspect.Parameter("share", inspect.Parameter.KEYWORD_ONLY)
        checked.__signature__ = own.replace(parameters=[share, *kept])  # type: ignore[attr-defined]
        ids = [told] if shares == 1 else [f"share {at + 1} of {shares}" for at in range(shares)]
        parted = pytest.mark.parametrize("share", range(shares), ids=ids)(checked)
        return pytest.mark.thorough(parted) if shares > 1 else parted

    return gathered


def for_every(**each: Iterable[Any]) -> Callable[[Callable[..., None]], Callable[..., None]]:
    """Check every case of each argument with every case of the others: for_every(key=KEYS, level=LEVELS)."""
    return for_each(tuple(each), product(*each.values()))


def _parted(
    spelt: tuple[str, ...],
    cases: Iterable[Any],
    names: Iterable[str],
    shares: int,
    share_of: Callable[[tuple[Any, ...]], int] | None,
) -> list[list[tuple[str, tuple[Any, ...]]]]:
    """The cases of each share, with their names."""
    held = [case if len(spelt) > 1 else (case,) for case in cases]
    called = list(names) or [" ".join(map(str, case)) for case in held]
    if not held or len(set(called)) != len(held) or any(len(case) != len(spelt) for case in held):
        raise NothingToCheck(f"{len(held)} cases with {len(set(called))} names for {', '.join(spelt)}")
    found: list[list[tuple[str, tuple[Any, ...]]]] = [[] for _ in range(shares)]
    for place, (name, case) in enumerate(zip(called, held, strict=True)):
        found[(share_of(case) if share_of else place) % shares].append((name, case))
    return found


def check_all(
    test: Callable[..., None], arguments: tuple[str, ...], cases: list[tuple[str, Any]], others: dict[str, Any]
) -> None:
    """Check each case; after the last, fail with what every failed one said and where."""
    failed: list[str] = []
    for name, case in cases:
        try:
            test(**dict(zip(arguments, case, strict=True)), **others)
        except (Exception, pytest.skip.Exception, pytest.fail.Exception) as fault:
            failed.append(told(name, fault) if len(failed) < MOST_TOLD else name)
    if failed:
        pytest.fail(f"{len(failed)} of {len(cases)} cases fail\n" + "\n".join(failed), pytrace=False)


def told(name: str, fault: BaseException) -> str:
    """The name of a case, the line of the test that failed, and what was said there."""
    frames = traceback.extract_tb(fault.__traceback__)
    ours = next((frame for frame in frames if frame.name.startswith("test_")), frames[-1])
    said = str(fault).strip() or ours.line or ""
    return f"{name}: line {ours.lineno}, {type(fault).__name__}: {said}"
