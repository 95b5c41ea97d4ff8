"""One rule at a time over every entry of the built-in banks."""

from __future__ import annotations

import re
from collections import Counter
from decimal import Decimal
from fractions import Fraction
from itertools import product

import sympy

from molewright.bank.definitions import Archetype, Bank, Context, Indicator, Material, ReactionEntry, Variant
from molewright.bank.readers.faults import STEPS
from molewright.bank.readers.slips import SEEN_IN
from molewright.chem.formula import PLACEHOLDERS, parse_formula
from molewright.chem.masses import relative_mass
from molewright.derivation.worked import Worked
from molewright.draw.chosen import Chosen
from molewright.draw.stream import Stream
from molewright.experiment.procedure import Measure, Titrate
from molewright.experiment.quantities import concentration
from molewright.experiment.relations.relating import relate
from molewright.question.check import Questions
from shared.banks import built_in
from shared.for_each import SHARES_OF_KINDS, for_each
from shared.kinds import place

BANK: Bank = built_in()
FORMS = [
    (f"{archetype.key}/{number}", (archetype, variant))
    for archetype in BANK.archetypes.values()
    for number, variant in enumerate(archetype.variants)
]
COUNTED = (
    "pieces",
    "water",
    "electrons",
    "oxidation state",
    "excess",
)  # whole numbers, and a per cent that is planned for
each_archetype = for_each("archetype", BANK.archetypes.values(), BANK.archetypes)
each_reaction = for_each("entry", BANK.reactions, [entry.reaction.text for entry in BANK.reactions])
each_material = for_each("material", BANK.materials.values(), BANK.materials)
each_indicator = for_each("indicator", BANK.indicators.values(), BANK.indicators)
each_context = for_each("context", BANK.contexts, [context.key for context in BANK.contexts])
each_form = for_each(("archetype", "variant"), [form for _, form in FORMS], [name for name, _ in FORMS])
each_form_drawn = for_each(
    ("archetype", "variant"),
    [form for _, form in FORMS],
    [name for name, _ in FORMS],
    shares=SHARES_OF_KINDS,
    share_of=lambda form: place((form[0].key,)),
)


# ------------------------------------------------------------------ how much there is


def test_there_are_at_least_ten_analytes() -> None:
    analytes = {variant.roles["analyte"] for archetype in BANK.archetypes.values() for variant in archetype.variants}
    assert len(analytes) >= 10, sorted(analytes)


def test_there_are_at_least_twelve_materials_and_they_are_used() -> None:
    used = {v.material.name for a in BANK.archetypes.values() for v in a.variants if v.material is not None}
    assert len(used) >= 12, sorted(used)
    assert set(BANK.materials) <= used, f"in no archetype: {sorted(set(BANK.materials) - used)}"


def test_there_are_at_least_thirty_contexts() -> None:
    assert len(BANK.contexts) >= 30


def test_direct_and_both_kinds_of_back_titration_are_there() -> None:
    topics = {archetype.topic for archetype in BANK.archetypes.values()}
    assert {"direct titration", "back titration", "back titration with an aliquot"} <= topics <= set(BANK.topics)


def test_names_and_keys_stand_once() -> None:
    for names in (
        [context.key for context in BANK.contexts],
        [context.opening for context in BANK.contexts],
        [archetype.title for archetype in BANK.archetypes.values()],
        [piece.name for piece in BANK.apparatus],
        [entry.reaction.text for entry in BANK.reactions],
    ):
        twice = [name for name, count in Counter(names).items() if count > 1]
        assert not twice


# ------------------------------------------------------------------ reactions


@each_reaction
def test_an_equation_balances_atom_by_atom_and_in_charge(entry: ReactionEntry) -> None:
    left, right = Counter[str](), Counter[str]()
    for side, members in ((left, entry.reaction.left), (right, entry.reaction.right)):
        for member in members:
            side.update({symbol: count * member.coefficient for symbol, count in member.formula.atoms})
            side["charge"] += member.coefficient * member.formula.charge
    assert +left + -left == +right + -right
    assert left["charge"] == right["charge"]


@each_reaction
def test_the_coefficients_have_no_common_factor(entry: ReactionEntry) -> None:
    members = (*entry.reaction.left, *entry.reaction.right)
    assert sympy.igcd(0, *(member.coefficient for member in members)) == 1


