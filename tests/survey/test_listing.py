"""What a bank holds, told in lines; and how its archetypes draw."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.question.check import Questions
from molewright.survey import levels, listing
from molewright.survey.listing import check_bank, list_bank
from shared.for_each import for_each

KINDS = ("archetypes", "materials", "substances", "reactions", "indicators", "apparatus", "contexts", "slips")


@for_each("kind", KINDS)
def test_every_entry_of_a_kind_is_told(kind: str, small_bank: Bank) -> None:
    lines = "\n".join(list_bank(small_bank, kind))
    held = getattr(small_bank, kind)
    names = [getattr(one, "key", getattr(one, "name", str(getattr(one, "reaction", one)))) for one in (
        held.values() if hasattr(held, "values") else held
    )]  # fmt: skip
    assert names
    assert all(str(name) in lines for name in names)
    assert "{" not in lines
    assert "None" not in lines


def test_the_archetypes_end_with_their_number_and_the_fingerprint(small_bank: Bank) -> None:
    last = list(list_bank(small_bank, "archetypes"))[-1]
    assert last == f"{len(small_bank.archetypes)} archetypes; banks {small_bank.fingerprint}"


def test_formulae_are_told_with_low_figures(small_bank: Bank) -> None:
    assert "CaCO₃: calcium carbonate" in list(list_bank(small_bank, "substances"))


def test_a_check_draws_every_archetype_and_tells_its_refusals(small_bank: Bank) -> None:
    seen: list[tuple[int, int]] = []
    lines = list(check_bank(small_bank, Plans("x", None), 5, lambda done, total: seen.append((done, total))))
    for key in small_bank.archetypes:
        assert any(line.startswith(key) and "5 questions" in line for line in lines)
    assert lines[-1].startswith(f"every entry is sound: {len(small_bank.archetypes)} archetypes")
    total = len(small_bank.archetypes)
    assert seen == [(done, total) for done in range(1, total + 1)]


def test_a_check_tells_every_archetype_that_cannot_be_drawn(small_bank: Bank, monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object, **__: object) -> None:
        raise Mistake("always refused (window 200 times)")

    monkeypatch.setattr(Questions, "make", never)
    with pytest.raises(Mistake) as caught:
        list(check_bank(small_bank, Plans("x", None), 1, lambda *_: None))
    assert str(caught.value).count("always refused") == len(small_bank.archetypes)


@pytest.mark.thorough
def test_a_full_check_tells_more_of_each_archetype_and_the_method_once(small_bank: Bank) -> None:
    seen: list[tuple[int, int]] = []
    lines = list(check_bank(small_bank, Plans("x", None), 3, lambda done, total: seen.append((done, total)), full=True))
    for archetype in small_bank.archetypes.values():
        assert lines.count(f"{archetype.key}: {archetype.title}") == 1
    for label in ("  distinct questions", "  refused", "  commoner mistakes", "  stretch part", "  sample 1"):
        assert sum(line.startswith(label) for line in lines) == len(small_bank.archetypes)
    assert sum(line.startswith("Distinct questions differ") for line in lines) == 1
    assert lines[-1].startswith("every entry is sound")
    assert len(seen) == len(small_bank.archetypes)


@pytest.mark.parametrize("full", [False, True])
def test_only_the_named_archetypes_are_drawn_each_once(full: bool, small_bank: Bank) -> None:
    named = ("small-iron", "small-direct", "small-iron")
    seen: list[tuple[int, int]] = []
    lines = list(
        check_bank(small_bank, Plans("x", None), 3, lambda done, total: seen.append((done, total)), named, full)
    )
    heads = [line.split()[0].rstrip(":") for line in lines if line.startswith("small-")]
    assert heads == ["small-iron", "small-direct"]
    assert seen == [(1, 2), (2, 2)]


@pytest.mark.thorough
def test_a_full_check_draws_the_same_questions_as_a_short_one(small_bank: Bank) -> None:
    short, *_ = check_bank(small_bank, Plans("x", None), 20, lambda *_: None, ("small-back",))
    full = list(check_bank(small_bank, Plans("x", None), 20, lambda *_: None, ("small-back",), full=True))
    rules = short.partition("(")[2].rstrip(")")
    assert rules
    assert f"({rules})" in " ".join(" ".join(full).split())


@pytest.mark.parametrize("full", [False, True])
@pytest.mark.parametrize("level", ["scaffolded", "structured", "exam", "stretch"])
def test_a_check_fails_where_a_level_would_fail_on_paper(
    full: bool, level: str, small_bank: Bank, monkeypatch: pytest.MonkeyPatch
) -> None:
    class NoSuchLevel(Exception):
        pass

    def fail(*arguments: object, **_: object) -> None:
        if level in ("stretch", arguments[-1]):
            raise NoSuchLevel

    if level == "stretch":
        monkeypatch.setattr(Questions, "stretched", fail)
    else:
        monkeypatch.setattr(levels, "_compose", fail)
    with pytest.raises(NoSuchLevel):
        list(check_bank(small_bank, Plans("x", None), 2, lambda *_: None, ("small-back",), full))


@pytest.mark.thorough
def test_where_too_much_is_refused_a_short_check_says_why(small_bank: Bank, monkeypatch: pytest.MonkeyPatch) -> None:
    full = list(check_bank(small_bank, Plans("x", None), 20, lambda *_: None, ("small-back",), full=True))
    assert any(", for example: " in line for line in full)
    monkeypatch.setattr(listing, "MOST_REFUSED", 0)
    first, reason, *_ = check_bank(small_bank, Plans("x", None), 20, lambda *_: None, ("small-back",))
    commonest = first.partition("(")[2].split()[0]
    assert reason.startswith(f"  {commonest}")
    assert ", for example: " in reason
    monkeypatch.setattr(listing, "MOST_REFUSED", 1)
    _, last = check_bank(small_bank, Plans("x", None), 20, lambda *_: None, ("small-back",))
    assert last.startswith("every entry is sound")
