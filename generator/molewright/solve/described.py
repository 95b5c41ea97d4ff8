"""A described experiment comes in; steps, answer and accepted range go out, as text or as JSON, proved on the bench."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from fractions import Fraction
from pathlib import Path
from typing import Any

from molewright.bank.definitions import Bank
from molewright.bank.readers.described_experiment import Experiment, build_experiment, read_experiment, read_experiments
from molewright.chem.formula_scripts import with_scripts
from molewright.chem.masses import relative_mass
from molewright.chem.quantity import Quantity, finite_places, half_up, to_figures
from molewright.chem.reaction import Reaction
from molewright.derivation.derive import TooMuch, derive
from molewright.derivation.plans import Plans
from molewright.derivation.simultaneous import two_unknowns
from molewright.derivation.worked import Worked, WorkedStep, base_factor, work_out
from molewright.draw.refusal import Refusal
from molewright.errors import CheckFailure, Mistake, Mistakes, Where
from molewright.experiment import quantities
from molewright.experiment.identity import Candidate, nearest_candidate, parted
from molewright.experiment.procedure import Aliquot, MakeUp, Measure, Procedure, Titrate, Weigh
from molewright.experiment.quantities import Name
from molewright.experiment.quantity_texts import texts_of
from molewright.experiment.relations.variables import Relation
from molewright.nodes.blocks import Block, Heading, Paragraph, Sheet
from molewright.nodes.inline import Amount, Line, Maths, MathsItem, Sign, Text
from molewright.question.prepared import molar_masses
from molewright.question.put_back import confirm
from molewright.reading.yaml_text import parse_tree
from molewright.render import renderer
from molewright.sheet.right_side import right_side
from molewright.sheet.two_equations import from_the_value, two_equations
from molewright.solve.chemicals import chemicals_of
from molewright.solve.uncertainty import uncertainty_told
from molewright.solve.untold_steps import untold_steps
from molewright.solve.usual_figures import figures_told, usual_ask
from molewright.solve.what_is_missing import given_and_asked, unreacted, what_is_missing


def solve_file(path: Path, bank: Bank) -> tuple[Experiment, Worked]:
    """The experiment that a file describes, and its working. Raises Mistake with file:line as `solve` does, or for the file itself."""
    experiment = read_experiment(path, chemicals_of(bank))
    plans = Plans.of_user(bank.fingerprint)
    worked = solve(experiment, plans)
    plans.keep()
    return experiment, worked


def solve_files(paths: Iterable[Path], bank: Bank) -> list[tuple[Experiment, Worked]]:
    """Every experiment of some files, each of which holds one or a list, with its working. Raises Mistake as `solve_file`."""
    chemicals = chemicals_of(bank)
    plans = Plans.of_user(bank.fingerprint)
    experiments = [experiment for path in paths for experiment in read_experiments(path, chemicals)]
    found = [(experiment, solve(experiment, plans)) for experiment in experiments]
    plans.keep()
    return found


def described(text: str, where: Where, bank: Bank) -> Experiment:
    """The experiment that a text describes. Raises Mistake, at this place, where it is not understood."""
    try:
        return build_experiment(parse_tree(text, where.file), chemicals_of(bank))
    except Mistakes as several:
        raise Mistakes([_placed(one, where) for one in several.each]) from None
    except Mistake as mistake:
        raise _placed(mistake, where) from None


def _placed(mistake: Mistake, where: Where) -> Mistake:
    """The mistake at the place of the whole description, which was read from one line; what is at fault in it keeps its name."""
    entry = mistake.where.entry if mistake.where is not None else ""
    mistake.where = where.under(entry) if entry else where
    return mistake


def solve(experiment: Experiment, plans: Plans) -> Worked:
    """Work a described experiment out and prove it on the bench.

    Raises Mistake where it cannot be worked out from what is given, or where the numbers contradict the experiment.
    """
    try:
        return _solved(experiment, plans)
    except CheckFailure:
        if not plans.start_anew():
            raise
        return _solved(experiment, plans)  # a plan that lay in the file was wrong


def _solved(experiment: Experiment, plans: Plans) -> Worked:
    system = experiment.system
    if (asked_too := given_and_asked(experiment)) is not None:
        raise asked_too
    given = {name: quantity.in_base for name, quantity in experiment.given.items()}
    try:
        plan = plans.find(system, given, experiment.ask.quantity)
    except TooMuch as too_much:
        raise (unreacted(experiment) or too_much.at(experiment.where)) from None
    except Mistake:
        raise what_is_missing(experiment) from None
    known = {**molar_masses(system, experiment.masses), **given}
    try:
        worked = work_out(system, plan, known, usual_ask(experiment, plan))
    except ZeroDivisionError:
        raise _impossible(experiment, "a quantity comes out as zero") from None
    below = next((step for step in worked.steps if step.exact < 0), None)
    if below is not None:
        raise _impossible(experiment, f"the {below.variable.name} comes out below zero ({below.shown})")
    try:
        confirm(experiment.described.procedure, worked, truth_of(experiment, plans, known))
    except Refusal as refusal:
        raise _impossible(experiment, f"they break the rule '{refusal.rule}': {refusal.detail}") from None
    except (KeyError, StopIteration) as gap:
        if not gap.args or gap.args[0] not in system.variables:
            raise CheckFailure(f"the bench lacks a quantity: {gap}") from gap
        raise Mistake(
            f"the {gap.args[0]} is not given and does not follow from the rest, so the answer cannot be proved",
            where=experiment.where,
            expected="every quantity but the asked one",
        ) from None
    return worked


def truth_of(experiment: Experiment, plans: Plans, known: Mapping[Name, Fraction]) -> dict[Name, Fraction]:
    """What the bench has to know beside the asked quantity, as far as the givens tell it.

    One answer is not the whole experiment where a second titration finds the strength of a solution, or where a mixture
    holds a second substance: the bench replays every titre, so each of these is worked out from the givens too.
    """
    truth = dict(known)
    for ways in inputs_of(experiment.described.procedure):
        if any(name in truth or name == experiment.ask.quantity for name in ways):
            continue
        try:
            the_plan = plans.find(experiment.system, experiment.given, ways[0])
            found = derive(experiment.system, the_plan, known).answer
        except (Mistake, ZeroDivisionError):
            continue  # the bench may do without it; what it cannot do without is told by name
        if found < 0:
            raise _impossible(experiment, f"the {ways[0]} comes out below zero")
        truth[ways[0]] = found
    return truth


def inputs_of(procedure: Procedure) -> Iterator[tuple[Name, ...]]:
    """The quantities that the bench starts from; each with the others that say the same, the one to work out first."""
    for solution in procedure.solutions():
        if not solution.made_in:
            yield quantities.concentration(solution.name), quantities.mass_concentration(solution.name)
    for act in procedure.operations:
        match act:
            case Weigh(contents=contents, sample=sample):
                if act.pure and len(contents) == 1:
                    yield quantities.mass(sample), *_held(act, contents[0].substance)
                else:
                    yield from (_held(act, content.substance) for content in contents)
            case Measure():
                yield (act.volume,)
            case MakeUp():
                yield (quantities.volume_made_up(act.vessel),)
            case Aliquot():
                yield (quantities.volume_taken(act.into),)
            case Titrate():
                yield (act.titre,)
            case _:
                pass


def _held(act: Weigh, substance: str) -> tuple[Name, ...]:
    ways = (
        quantities.mass_within(substance, act.sample),
        quantities.percentage(substance, act.sample),
        quantities.substance_amount(substance, act.sample),
    )
    return (*ways, quantities.mass_each(substance, act.pieces)) if act.pieces else ways


def notes(experiment: Experiment, worked: Worked) -> Iterator[str]:
    """What the titrations leave to be said, and what is believable in no sample: more than all of it."""
    yield from experiment.described.notes
    yield from untold_steps(experiment.described.procedure)
    known = {name: quantity.in_base for name, quantity in experiment.given.items()}
    known |= {step.variable.name: step.exact for step in worked.steps}
    for act in experiment.described.procedure.weighings:
        shares = [_share(act, content.substance, known) for content in act.contents]
        whole = sum((share for share in shares if share is not None), Fraction(0))
        if to_figures(whole, 4) > 100:  # 100.02 % is a matter of readings
            held = " and ".join(content.substance for content in act.contents)
            yield (
                f"the {held} in {act.sample} comes to more than 100 % ({to_figures(whole, 4)} %). "
                "Check the readings, the mass and the equation"
            )


def _share(act: Weigh, substance: str, known: Mapping[Name, Fraction]) -> Fraction | None:
    """The percentage of a substance in its sample, as far as it is known."""
    percentage = known.get(quantities.percentage(substance, act.sample))
    mass, within = known.get(quantities.mass(act.sample)), known.get(quantities.mass_within(substance, act.sample))
    if percentage is not None or not mass or within is None:
        return percentage
    return within / mass * 100


def _impossible(experiment: Experiment, why: str) -> Mistake:
    return Mistake(
        f"these numbers cannot come from this experiment: {why}",
        where=experiment.where,
        expected="readings that agree with each other",
        do="Check the volumes, the concentrations and the equation.",
    )


def exact_number(worked: Worked) -> Quantity:
    """The exact answer in its unit: all its places where it ends, else to eight figures."""
    exact = worked.exact * base_factor(worked.answer)
    places = finite_places(exact)
    short = places is not None and places <= 12
    number = half_up(exact, places or 0) if short else to_figures(exact, 8)
    return Quantity(number, worked.answer.unit, worked.answer.scientific)


def named_element(experiment: Experiment, worked: Worked) -> Candidate | None:
    """The element that an asked relative atomic mass belongs to; None where anything else is asked."""
    asked = worked.steps[-1].variable
    if asked.kind != "atomic mass":
        return None
    subjects = [one.subject for one in experiment.system.variables.values()]
    unknown = next((one for one in subjects if _holds_letter(one, asked.subject)), asked.subject)
    among = experiment.unknown_elements.candidates(unknown, experiment.masses)
    return nearest_candidate(worked.exact, among) if among else None


def _holds_letter(substance: str, letter: str) -> bool:
    try:
        return substance != letter and parted(substance)[0] == letter
    except Mistake:
        return False


def as_json(experiment: Experiment, worked: Worked) -> str:
    """The answer and its steps as JSON."""
    exact = worked.exact * base_factor(worked.answer)
    texts = texts_of(experiment.system.variables)
    element = named_element(experiment, worked)
    whole: dict[str, Any] = {
        "experiment": experiment.title,
        "asked": texts[experiment.ask.quantity],
        "exact answer": f"{exact.numerator}/{exact.denominator}",
        "exact decimal": str(exact_number(worked).number),
        "rounded answer": str(worked.answer.number),
        "unit": worked.answer.unit.text,
        **({"figures because": reason} if (reason := figures_told(experiment, worked.plan)) else {}),
        "accepted range": [str(worked.accepted.low.number), str(worked.accepted.high.number)],
        **({"nearest element": element.name} if element is not None else {}),
        **({"uncertainty": told} if (told := uncertainty_told(experiment, worked)) else {}),
        "notes": list(notes(experiment, worked)),
        "equations": [reaction.text for reaction in _equations(experiment)],
        "relative atomic masses": experiment.masses,
        "steps": [
            {"quantity": texts[step.variable.name], "rounded": str(step.shown.number), "unit": step.shown.unit.text,
             "exact": f"{step.exact.numerator}/{step.exact.denominator}"}
            for step in worked.steps
        ],
    }  # fmt: skip
    return json.dumps(whole, ensure_ascii=False, indent=1)


def as_text(experiment: Experiment, worked: Worked) -> str:
    """The steps, the answer and the accepted range as plain text."""
    texts = texts_of(experiment.system.variables)
    blocks: list[Block] = [Heading(1, (Text(with_scripts(experiment.title)),))]
    blocks += [Paragraph((Text(f"Reaction: {reaction}"),)) for reaction in _equations(experiment)]
    for number, step in enumerate(worked.steps, 1):
        blocks.append(Paragraph((Text(f"{number}. {with_scripts(texts[step.variable.name])}"),)))
        blocks += [Paragraph(line, indent_mm=6.0) for line in _lines(experiment, worked, step)]
    blocks += answer_blocks(experiment, worked)
    sheet = Sheet(title=experiment.title, subject="Titration calculation", kind="worked", code="", blocks=tuple(blocks))
    return renderer("text").render(sheet).decode()


def _equations(experiment: Experiment) -> tuple[Reaction, ...]:
    """The equations that are reckoned with, as written or as the banks have them, each once."""
    procedure = experiment.described.procedure
    titrated = (reaction for act in procedure.titrations for reaction in act.reactions)
    return tuple(dict.fromkeys((*procedure.equations, *titrated)))


def answer_blocks(experiment: Experiment, worked: Worked) -> list[Block]:
    """The answer, what is accepted for it, and what there is to say of it."""
    low, high = worked.accepted.low, worked.accepted.high
    accepted = f"{low.number_text} to {high}" if low.number != high.number else f"{high} only"
    asked = with_scripts(texts_of(experiment.system.variables)[experiment.ask.quantity])
    blocks: list[Block] = [
        Paragraph((Text(f"Answer: {asked} = {worked.told}"),), "lead"),
        Paragraph((Text(f"Accepted: {accepted}. Before rounding: {exact_number(worked)}."),)),
    ]
    reason = figures_told(experiment, worked.plan)
    if reason:
        blocks.append(Paragraph((Text(f"Figures: {reason}."),)))
    uncertain = uncertainty_told(experiment, worked)
    if uncertain:
        blocks.append(Paragraph((Text(f"Uncertainty: {with_scripts(uncertain)}."),)))
    element = named_element(experiment, worked)
    if element is not None:
        blocks.append(Paragraph((Text(f"Nearest element: {element.name} ({element.formula}, {element.mass})."),)))
    return [*blocks, *(Paragraph((Text(f"Note: {with_scripts(note)}."),)) for note in notes(experiment, worked))]


def _lines(experiment: Experiment, worked: Worked, step: WorkedStep) -> tuple[Line, ...]:
    """The working of one step: a line, or where several relations yield it only together, the two equations and what follows."""
    if step.relation is not None:
        return (*_converted(experiment, step.relation), (Maths(_line(experiment, worked, step)),))
    known = {name: quantity.in_base for name, quantity in experiment.given.items()}
    known = {**molar_masses(experiment.system, experiment.masses), **known}
    known |= {one.variable.name: one.exact for one in worked.steps[: worked.steps.index(step)]}
    found = two_unknowns(experiment.system, known, step.variable.name)
    if found is None:
        return ((Maths((Sign("="), Amount(step.shown))),),)
    masses = (
        relative_mass(experiment.system.variables[one].subject, experiment.masses) for one in experiment.system.fixed
    )
    printed = {Fraction(mass): str(mass) for mass in masses}
    printed |= {one.in_base: one.to(one.unit.base).number_text for one in experiment.given.values()}
    texts = texts_of(experiment.system.variables)
    told = (found, lambda name: (Text(texts[name]),), _written(experiment, worked), printed)
    figures = step.shown.figures
    algebra = two_equations(*told, figures)
    if found.target == found.x:
        return (*algebra, (Maths((Text(texts[found.x]), Sign("="), Amount(step.shown))),))
    return (*algebra, *from_the_value(*told, figures))


def _written(experiment: Experiment, worked: Worked) -> Callable[[Name], Quantity]:
    """How each quantity stands on the page: as it was given, as it was found, or as a molar mass."""
    steps = {one.variable.name: one.shown for one in worked.steps}

    def written(name: Name) -> Quantity:
        if name in experiment.given:
            return experiment.given[name]
        if name in steps:
            return steps[name]
        return Quantity(relative_mass(experiment.system.variables[name].subject, experiment.masses))

    return written


def _converted(experiment: Experiment, relation: Relation) -> Iterator[Line]:
    """ "44.5 mg = 0.0445 g", for each number that was given in another unit than the one that it is reckoned in."""
    given = (experiment.given[name] for name in relation.names if name in experiment.given)
    for one in given:
        if one.unit.power != one.unit.base.power:
            yield (Maths((Amount(one), Sign("="), Amount(one.to(one.unit.base)))),)


def _line(experiment: Experiment, worked: Worked, step: WorkedStep) -> tuple[MathsItem, ...]:
    items: list[MathsItem] = [Sign("=")]
    if step.relation is not None and not step.idle:  # one to one: the number is that of the step before
        items += [*right_side(step.relation, step.variable.name, _written(experiment, worked)), Sign("=")]
    items.append(Amount(step.shown))
    if step is worked.steps[-1] and worked.answer.unit.power != step.shown.unit.power:
        items += [Sign("="), Amount(worked.answer)]
    return tuple(items)
