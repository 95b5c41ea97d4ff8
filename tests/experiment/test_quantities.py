"""Names of quantities: one object a quantity, texts made on demand, nothing told from a text; words read and written at the edge."""

from __future__ import annotations

import ast
import copy
import json
import pickle
import sys
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers.described import Chemicals
from molewright.bank.readers.described_experiment import Experiment, build_experiment
from molewright.chem.reaction import parse_reaction
from molewright.derivation.plans import Plans
from molewright.errors import Mistake
from molewright.experiment import quantities
from molewright.experiment.procedure import Content, Measure, Procedure, Titrate, Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_texts import by_text, find_name, texts_of
from molewright.experiment.relations.relating import relate
from molewright.experiment.solution import Solution
from molewright.order.order import Order, Wanted
from molewright.papers.making import PaperMaker
from molewright.reading.yaml_text import parse_tree
from molewright.solve.described import as_json, solve
from shared.for_each import for_each
from shared.modules import MODULES
from shared.papers import write_papers
from shared.quantities import q

# ------------------------------------------------------------------ the value


def test_a_quantity_has_one_name_however_it_is_made() -> None:
    assert quantities.mass("rock") is Name("mass", "rock")
    assert pickle.loads(pickle.dumps(Name("mass", "rock"))) is Name("mass", "rock")
    assert copy.deepcopy({Name("mass", "rock"): 1}) == {Name("mass", "rock"): 1}
    assert quantities.once_more(Name("mass", "rock")) is not Name("mass", "rock")


def test_names_made_at_the_same_time_are_one() -> None:
    with ThreadPoolExecutor(8) as workers:
        for number in range(50):
            made = list(workers.map(lambda _, number=number: Name("mass", f"sample {number}"), range(16)))  # type: ignore[misc]
            assert len(set(made)) == 1


def test_a_name_that_nobody_holds_is_forgotten() -> None:
    before = len(quantities._known)
    held = [Name("mass", f"held {number}") for number in range(100)]
    assert len(quantities._known) >= before + 100
    del held
    assert len(quantities._known) <= before


@for_each("field", ["kind", "subject", "place", "stage", "again", "text", "other"])
def test_a_name_cannot_be_changed(field: str) -> None:
    name = Name("mass", "rock")
    with pytest.raises(AttributeError):
        setattr(name, field, "another")
    with pytest.raises(AttributeError):
        delattr(name, field)
    assert name.text == "mass of rock"


def test_names_are_ordered_by_their_texts_and_alike_texts_by_what_they_mean() -> None:
    names = [
        q("titre of NaOH"),
        q("mass of rock"),
        q("amount of HCl in portion", "sample"),
        q("amount of HCl in portion"),
    ]
    ordered = [names[3], names[2], names[1], names[0]]
    assert sorted(names) == sorted([names[2], names[0], names[3], names[1]]) == ordered


# Texts that papers, records and people's files hold: they are the same in every version.
TEXTS = {
    quantities.mass("limestone"): "mass of limestone",
    quantities.bottle_mass("limestone", True): "mass of bottle emptied of limestone",
    quantities.bottle_mass("limestone", False): "mass of bottle with limestone",
    quantities.percentage("CaCO3", "limestone"): "percentage of CaCO3 in limestone",
    quantities.impurity("limestone"): "percentage of impurities in limestone",
    quantities.mass_each("MgCO3", "tablet"): "mass of MgCO3 in each tablet",
    quantities.pieces("tablet"): "number of tablets",
    quantities.mass_in(100, "HCl"): "mass in 100 cm3 of HCl",
    quantities.volume_measured("HCl", "flask"): "volume of HCl",
    quantities.volume_measured("HCl", "portion"): "volume of HCl in portion",
    quantities.volume_made_up("flask"): "made-up volume",
    quantities.volume_made_up("second"): "made-up volume of second",
    quantities.volume_taken("portion"): "volume of aliquot",
    quantities.volume_taken("other"): "volume of aliquot in other",
    quantities.titre("NaOH", ""): "titre of NaOH",
    quantities.titre("NaOH", "blank"): "titre of NaOH, blank",
    quantities.titrant_amount("NaOH", "blank"): "amount of NaOH in titre, blank",
    quantities.amount("HCl", "flask", "left over"): "amount of HCl left over in flask",
    quantities.amount("HCl", "flask", "added", "strong"): "amount of HCl from strong added in flask",
    quantities.amount("HCl", "portion", "portion"): "amount of HCl in portion",
    quantities.once_more(quantities.amount("HCl", "flask", "total")): "amount of HCl total in flask, again",
    quantities.noted(
        quantities.amount("HCl", "flask", "added"), "one portion"
    ): "amount of HCl added in flask, one portion",
    quantities.oxidation_state("X", True): "oxidation state of X after the titration",
    quantities.MOLAR_VOLUME: "molar volume of gas",
}


