"""Steps taken together: overall ratios, one line, and titres subtracted where that is right and nowhere else."""

from __future__ import annotations

from fractions import Fraction

import pytest

from molewright.bank.definitions import Bank
from molewright.derivation.derive import plan
from molewright.derivation.plans import Plans
from molewright.derivation.routes.combined_steps import united
from molewright.derivation.routes.search import Routes, find_routes
from molewright.draw.stream import Stream
from molewright.experiment.quantities import noted
from molewright.experiment.relations.variables import Relation, System, Variable, product, total
from molewright.question.check import Question, Questions
from shared.quantities import q


@pytest.fixture(scope="module")
def maker(bank: Bank) -> Questions:
    return Questions(bank, Plans(bank.fingerprint, None))


def families(question: Question) -> set[str]:
    return {route.family for route in question.prepared.routes.routes}


def value(question: Question, family: str, name: str) -> Fraction:
    """The one quantity of a route whose name starts so and that the main route does not have."""
    routes = question.prepared.routes
    (route,) = (one for one in routes.routes if one.family == family)
    values = routes.values(question.given, route)
    (found,) = (values[one] for one in values if one.text.startswith(name) and one not in question.given)
    return found


A, B, A_AND_B = q("amount of A in flask"), q("amount of B in flask"), q("amount of A and B together")
A_PORTION, A_AND_B_PORTION = q("amount of A in portion"), q("amount of A and B both in portion")
TITRE_1, TITRE_2 = q("titre of T, first"), q("titre of T, second")
AMOUNT_1, AMOUNT_2 = q("amount of T in titre, first"), q("amount of T in titre, second")
FLASK, ALIQUOT, OTHER_ALIQUOT = q("made-up volume"), q("volume of aliquot"), q("volume of aliquot in another")
GIVEN = (TITRE_1, TITRE_2, q("concentration of T"), q("concentration of U"))


def two_titres(first: str, second: str, ratios: tuple[int, int]) -> System:
    """Two portions of one solution of A and B: the first titre takes A, the second A and B together, by bottles T or U."""
    names = (*GIVEN, AMOUNT_1, AMOUNT_2, A, A_AND_B, B)
    one = Fraction(1)
    relations = (
        product("concentration", Fraction(1, 1000), AMOUNT_1, (q(f"concentration of {first}"), TITRE_1)),
        product("concentration", Fraction(1, 1000), AMOUNT_2, (q(f"concentration of {second}"), TITRE_2)),
        product("ratio", ratios[0], A, (AMOUNT_1,)),
        product("ratio", ratios[1], A_AND_B, (AMOUNT_2,)),
        total("total", A_AND_B, ((A, one), (B, one))),
    )
    return System({name: Variable(name=name) for name in names}, relations, ())


def routes_of(system: System) -> Routes:
    used = {name for relation in system.relations for name in relation.names}
    return find_routes(system, plan(system, [name for name in GIVEN if name in used], B))


def test_titres_of_one_titrant_may_be_subtracted_first() -> None:
    routes = routes_of(two_titres("T", "T", (5, 5)))
    (route,) = (one for one in routes.routes if one.family == "T")
    given = {TITRE_1: Fraction("12.40"), TITRE_2: Fraction("30.90"), q("concentration of T"): Fraction("0.0200")}
    # 30.90 - 12.40 = 18.50 cm3; 18.50 x 0.0200 / 1000 = 3.70e-4 mol; x 5 = 1.85e-3 mol
    values = routes.values(given, route)
    assert values[q("volume of T between the titres")] == Fraction("18.50")
    assert values[noted(AMOUNT_2, "difference")] == Fraction("0.000370")
    assert values[B] == Fraction("0.00185")


@pytest.mark.parametrize(
    ("first", "second", "ratios"), [("T", "U", (5, 5)), ("T", "T", (5, 2)), ("U", "T", (1, 1)), ("T", "T", (1, 2))]
)
def test_titres_are_not_subtracted_where_titrant_or_ratio_differ(
    first: str, second: str, ratios: tuple[int, int]
) -> None:
    assert "T" not in {route.family for route in routes_of(two_titres(first, second, ratios)).routes}


@pytest.mark.parametrize("unlike", [False, True])
def test_titres_are_subtracted_only_for_portions_scaled_alike(unlike: bool) -> None:
    plain = two_titres("T", "T", (1, 1))
    scaled = (
        product("ratio", 1, A_PORTION, (AMOUNT_1,)),
        product("ratio", 1, A_AND_B_PORTION, (AMOUNT_2,)),
        product("scale", 1, A, (A_PORTION, FLASK), (ALIQUOT,)),
        product("scale", 1, A_AND_B, (A_AND_B_PORTION, FLASK), (OTHER_ALIQUOT if unlike else ALIQUOT,)),
    )
    volumes = [Variable(name=name) for name in (FLASK, ALIQUOT, OTHER_ALIQUOT)]
    amounts = [Variable(name=name) for name in (A_PORTION, A_AND_B_PORTION)]
    variables = {**plain.variables, **{one.name: one for one in (*volumes, *amounts)}}
    system = System(variables, (*plain.relations[:2], *scaled, plain.relations[4]), ())
    given = [*GIVEN[:3], FLASK, ALIQUOT, *([OTHER_ALIQUOT] if unlike else [])]
    routes = find_routes(system, plan(system, given, B))
    found = [route for route in routes.routes if route.family == "T"]
    assert len(found) == (not unlike)
    for route in found:  # 10.00 cm3 x 0.100 / 1000 x 250 / 25.0 = 1.00e-2 mol
        numbers = {TITRE_1: 10, TITRE_2: 20, FLASK: 250, ALIQUOT: 25}
        values = routes.values(
            {q("concentration of T"): Fraction("0.100"), **{k: Fraction(v) for k, v in numbers.items()}}, route
        )
        assert values[B] == Fraction("0.0100")