@each_reaction
def test_every_species_has_a_state_symbol(entry: ReactionEntry) -> None:
    members = (*entry.reaction.left, *entry.reaction.right)
    assert all(member.state in ("s", "l", "g", "aq") for member in members)


@each_reaction
def test_water_is_liquid_and_ions_are_in_solution(entry: ReactionEntry) -> None:
    for member in (*entry.reaction.left, *entry.reaction.right):
        if member.formula.text == "H2O":
            assert member.state in ("l", "g")
        if member.formula.charge:
            assert member.state == "aq"
        if member.formula.text == "CO2":
            assert member.state in ("g", "aq")


@each_reaction
def test_what_is_seen_fits_into_the_sentence_that_follows_it(entry: ReactionEntry) -> None:
    if entry.seen:
        assert re.match(r"(When|After|Once|As soon as) ", entry.seen)
        assert not entry.seen.endswith((",", ".", " "))


@each_reaction
def test_an_equation_has_a_source(entry: ReactionEntry) -> None:
    assert entry.source


@each_reaction
def test_sulfuric_acid_meets_no_solid_that_its_sulfate_would_coat(entry: ReactionEntry) -> None:
    reactants = {member.formula.text: member.state for member in entry.reaction.left}
    if "H2SO4" in reactants:
        solid = [text for text, state in reactants.items() if state == "s"]
        assert not [text for text in solid if re.search(r"Ca|Sr|Ba|Pb", text)]


# ------------------------------------------------------------------ substances, materials, indicators, apparatus


@for_each("formula", BANK.substances)
def test_a_substance_is_named_and_can_be_weighed(formula: str) -> None:
    substance = BANK.substances[formula]
    assert substance.formula == formula
    assert substance.name
    assert not re.search(r"sulph", substance.name + substance.solution)
    unknown = parse_formula(formula, PLACEHOLDERS)
    if not unknown.placeholders and not unknown.unknown_water and not unknown.charge:
        assert relative_mass(formula, "one place") > 1


@for_each("formula", BANK.substances)
def test_a_substance_gives_an_ion_that_its_formula_holds(formula: str) -> None:
    substance = BANK.substances[formula]
    if substance.gives:
        whole = parse_formula(formula, PLACEHOLDERS)
        part = parse_formula(substance.gives, PLACEHOLDERS)
        for symbol, count in part.atoms:
            assert whole.count(symbol) >= count * substance.count or whole.unknown_water


@each_material
def test_a_material_has_a_source_and_a_believable_range(material: Material) -> None:
    assert material.source
    assert Decimal(0) < material.low < material.high < Decimal("99.9")
    assert material.analyte in BANK.substances
    assert material.reagents


@each_material
def test_the_reagents_of_a_material_react_with_it(material: Material) -> None:
    def forms(formula: str) -> set[str]:  # as it is written itself, or as the ion that it gives
        return {formula, BANK.substances[formula].gives} - {""}

    if material.name == "seed oil":  # told as the alkali that its esters take up
        return
    for reagent in material.reagents:
        assert any(
            forms(material.analyte) & set(entry.reactants()) and forms(reagent) & set(entry.reactants())
            for entry in BANK.reactions
        ), reagent


@each_indicator
def test_the_range_of_an_indicator_runs_upwards_within_water(indicator: Indicator) -> None:
    assert (indicator.low is None) == (indicator.high is None)
    if indicator.low is not None:
        assert indicator.high is not None
        assert 0 < indicator.low < indicator.high < 14
        assert indicator.high - indicator.low <= 3


@each_indicator
def test_an_indicator_has_two_colours_and_a_source(indicator: Indicator) -> None:
    assert indicator.acid_colour != indicator.base_colour
    assert "clear" not in (indicator.acid_colour, indicator.base_colour)  # colourless is the word
    assert indicator.source


# LibreTexts, General Chemistry, table of acid-base indicators: range and colours as printed there.
PUBLISHED = {
    "methyl orange": ("3.2", "4.4", "red", "yellow"),
    "phenolphthalein": ("8.2", "10.0", "colourless", "pink"),
    "methyl red": ("4.8", "6.0", "red", "yellow"),
    "bromothymol blue": ("6.0", "7.6", "yellow", "blue"),
}


@for_each("name", PUBLISHED)
def test_a_common_indicator_agrees_with_a_published_table(name: str) -> None:
    low, high, acid, base = PUBLISHED[name]
    indicator = BANK.indicators[name]
    assert indicator.low is not None
    assert indicator.high is not None
    assert abs(indicator.low - Decimal(low)) <= Decimal("0.4")  # tables differ by so much
    assert abs(indicator.high - Decimal(high)) <= Decimal("0.4")
    assert (indicator.acid_colour, indicator.base_colour) == (acid, base)