@pytest.mark.parametrize("name", TEXTS, ids=lambda name: name.text)
def test_the_text_of_a_name_is_made_on_demand(name: Name) -> None:
    assert name.text == str(name) == f"{name}" == TEXTS[name]


def test_every_quantity_that_the_banks_know_has_a_text_of_its_own(bank: Bank) -> None:
    for archetype in bank.archetypes.values():
        for variant in archetype.variants[:4]:
            system = relate(variant.procedure, variant.unknown)
            assert {name: name.text for name in system.variables} == texts_of(system.variables), archetype.key


# ------------------------------------------------------------------ the edge

AMBIGUOUS = (q("amount of CaCO3 in portion", "sample"), q("amount of CaCO3 in portion"), q("titre of NaOH"))


def test_names_that_read_alike_are_written_apart_and_read_again() -> None:
    told = texts_of(AMBIGUOUS)
    assert list(told.values()) == [
        "amount of CaCO3 in portion (sample)",
        "amount of CaCO3 in portion (portion)",
        "titre of NaOH",
    ]
    assert all(find_name(text, AMBIGUOUS) is name for name, text in told.items())
    assert by_text(AMBIGUOUS) == {text: name for name, text in told.items()}


def test_words_that_mean_two_quantities_are_asked_back_with_what_tells_them_apart() -> None:
    with pytest.raises(Mistake, match="could be 2 quantities") as caught:
        find_name("amount of CaCO3 in portion", AMBIGUOUS)
    assert caught.value.expected == "one of: amount of CaCO3 in portion (sample), amount of CaCO3 in portion (portion)"


def test_names_that_differ_in_more_than_their_stage_are_told_by_all_that_differs() -> None:
    names = (Name("mass within", "CaCO3", "each tablet"), Name("mass each", "CaCO3", "tablet"))
    told = list(texts_of(names).values())
    assert len(set(told)) == 2
    assert told[0] == "mass of CaCO3 in each tablet (kind: mass within, place: each tablet)"


SAMPLE = """
experiment: Purity
procedure:
  - weigh: {{sample: {sample}, contains: Na2CO3, mass: 1.325 g}}
  - dissolve
  - make up: 250 cm3
  - take aliquot: 25.0 cm3
  - titrate: {{with: HCl, concentration: 0.100 mol dm-3, titre: 20.00 cm3}}
asked: {asked}
"""


def described(bank: Bank, sample: str, asked: str) -> Experiment:
    chemicals = Chemicals(substances=bank.substances, reactions=bank.reactions)
    return build_experiment(parse_tree(SAMPLE.format(sample=sample, asked=asked), "purity.yaml"), chemicals)


@pytest.mark.parametrize("sample", ["soda", "portion", "flask", "titre", "each tablet"])
def test_a_sample_is_solved_whatever_it_is_called(sample: str, bank: Bank) -> None:
    # 2.00e-3 mol HCl, 1.00e-3 mol Na2CO3 in a portion, 1.00e-2 mol in all, 1.060 g of 1.325 g: 80.0 % (worked on paper)
    experiment = described(bank, sample, f"percentage of Na2CO3 in {sample}")
    assert str(solve(experiment, Plans("x", None)).answer.number) == "80.0"


