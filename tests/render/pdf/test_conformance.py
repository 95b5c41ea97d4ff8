"""What every file says of itself is true: an independent judge finds nothing against PDF/UA-1 and PDF/A-2a in any kind of sheet."""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path
from typing import get_args

import pytest
from PIL import ImageCms

from molewright.bank.definitions import Bank
from molewright.derivation.plans import Plans
from molewright.nodes.blocks import Paragraph, SheetKind
from molewright.order.choices import SHEET_CHOICES
from molewright.order.order import Order, Wanted
from molewright.order.pupils import Pupil
from molewright.papers.sets import PaperSet
from molewright.papers.writing import write_papers
from molewright.render.pdf import claims, part, render
from molewright.render.pdf.joined import Joined
from shared.conforming import faults
from shared.every_node import everything, words
from shared.for_each import for_each

PUPILS = (Pupil(name="Zoë Quern"), Pupil(name="Bram Łukasik"))


@for_each("kind", get_args(SheetKind))
def test_every_node_conforms_in_every_kind_of_sheet(kind: SheetKind) -> None:
    assert faults(render(replace(everything(), kind=kind, wide=kind == "data"))) == []


def test_characters_of_every_further_part_of_the_typeface_conform() -> None:
    letters = words("Ω Ђ ẞ ⅓ ↔ ∑ Łódź ſ ₐ ⇌ ☐")
    assert faults(render(replace(everything(), blocks=(Paragraph(letters),)))) == []


def test_a_joined_file_conforms_with_its_blank_pages() -> None:
    pieces: list[bytes] = []
    whole = Joined(pieces.append, "Two papers")
    for name in ("Ilsa Quern", "Bram Tollo"):
        whole.add(part(replace(everything(), blocks=everything().blocks[:5])), name)
    whole.finish()
    assert whole.blank_pages
    assert faults(b"".join(pieces)) == []


@pytest.mark.thorough
def test_every_sheet_of_a_class_conforms_joined_or_not(bank: Bank, plans: Plans, tmp_path: Path) -> None:
    for files in ("joined", "separate"):
        wanted = Wanted(pupils=PUPILS, files=files, sheets=SHEET_CHOICES)  # type: ignore[arg-type]
        write_papers(PaperSet(bank, Order(seed=5, count=3), wanted, plans), tmp_path / files)
        found = {path.name: faults(path.read_bytes()) for path in (tmp_path / files).glob("*.pdf")}
        assert len(found) >= len(SHEET_CHOICES)
        assert not any(found.values()), found


@pytest.mark.parametrize(
    ("said", "instead"),
    [
        (b"<pdfuaid:part>1</pdfuaid:part>", b"<pdfuaid:part>7</pdfuaid:part>"),
        (b"<pdfaid:conformance>A<", b"<pdfaid:conformance>Z<"),
        (b"ua/ns/id/</pdfaSchema:namespaceURI>", b"ua/ns/ix/</pdfaSchema:namespaceURI>"),
        (b"/Type /Metadata", b"/Type /Netadata"),
    ],
)
def test_the_judge_sees_a_claim_that_is_spoilt(said: bytes, instead: bytes) -> None:
    made = render(everything())
    assert said in made
    assert faults(made.replace(said, instead))


def test_the_grey_of_the_output_intent_is_one_that_a_colour_library_reads() -> None:
    profile = ImageCms.ImageCmsProfile(io.BytesIO(claims.grey_profile())).profile
    assert (profile.xcolor_space, profile.connection_space, profile.device_class) == ("GRAY", "XYZ ", "mntr")
    assert profile.profile_description == "Grey, gamma 2.2"
    assert [round(part, 3) for part in profile.media_white_point[0]] == [0.964, 1.0, 0.825]