@for_each("piece", BANK.apparatus, [piece.name for piece in BANK.apparatus])
def test_apparatus_has_a_source_and_a_small_tolerance(piece: object) -> None:
    capacity, tolerance, source = (getattr(piece, name) for name in ("capacity", "tolerance", "source"))
    assert source
    if tolerance is not None and capacity.unit == tolerance.unit:
        assert 0 < tolerance.number / capacity.number <= Decimal("0.02")


# ------------------------------------------------------------------ contexts


@each_context
def test_a_context_serves_something_that_an_archetype_analyses(context: Context) -> None:
    users = [a.key for a in BANK.archetypes.values() for variant in a.variants if context in variant.contexts]
    assert users, f"{context.key} serves {context.serves}, which nothing uses"


@each_context
def test_an_opening_is_short_and_holds_no_quantity(context: Context) -> None:
    assert len(context.opening.split()) <= 40
    assert not re.search(r"\d\s*(g|mg|kg|cm|dm|mol|%|mL|L)\b|\d\.\d", context.opening)
    assert context.opening.endswith((".", "?", "!"))
    assert context.opening[0].isupper()
    assert "  " not in context.opening


@each_context
def test_the_sample_is_called_by_words_that_follow_in(context: Context) -> None:
    assert re.match(r"(the|this|these|each) ", context.sample)
    assert not context.sample.endswith(".")


# ------------------------------------------------------------------ archetypes


@each_archetype
def test_an_archetype_states_topic_demand_and_title(archetype: Archetype) -> None:
    assert archetype.topic in BANK.topics
    assert 1 <= archetype.demand <= 9
    assert archetype.title
    assert archetype.title == archetype.title.strip()


@each_archetype
def test_no_two_forms_of_an_archetype_are_the_same(archetype: Archetype) -> None:
    assert len({str(sorted(variant.roles.items())) for variant in archetype.variants}) == len(archetype.variants)


@each_form_drawn
def test_every_form_draws_for_every_ask_and_with_each_of_its_indicators(
    archetype: Archetype, variant: Variant, questions: Questions
) -> None:
    indicators = variant.indicators or ("",)
    for at in range(max(len(variant.asks), len(indicators))):
        ask, indicator = variant.asks[at % len(variant.asks)], indicators[at % len(indicators)]
        table = archetype.runs == "table"
        chosen = Chosen(variant=variant, ask=ask, context=variant.contexts[0], indicator=indicator, table=table)
        question = questions.make(archetype, Stream("form"), chosen)
        assert question.worked.plan.asked == ask.quantity
        assert question.draw.indicator == indicator
        assert isinstance(question.worked, Worked)


@each_form
def test_no_number_that_is_printed_begins_with_fewer_than_three_figures(archetype: Archetype, variant: Variant) -> None:
    asked = {ask.quantity for ask in variant.asks}
    for name, choice in variant.choices.items():
        if choice.hidden or name in asked or name.kind in COUNTED:
            continue
        lowest = choice.options or (choice.written(Fraction(choice.low or 0)),)
        assert all(quantity.figures >= 3 for quantity in lowest), f"{name}: {min(lowest, key=lambda one: one.exact)}"


@each_form
def test_every_number_of_a_form_belongs_to_its_procedure(archetype: Archetype, variant: Variant) -> None:
    variables = relate(variant.procedure, variant.unknown).variables
    assert set(variant.choices) <= set(variables)
    assert {ask.quantity for ask in variant.asks} <= set(variables)


@each_form
def test_a_titration_that_follows_ph_names_an_indicator(archetype: Archetype, variant: Variant) -> None:
    for name in variant.indicators:
        assert name in BANK.indicators
    if not variant.procedure.titrations:  # a solution is prepared
        return
    last = variant.procedure.titrations[-1]
    acid_base = any(member.formula.text == "H2O" for reaction in last.reactions for member in reaction.right)
    if acid_base and archetype.topic in ("direct titration", "back titration", "back titration with an aliquot"):
        assert variant.indicators, f"{archetype.key} {dict(variant.roles)} has no indicator"


@each_form
def test_a_material_is_dissolved_by_one_of_its_reagents(archetype: Archetype, variant: Variant) -> None:
    if variant.material is not None and "reagent" in variant.roles:
        assert variant.roles["reagent"] in variant.material.reagents


