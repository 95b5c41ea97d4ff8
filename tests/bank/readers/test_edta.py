"""The bank of EDTA constants: every entry has its source, fits the other banks, and a wrong one is told with its line."""

from __future__ import annotations

import pytest

from molewright.bank.definitions import Bank, EdtaAcid, EdtaEntry, EdtaIndicator, EdtaMetal
from molewright.bank.readers.edta import read_edta
from molewright.errors import Mistake
from molewright.reading.fields import Fields
from molewright.reading.yaml_text import parse_tree
from shared.for_each import for_each


def read(text: str) -> EdtaEntry:
    fields = Fields(parse_tree(text, "edta.yaml"))
    made = read_edta(fields)
    fields.finish()
    return made


def test_every_entry_has_its_source_and_stands_once(bank: Bank) -> None:
    assert all(one.source for one in bank.edta)
    named = [
        getattr(one, "metal", "") or getattr(one, "indicator", "") or getattr(one, "formula", "") for one in bank.edta
    ]
    assert len(set(named)) == len(named)
    assert sum(isinstance(one, EdtaAcid) for one in bank.edta) == 1


def test_metals_and_indicators_are_known_to_the_other_banks(bank: Bank) -> None:
    for one in bank.edta:
        if isinstance(one, EdtaMetal):
            assert one.metal in bank.ions, one.metal
        if isinstance(one, EdtaIndicator):
            assert bank.indicators[one.indicator].low is None, one.indicator  # it does not follow pH


def test_edta_has_six_protons_to_lose(bank: Bank) -> None:
    (acid,) = (one for one in bank.edta if isinstance(one, EdtaAcid))
    assert len(acid.pkas) == 6


@for_each(
    ("metal", "published"),
    [
        ("Mg^2+", 8.79),
        ("Ca^2+", 10.69),
        ("Zn^2+", 16.50),
        ("Al^3+", 16.3),
        ("Ni^2+", 18.62),
        ("Cu^2+", 18.80),
        ("Fe^3+", 25.1),
    ],
)
def test_constants_agree_with_a_second_table(bank: Bank, metal: str, published: float) -> None:
    # D. C. Harris, Quantitative Chemical Analysis, older table of formation constants with EDTA; from memory
    (found,) = (one for one in bank.edta if isinstance(one, EdtaMetal) and one.metal == metal)
    assert found.log_k == pytest.approx(published, abs=0.2)


def test_a_metal_an_acid_and_an_indicator_are_read() -> None:
    assert read("{metal: Ca^2+, log k: 10.70, source: here, note: for people}") == EdtaMetal("Ca^2+", 10.70, (), "here")
    assert read("{acid: H6Y^2+, pkas: [0.0, 10.24], titrated as: H2Y^2-, source: here}") == EdtaAcid(
        "H6Y^2+", (0.0, 10.24), "H2Y^2-", "here"
    )
    assert read("{indicator: murexide, low: 11, high: 13, source: here}") == EdtaIndicator("murexide", 11, 13, "here")


@for_each(
    ("text", "told"),
    [
        ("{metal: Ca^2+, log k: 99, source: here}", "log k of 99.0"),
        ("{metal: Ca^2+, source: here}", "log k"),
        ("{metal: Zn^2+, log k: 16.5, ammines: [nan], source: here}", "ammines nan"),
        ("{acid: H6Y^2+, pkas: [two], source: here}", "pkas two"),
        ("{acid: H6Y^2+, pkas: [6.16, 2.66], titrated as: H2Y^2-, source: here}", "pKa values"),
        ("{acid: H6Y^2+, pkas: [2.66], source: here}", "titrated as"),
        ("{buffer: NH3, low: 11, high: 8.5, free: 0.3, source: here}", "the lower pH first"),
        ("{buffer: NH3, low: 8.5, high: 11, free: 0, source: here}", "some of it"),
        ("{indicator: murexide, low: 13, high: 11, source: here}", "from pH 13.0 to 11.0"),
        ("{indicator: murexide, low: 11, high: 13}", "source"),
        ("{metal: Ca^2+, log k: 10.7, source: here, colour: red}", "colour"),
    ],
)
def test_a_wrong_entry_is_told(text: str, told: str) -> None:
    with pytest.raises(Mistake) as caught:
        read(text)
    assert told in str(caught.value)
