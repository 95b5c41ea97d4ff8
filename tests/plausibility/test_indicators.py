"""Indicators: each belongs to a kind of equation, and the order of its colours follows from what is in the burette."""

from __future__ import annotations

from molewright.bank.definitions import Bank
from molewright.plausibility.rules import Plausibility
from shared.banks import built_in
from shared.by_hand import described
from shared.for_each import for_each
from shared.quantities import q

# The lines of a titration, true numbers, indicator, and the colours before and at the end point. Common practice, no source: xylenol
# orange is red with metal ions and yellow without; starch is blue-black with iodine; ferroin is red where it is reduced.
SALT = "- measure: {{solution: {flask}, into: portion}}\n{added}- titrate: {{with: {burette}{of}}}\n"
ACID = "- add: an excess of dilute sulfuric acid\n"
SALTS = {
    "ZnSO4": "0.01",
    "Na2H2Y": "0.01",
    "FeSO4": "0.08",
    "K2Cr2O7": "0.015",
    "HCl": "0.1",
    "NaOH": "0.1",
    "KMnO4": "0.018",
}


def titrated(flask: str, burette: str, added: str = "") -> tuple[str, dict]:  # type: ignore[type-arg]
    values = {q(f"concentration of {one}"): SALTS[one] for one in (flask, burette)}
    of = {"ZnSO4": ", of: [Zn^2+]", "Na2H2Y": ", gives: 1 Zn^2+, of: [H2Y^2-]"}.get(flask, "")
    return SALT.format(flask=flask, burette=burette, added=added, of=of), {
        **values,
        q(f"volume of {flask} in portion"): "25.0",
    }


@for_each(
    ("flask", "burette", "added", "indicator", "colours"),
    [
        ("ZnSO4", "Na2H2Y", "- add: a buffer solution of pH 5.5\n", "xylenol orange", ("red", "yellow")),
        ("Na2H2Y", "ZnSO4", "- add: a buffer solution of pH 5.5\n", "xylenol orange", ("yellow", "red")),
        ("ZnSO4", "Na2H2Y", "- add: a buffer solution of pH 10\n", "eriochrome black T", ("wine-red", "blue")),
        ("Na2H2Y", "ZnSO4", "- add: a buffer solution of pH 10\n", "eriochrome black T", ("blue", "wine-red")),
        ("FeSO4", "K2Cr2O7", ACID, "ferroin", ("reddish brown", "blue-green")),
        ("K2Cr2O7", "FeSO4", ACID, "ferroin", ("blue-green", "reddish brown")),
        ("FeSO4", "K2Cr2O7", ACID, "sodium diphenylaminesulfonate", ("green", "purple")),
        ("HCl", "NaOH", "", "methyl orange", ("red", "orange")),
        ("NaOH", "HCl", "", "methyl orange", ("yellow", "orange")),
        # of another kind than the equation: nothing can be told
        ("FeSO4", "KMnO4", ACID, "methyl orange", ("", "")),
        ("ZnSO4", "Na2H2Y", "- add: a buffer solution of pH 10\n", "ferroin", ("", "")),
        ("HCl", "NaOH", "", "starch", ("", "")),
        ("HCl", "NaOH", "", "eriochrome black T", ("", "")),
    ],
)
def test_the_burette_tells_the_order_of_the_colours(
    flask: str, burette: str, added: str, indicator: str, colours: tuple[str, str], bank: Bank
) -> None:
    assert Plausibility(bank).colour_change(described(bank, *titrated(flask, burette, added), indicator)) == colours


@for_each(
    ("flask", "burette", "added", "indicator"),
    [
        ("FeSO4", "KMnO4", ACID, "methyl orange"),
        ("FeSO4", "K2Cr2O7", ACID, "phenolphthalein"),
        ("FeSO4", "KMnO4", ACID, "starch"),
        ("FeSO4", "K2Cr2O7", ACID, "eriochrome black T"),
        ("FeSO4", "K2Cr2O7", ACID, "potassium chromate"),
        ("ZnSO4", "Na2H2Y", "- add: a buffer solution of pH 10\n", "ferroin"),
        ("ZnSO4", "Na2H2Y", "- add: a buffer solution of pH 10\n", "methyl orange"),
        ("HCl", "NaOH", "", "starch"),
        ("HCl", "NaOH", "", "ferroin"),
        ("HCl", "NaOH", "", "eriochrome black T"),
    ],
)
def test_an_indicator_of_another_kind_than_the_equation_is_refused(
    flask: str, burette: str, added: str, indicator: str, bank: Bank
) -> None:
    refused = Plausibility(bank).refusal(described(bank, *titrated(flask, burette, added), indicator))
    assert refused is not None
    assert refused[0] == "indicator"
    assert indicator in refused[1]


@for_each("key", built_in().archetypes)
def test_every_indicator_that_a_kind_of_question_may_have_is_of_its_kind(key: str, bank: Bank) -> None:
    judge = Plausibility(bank)
    for variant in bank.archetypes[key].variants:
        if not variant.procedure.titrations:
            continue
        last = variant.procedure.titrations[-1]
        for name in {last.indicator, *variant.indicators} - {""}:
            assert not judge.of_its_kind.unfit(last, bank.indicators[name]), name
            assert judge.of_its_kind.tells(last, bank.indicators[name]), name