@each_form
def test_a_form_has_at_least_three_scenes(archetype: Archetype, variant: Variant) -> None:
    assert len(variant.contexts) >= 3
    assert len({context.key for context in variant.contexts}) == len(variant.contexts)


@each_form
def test_every_solution_has_a_name_for_its_bottle_and_a_hazard_note(archetype: Archetype, variant: Variant) -> None:
    for operation in variant.procedure.operations:
        if isinstance(operation, Measure | Titrate):
            solution = operation.solution if isinstance(operation, Measure) else operation.titrant
            assert BANK.substances[solution.solute].solution, solution.solute
            if concentration(solution.name) in variant.choices:
                floor = [hazard for hazard in BANK.hazards if hazard.solute == solution.solute and hazard.least == 0]
                assert floor, f"no hazard note of {solution.solute} from 0 upwards"


@for_each("hazard", BANK.hazards, [f"{one.of} from {one.least}" for one in BANK.hazards])
def test_a_hazard_has_a_source_and_calls_nothing_safe(hazard: object) -> None:
    words, source = str(getattr(hazard, "words", "")), str(getattr(hazard, "source", ""))
    assert source
    assert not re.search(r"\b(safe|harmless|no hazard|low hazard)\b", words)
    assert not words.endswith(".")


EITHER = {"planning": ("plan titre", "plan excess")}  # a kind of further part that prints one of these


def test_no_two_archetypes_print_the_same_question(bank: Bank) -> None:
    """The same experiment with the same demand and the same further parts, under two names."""
    seen: dict[object, str] = {}
    for key, archetype in bank.archetypes.items():
        for variant in archetype.variants:
            numbers = tuple(sorted((name, repr(choice)) for name, choice in variant.choices.items()))
            for ask in variant.asks:
                asked = ask.quantity if archetype.calculated else ""
                for further_parts in product(*(EITHER.get(kind, (kind,)) for kind in archetype.further_parts)):
                    printed = (repr(variant.procedure), numbers, asked, further_parts, archetype.runs)
                    assert seen.setdefault(printed, key) == key, f"{key} prints what {seen[printed]} prints"


USES_NO_NUMBER = {
    "planning",
    "plan titre",
    "plan excess",
    "plan both",
    "describe",
    "describe portion",
    "describe titration",
}


@for_each("key", [key for key, one in BANK.archetypes.items() if USES_NO_NUMBER & set(one.further_parts)])
def test_numbers_of_an_experiment_are_never_told_for_nothing(key: str, bank: Bank) -> None:
    """Whoever describes what was done or plans the next experiment works out the answer of this one first."""
    assert bank.archetypes[key].calculated


# ------------------------------------------------------------------ what faults and redox turn on


def test_what_a_fault_or_an_entry_of_redox_turns_on_is_in_the_banks() -> None:
    sides = {one.formula.text for entry in BANK.reactions for one in (*entry.reaction.left, *entry.reaction.right)}
    known = {*BANK.substances, *BANK.ions, *BANK.solutes, *sides}
    spoken = {one for fault in BANK.faults for one in (*fault.burette, *fault.flask, *fault.solid, fault.gas)}
    for entry in BANK.redox.values():
        spoken |= {*entry.acids, *(what for what, _ in (*entry.spoilt_by, *entry.not_in))}
    assert spoken - {""} <= known
    assert {one for fault in BANK.faults for one in (*fault.used, fault.indicator)} - {""} <= BANK.indicators.keys()


def test_every_number_that_chemistry_is_judged_by_has_a_source_beside_it() -> None:
    assert all(one.source for one in BANK.ions.values() if one.conductivity or one.heat)
    assert all(one.source for one in (*BANK.redox.values(), *BANK.precipitation, *BANK.families))
    assert {one.name for one in BANK.acids.values() if one.held or one.heat} == {
        "carbonic acid",
        "ethanoic acid",
        "ammonium ion",
    }


def test_a_step_of_a_description_is_left_out_in_one_fault() -> None:
    steps = [fault.without for fault in BANK.faults if fault.without]
    assert sorted(steps) == sorted(STEPS)


def test_a_wrong_number_of_a_further_part_is_that_of_one_slip() -> None:
    assert sorted(slip.seen_in for slip in BANK.slips if slip.seen_in) == sorted(SEEN_IN)