@pytest.mark.parametrize(
    ("key", "ratio"),
    [("calcium-and-magnesium", 1), ("carbonate-and-hydrogencarbonate", 1), ("hydroxide-and-carbonate", 1), ("iron-and-iron", 5)],
)  # fmt: skip
def test_what_lies_between_two_titres_is_one_amount(key: str, ratio: int, bank: Bank, maker: Questions) -> None:
    # V1 - V2 first: both end points of a mixed alkali, total and calcium hardness, iron before and after reduction
    question = maker.make(bank.archetypes[key], Stream("titres"))
    titres = [number for name, number in question.given.items() if name.text.startswith("titre")]
    (strength,) = (
        number for name, number in question.given.items()
        if name.kind == "concentration" and name.subject == question.draw.variant.procedure.titrations[-1].titrant.name
    )  # fmt: skip
    between = max(titres) - min(titres)
    assert value(question, "T", "volume of") == between
    (route,) = (one for one in question.prepared.routes.routes if one.family == "T")
    values = question.prepared.routes.values(question.given, route)
    assert ratio * between * strength / 1000 in values.values()
    assert values[question.prepared.plan.asked] == question.worked.exact


def test_an_acid_and_its_salt_share_no_titrant_but_are_one_amount_by_the_second(bank: Bank, maker: Questions) -> None:
    question = maker.make(bank.archetypes["acid-and-its-salt"], Stream("both"))
    assert "T" not in families(question)
    manganate = question.given[q("concentration of KMnO4")] * question.given[q("titre of KMnO4, second")] / 1000
    assert value(question, "F", "amount of H2C2O4 and C2O4^2-") == manganate * 5 / 2  # 2 MnO4- for 5 C2O4 2-


@pytest.mark.parametrize(
    ("key", "species", "thiosulfate"),
    [("dissolved-oxygen", "O2", 4), ("iodised-salt", "IO3-", 6), ("pool-chlorine", "Cl2", 2), ("bleach", "ClO-", 2)],
)
def test_iodine_set_free_has_an_overall_ratio_to_thiosulfate(
    key: str, species: str, thiosulfate: int, bank: Bank, maker: Questions
) -> None:
    # the ratios that every textbook of iodine titrations gives
    question = maker.make(bank.archetypes[key], Stream("overall"))
    routes = question.prepared.routes
    (route,) = (one for one in routes.routes if one.family == "O")
    assert not any(step.target.subject == "I2" for step in route.steps)
    values = routes.values(question.given, route)
    found = next(step.target for step in route.steps if step.target.text.startswith(f"amount of {species} "))
    assert values[q("amount of S2O3^2- in titre")] == thiosulfate * values[found]


def test_the_mass_for_a_standard_may_be_written_in_one_line(bank: Bank, maker: Questions) -> None:
    question = maker.make(bank.archetypes["mass-for-a-standard"], Stream("line"))
    assert families(question) == {"G"}
    strength, volume, molar = (
        next(number for name, number in question.given.items() if name.text.startswith(start))
        for start in ("concentration", "made-up", "molar mass")
    )
    assert value(question, "G", "mass of") == strength * volume * molar / 1000  # m = cVM/1000


def test_a_stock_is_diluted_by_one_formula(bank: Bank, maker: Questions) -> None:
    question = maker.make(bank.archetypes["stock-to-dilute"], Stream("line"))
    given = question.given
    assert families(question) == {"G"}
    assert value(question, "G", "volume of stock") * given[q("concentration of stock")] == (
        given[q("concentration of dilute")] * given[q("made-up volume")]
    )  # c1V1 = c2V2


def test_a_reacting_ratio_may_be_written_in_one_line(bank: Bank, maker: Questions) -> None:
    question = maker.make(bank.archetypes["electrons-lost"], Stream("line"))
    given = question.given
    manganate = given[q("concentration of KMnO4")] * given[q("titre of KMnO4")]
    other = given[q("concentration of XSO4")] * given[q("volume of XSO4 in portion")]
    assert value(question, "G", "electrons") == 5 * manganate / other


def test_two_products_that_would_leave_a_square_are_not_one() -> None:
    n, m, c, v, x = A, B, q("concentration of T"), TITRE_1, TITRE_2
    volume = product("concentration", 1, n, (c, v))
    assert united(volume, product("ratio", 2, m, (n, v)), n) is None
    joined = united(volume, product("ratio", 2, m, (n, x)), n)
    assert isinstance(joined, Relation)
    assert joined.solved(m, {c: Fraction(3), v: Fraction(5), x: Fraction(7)}) == 210


@pytest.mark.thorough
def test_every_calculation_has_another_right_route(bank: Bank, maker: Questions) -> None:
    """But where nothing else leads there: a mass over a volume, a logarithm, what is left between two amounts in one vessel."""
    without = set()
    for archetype in bank.archetypes.values():
        if archetype.calculated:
            question = maker.make(archetype, Stream(f"any/{archetype.key}"))
            division = question.worked.steps[-1].relation
            if division is not None and division.kind == "dissolved":
                continue
            if any(step.relation is not None and step.relation.form == "logarithm" for step in question.worked.steps):
                continue
            if not any(route.holds(question.given) for route in question.prepared.routes.routes):
                without.add(archetype.key)
    assert without == {"ester-course", "hydroxide-common-ion"}