def test_two_amounts_that_read_alike_stand_apart_in_what_is_written(bank: Bank) -> None:
    experiment = described(bank, "portion", "percentage of Na2CO3 in portion")
    written = json.loads(as_json(experiment, solve(experiment, Plans("x", None))))
    names = [step["quantity"] for step in written["steps"]]
    assert len(set(names)) == len(names)
    assert {"amount of Na2CO3 in portion (sample)", "amount of Na2CO3 in portion (portion)"} <= set(names)


def test_a_word_for_two_quantities_is_asked_back_where_an_experiment_is_read(bank: Bank) -> None:
    with pytest.raises(Mistake, match="could be 2 quantities") as caught:
        described(bank, "portion", "amount of Na2CO3 in portion")
    assert "amount of Na2CO3 in portion (sample)" in caught.value.expected
    one = described(bank, "portion", "amount of Na2CO3 in portion (sample)")
    assert str(solve(one, Plans("x", None)).answer.number) == "0.0100"


def test_two_samples_that_give_one_ion_are_two_amounts() -> None:
    acid = Solution(name="HCl", solute="HCl", species="H+")
    alkali = Content("Ba(OH)2", "OH-", 2)
    weighed = (Weigh(sample="first", contents=(alkali,)), Weigh(sample="second", contents=(alkali,)))
    system = relate(Procedure((*weighed, Measure(solution=acid, vessel="other"))))
    assert not [name for name in system.variables if name.stage == "flask"]  # nobody asked for it yet
    titrated = Titrate(titrant=acid, reactions=(parse_reaction("H+ + OH- -> H2O"),), vessel="flask")
    ions = [name for name in relate(Procedure((*weighed, titrated))).variables if name.stage == "flask"]
    assert [ion.text for ion in ions] == ["amount of OH- in flask", "amount of OH- from Ba(OH)2 in flask"]


# ------------------------------------------------------------------ nothing is told from a text

CUTTERS = (
    "startswith",
    "endswith",
    "removeprefix",
    "removesuffix",
    "partition",
    "rpartition",
    "split",
    "rsplit",
    "splitlines",
    "find",
    "rfind",
    "index",
    "rindex",
    "count",
    "replace",
    "translate",
    "strip",
    "lstrip",
    "rstrip",
    "casefold",
    "lower",
    "upper",
)
"""What takes a text apart, or asks what is in it."""
PATTERNS = ("match", "fullmatch", "search", "finditer", "findall", "sub")
EDGE = "experiment.quantity_texts"
"""The module where texts of names are written and read."""
KNOW_NO_NAMES = ("errors", "machine", "chem", "nodes", "render", "order", "cli")
"""Rooms that stand above the names, or are strangers to them."""
OF_OTHERS = {
    ("reading", "branch.text"),  # a scalar of a file
    ("bank.readers", "member.text"),
    ("bank.readers", "branch.text"),
    ("bank.readers", "asked.text"),  # what a teacher asks for, in words
    ("sheet", "piece.text"),
    ("reading", "str(broken)"),
    ("papers", "str(path)"),
    ("papers", "asked.text"),  # words of a teacher's own question
    ("question", "str(quantity)"),  # a number with its unit
    ("sheet", "first.text"),  # words of a line
    ("sheet", "line[0].text"),
}
"""Texts that are taken apart in the other rooms and are no name's, by folder and expression."""


def as_text(node: ast.expr) -> bool:
    """Whether an expression may be the text of a name: `one.text`, `str(one)`, `f"{one}"`."""
    match node:
        case ast.Attribute(attr="text"):
            return True
        case ast.Call(func=ast.Name(id="str"), args=[ast.Name() | ast.Attribute() | ast.Subscript()]):
            return True
        case ast.JoinedStr(values=[ast.FormattedValue(format_spec=None)]):
            return True
    return False


