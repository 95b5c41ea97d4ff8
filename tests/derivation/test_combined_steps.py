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
from molewright.experiment.relations.kinds import Kind
from molewright.experiment.relations.variables import Relation, System, Variable, product, total
from molewright.question.check import Question, Questions


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
    (found,) = (values[one] for one in values if one.startswith(name) and one not in question.given)
    return found


def two_titres(first: str, second: str, ratios: tuple[int, int]) -> System:
    """Two portions of one solution of A and B: the first titre takes A, the second A and B together, by bottles T or U."""
    kinds: dict[str, Kind] = {
        "titre 1": "titre", "titre 2": "titre", "concentration of T": "concentration", "concentration of U": "concentration",
        "amount 1": "amount", "amount 2": "amount", "A": "amount", "A and B": "amount", "B": "amount",
    }  # fmt: skip
    one = Fraction(1)
    relations = (
        product("concentration", Fraction(1, 1000), "amount 1", (f"concentration of {first}", "titre 1")),
        product("concentration", Fraction(1, 1000), "amount 2", (f"concentration of {second}", "titre 2")),
        product("ratio", ratios[0], "A", ("amount 1",)),
        product("ratio", ratios[1], "A and B", ("amount 2",)),
        total("total", "A and B", (("A", one), ("B", one))),
    )
    return System({name: Variable(name, kind) for name, kind in kinds.items()}, relations, ())


GIVEN = ("titre 1", "titre 2", "concentration of T", "concentration of U")


def routes_of(system: System) -> Routes:
    used = {name for relation in system.relations for name in relation.names}
    return find_routes(system, plan(system, [name for name in GIVEN if name in used], "B"))


def test_titres_of_one_titrant_may_be_subtracted_first() -> None:
    routes = routes_of(two_titres("T", "T", (5, 5)))
    (route,) = (one for one in routes.routes if one.family == "T")
    given = {"titre 1": Fraction("12.40"), "titre 2": Fraction("30.90"), "concentration of T": Fraction("0.0200")}
    # 30.90 - 12.40 = 18.50 cm3; 18.50 x 0.0200 / 1000 = 3.70e-4 mol; x 5 = 1.85e-3 mol
    values = routes.values(given, route)
    assert values["volume of T between the titres"] == Fraction("18.50")
    assert values["amount 2, difference"] == Fraction("0.000370")
    assert values["B"] == Fraction("0.00185")


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
        product("ratio", 1, "A portion", ("amount 1",)),
        product("ratio", 1, "A and B portion", ("amount 2",)),
        product("scale", 1, "A", ("A portion", "flask"), ("aliquot",)),
        product("scale", 1, "A and B", ("A and B portion", "flask"), ("other aliquot" if unlike else "aliquot",)),
    )
    volumes = [Variable(name, "volume") for name in ("flask", "aliquot", "other aliquot")]
    amounts = [Variable(name, "amount") for name in ("A portion", "A and B portion")]
    variables = {**plain.variables, **{one.name: one for one in (*volumes, *amounts)}}
    system = System(variables, (*plain.relations[:2], *scaled, plain.relations[4]), ())
    given = [*GIVEN[:3], "flask", "aliquot", *(["other aliquot"] if unlike else [])]
    routes = find_routes(system, plan(system, given, "B"))
    found = [route for route in routes.routes if route.family == "T"]
    assert len(found) == (not unlike)
    for route in found:  # 10.00 cm3 x 0.100 / 1000 x 250 / 25.0 = 1.00e-2 mol
        numbers = {"titre 1": 10, "titre 2": 20, "flask": 250, "aliquot": 25}
        values = routes.values(
            {"concentration of T": Fraction("0.100"), **{k: Fraction(v) for k, v in numbers.items()}}, route
        )
        assert values["B"] == Fraction("0.0100")


@pytest.mark.parametrize(
    ("key", "ratio"),
    [("calcium-and-magnesium", 1), ("carbonate-and-hydrogencarbonate", 1), ("hydroxide-and-carbonate", 1), ("iron-and-iron", 5)],
)  # fmt: skip
def test_what_lies_between_two_titres_is_one_amount(key: str, ratio: int, bank: Bank, maker: Questions) -> None:
    # V1 - V2 first: both end points of a mixed alkali, total and calcium hardness, iron before and after reduction
    question = maker.make(bank.archetypes[key], Stream("titres"))
    titres = [number for name, number in question.given.items() if name.startswith("titre")]
    (strength,) = (
        number for name, number in question.given.items()
        if name.startswith("concentration") and name.split()[-1] in question.draw.variant.procedure.titrations[-1].titrant.name
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
    manganate = question.given["concentration of KMnO4"] * question.given["titre of KMnO4, second"] / 1000
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
    assert not any("I2" in step.target for step in route.steps)
    values = routes.values(question.given, route)
    found = next(step.target for step in route.steps if step.target.startswith(f"amount of {species} "))
    assert values["amount of S2O3^2- in titre"] == thiosulfate * values[found]


def test_the_mass_for_a_standard_may_be_written_in_one_line(bank: Bank, maker: Questions) -> None:
    question = maker.make(bank.archetypes["mass-for-a-standard"], Stream("line"))
    assert families(question) == {"G"}
    strength, volume, molar = (
        next(number for name, number in question.given.items() if name.startswith(start))
        for start in ("concentration", "made-up", "molar mass")
    )
    assert value(question, "G", "mass of") == strength * volume * molar / 1000  # m = cVM/1000


def test_a_stock_is_diluted_by_one_formula(bank: Bank, maker: Questions) -> None:
    question = maker.make(bank.archetypes["stock-to-dilute"], Stream("line"))
    given = question.given
    assert families(question) == {"G"}
    assert value(question, "G", "volume of stock") * given["concentration of stock"] == (
        given["concentration of dilute"] * given["made-up volume"]
    )  # c1V1 = c2V2


def test_a_reacting_ratio_may_be_written_in_one_line(bank: Bank, maker: Questions) -> None:
    question = maker.make(bank.archetypes["electrons-lost"], Stream("line"))
    given = question.given
    manganate = given["concentration of KMnO4"] * given["titre of KMnO4"]
    other = given["concentration of XSO4"] * given["volume of XSO4 in portion"]
    assert value(question, "G", "electrons") == 5 * manganate / other


def test_two_products_that_would_leave_a_square_are_not_one() -> None:
    volume = product("concentration", 1, "n", ("c", "V"))
    assert united(volume, product("ratio", 2, "m", ("n", "V")), "n") is None
    joined = united(volume, product("ratio", 2, "m", ("n", "x")), "n")
    assert isinstance(joined, Relation)
    assert joined.solved("m", {"c": Fraction(3), "V": Fraction(5), "x": Fraction(7)}) == 210


@pytest.mark.thorough
def test_every_calculation_has_another_right_route(bank: Bank, maker: Questions) -> None:
    without = set()
    for archetype in bank.archetypes.values():
        if archetype.calculated:
            question = maker.make(archetype, Stream(f"any/{archetype.key}"))
            if not any(route.holds(question.given) for route in question.prepared.routes.routes):
                without.add(archetype.key)
    assert not without