def taken_apart(tree: ast.Module) -> Iterator[ast.expr]:
    """Every expression that may be a name's text and that something is cut from, or sought in."""
    for node in ast.walk(tree):
        match node:
            case ast.Call(func=ast.Attribute(attr=attr, value=value)) if attr in CUTTERS and as_text(value):
                yield value
            case ast.Call(func=ast.Attribute(attr=attr), args=args) if attr in PATTERNS:
                yield from filter(as_text, args)
            case ast.Subscript(value=value) if as_text(value):
                yield value
            case ast.Compare(ops=ops, comparators=others) if any(isinstance(op, ast.In | ast.NotIn) for op in ops):
                yield from filter(as_text, others)
            case _:
                pass


def test_the_walk_sees_every_way_to_take_a_text_apart() -> None:
    ways = (
        'draw.ask.quantity.text.startswith("mass")',
        'str(name).split(" of ")',
        'f"{name}".partition(",")',
        "name.text[:4]",
        '"mass" in variable.name.text',
        '"water" not in str(asked)',
        're.match("mass", one.name.text)',
        "PATTERN.sub('', str(name))",
    )
    for way in ways:
        assert list(taken_apart(ast.parse(way))), way
    for plain in (
        'f"the {name}"',
        "name.text == told",
        "texts[name]",
        "names[0]",
        "str(number)",
        "solution.name.startswith('x')",
    ):
        assert not list(taken_apart(ast.parse(plain))), plain


def test_no_module_takes_the_text_of_a_name_apart() -> None:
    found = {
        (name, ast.unparse(cut))
        for name, tree in MODULES.items()
        if name != EDGE and name.partition(".")[0] not in KNOW_NO_NAMES
        for cut in taken_apart(tree)
    }
    others = {
        (name, cut) for name, cut in found for room, text in OF_OTHERS if name.startswith(f"{room}.") and cut == text
    }
    of_records = (
        "marking.",
        "papers.record.",
        "papers.answers",
    )  # whoever reads records and returned files has texts; the writer has names
    assert {
        (name, cut) for name, cut in found - others if not name.startswith(of_records) or name == "papers.record.writer"
    } == set()
    assert {
        (room, cut) for name, cut in others for room, text in OF_OTHERS if name.startswith(room) and text == cut
    } == OF_OTHERS


class Traced(str):
    """The text of a name that tells whoever takes it apart."""

    __slots__ = ()


def _forbidden(way: str) -> Callable[..., object]:
    plain: Callable[..., object] = getattr(str, way)

    def refused(self: str, *args: object) -> object:
        caller = sys._getframe(1).f_globals["__name__"]
        assert caller == f"molewright.{EDGE}" or not caller.startswith("molewright."), (
            f"{caller} takes '{self!s:.60}' apart"
        )
        return plain(self, *args)

    return refused


for _way in (*CUTTERS, "__contains__", "__getitem__", "__iter__"):
    setattr(Traced, _way, _forbidden(_way))


@pytest.fixture
def traced(monkeypatch: pytest.MonkeyPatch) -> None:
    worded = quantities._worded
    monkeypatch.setattr(Name, "text", property(lambda name: Traced(worded(name))))


@pytest.mark.usefixtures("traced")
def test_a_text_that_is_taken_apart_is_noticed() -> None:
    assert isinstance(str(Name("mass", "rock")), Traced)
    cutting = {"__name__": "molewright.draw.draw", "name": Name("mass", "rock")}
    for way in ('name.text.startswith("mass")', 'str(name).split(" of ")', '"mass" in name.text', "name.text[:4]"):
        with pytest.raises(AssertionError, match="takes"):
            exec(way, dict(cutting))


@pytest.mark.usefixtures("traced")
@pytest.mark.parametrize(
    "key", ["back-portions", "soda-water", "dolomite-mixture", "back-portions-fault", "vinegar-label"]
)
def test_a_whole_paper_is_made_without_taking_a_name_apart(key: str, bank: Bank, tmp_path: Path) -> None:
    plans = Plans(bank.fingerprint, None)
    maker = PaperMaker(bank, Order(seed=7, count=2, level="stretch", archetypes=(key,)), plans)
    written = write_papers(maker, Wanted(forms=("text",)), tmp_path)
    assert any("-record." in name for name in written)
