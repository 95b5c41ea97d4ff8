"""The chain in order: an order comes in, papers go out. Choose archetypes, draw and check questions, compose, render, write.

1 select    archetypes for the order, least demanding first
2 question  choose what versions share, draw numbers, check
3 compose   question paper, mark scheme, worked solutions, answer key, from the same questions
4 render    each in the forms asked for
5 write     everything together, with the record of the paper
"""

from __future__ import annotations

import json
import re
import secrets
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from molewright import __version__
from molewright.bank.definitions import Archetype, Bank
from molewright.chem.quantity import half_up, to_figures
from molewright.derivation.plans import Plans
from molewright.derivation.worked import WorkedStep, base_factor
from molewright.draw.draw import Chosen, Draw, choose
from molewright.draw.stream import Stream
from molewright.errors import Mistake, nearest, shortened
from molewright.experiment.identity import Candidate
from molewright.experiment.procedure import titre
from molewright.machine.files import Staging
from molewright.nodes.tree import Sheet
from molewright.papers.code import MOST_SEED, Order, versioned, write_code
from molewright.question.check import Question, Questions
from molewright.render import renderer
from molewright.sheet.compose import Composer, Setting
from molewright.sheet.parts import LEVELS, Level, labels, labels_after

SHEETS = ("questions", "scheme", "worked", "key")
_FILE_WORDS = {"questions": "questions", "scheme": "mark-scheme", "worked": "worked-solutions", "key": "answer-key"}
STRETCH = "stretch"  # exam style, with one further part a question
JUDGEMENT = "practical judgement"  # asked for by name; a homework of calculations does without
MOST_MARKS_A_QUESTION = 5  # of a mixture, on average: 30 marks for six questions, some 40 minutes
MOST_SELECTIONS = 12
MOST_CODE = 140  # letters
MOST_SLUG = 40  # letters of a title in a file's name
RECORD_FIGURES = 6  # of a wrong answer in the record: enough to tell it from any other
CANDIDATES = 3  # draws of a question of which the one with the plainest slips is printed


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a person asks for beside the order: title, versions or pupils, forms, sheets, folder."""

    title: str = ""
    versions: tuple[str, ...] = ("A",)
    pupils: tuple[str, ...] = ()
    forms: tuple[str, ...] = ("pdf",)
    sheets: tuple[str, ...] = SHEETS


@dataclass(frozen=True, slots=True)
class Paper:
    """One version of a paper: its code, its questions and what composes its sheets."""

    code: str
    version: str
    questions: tuple[Question, ...]
    composer: Composer


def fresh_seed() -> int:
    """A seed that no one has guessed."""
    return secrets.randbelow(MOST_SEED + 1)


class PaperMaker:
    """Makes the papers of one order from one bank."""

    def __init__(self, bank: Bank, order: Order, plans: Plans) -> None:
        self.bank = bank
        self.order = order
        self.known = tuple(sorted(bank.archetypes))
        self.code = write_code(order, self.known, bank.fingerprint)
        if len(self.code) > MOST_CODE:
            raise Mistake(
                f"the code of a paper with {len(order.archetypes)} kinds of question has {len(self.code)} letters",
                expected=f"at most {MOST_CODE}, for the files are called by it",
                do="Name fewer kinds, or none for a mixture of all.",
            )
        self.questions = Questions(bank, plans, order.masses)
        self.unstretched: dict[
            str, None
        ] = {}  # kinds that were printed without a stretch part though one was asked for
        # level, masses and units are left out: the same seed gives the same questions in every form
        self._seed = f"molewright/1/{order.seed}/{order.count}/{'+'.join(order.archetypes)}"
        self.selected, self.chosen = self._settle()

    def _settle(self) -> tuple[list[Archetype], list[Chosen]]:
        """Archetypes and what their versions share; a mixture is picked again while it would be too long a paper."""
        stream = Stream(f"{self._seed}/select")
        least: tuple[int, list[Archetype], list[Chosen]] | None = None
        for attempt in range(MOST_SELECTIONS):
            selected = select(self.bank, stream.branch(str(attempt)), self.order)
            chosen = self._choose(selected)
            if self.order.archetypes:
                return selected, chosen
            marks = sum(self.questions.marks_of(one, its) for one, its in zip(selected, chosen, strict=True))
            if len({"back" in one.topic for one in selected}) < min(2, self.order.count):
                marks += MOST_MARKS_A_QUESTION * self.order.count  # both direct and back titrations, if it can be had
            if least is None or marks < least[0]:
                least = (marks, selected, chosen)
            if marks <= MOST_MARKS_A_QUESTION * self.order.count:
                break
        assert least is not None
        return least[1], least[2]

    def _choose(self, selected: list[Archetype]) -> list[Chosen]:
        """What all versions share: no scene twice while there is another, and no asked quantity twice in a row if possible."""
        found: list[Chosen] = []
        scenes: set[str] = set()
        for index, archetype in enumerate(selected):
            stream = Stream(f"{self._seed}/{index}")
            tried: list[Chosen] = []
            for attempt in range(12):
                one = choose(archetype, stream.branch(str(attempt)))
                tried.append(one)
                fresh = one.context.key not in scenes
                if fresh and not (found and _alike(found[-1], one)):
                    break
            else:
                one = _in_a_fresh_scene(tried, scenes, stream)
            scenes.add(one.context.key)
            found.append(one)
        return found

    def paper(self, wanted: Wanted, version: str, pupil: str = "") -> Paper:
        """One version of the paper."""
        made = tuple(
            self.questions.make(archetype, Stream(f"{self._seed}/{index}/{version}"), chosen, CANDIDATES)
            for index, (archetype, chosen) in enumerate(zip(self.selected, self.chosen, strict=True))
        )
        if self.order.level == STRETCH:
            made = tuple(map(self._stretched, made))
        code = versioned(self.code, version)
        setting = Setting(
            wanted.title or default_title(self.bank, self.order),
            code,
            levels(self.order),
            version,
            self.order.style,
            self.order.masses,
            pupil,
            self.bank.fingerprint,
        )
        return Paper(code, version, made, Composer(made, self.bank, setting))

    def _stretched(self, question: Question) -> Question:
        """The question with its stretch part; a kind that has none for these numbers is kept in mind."""
        stretched = self.questions.stretched(question)
        if stretched.extras == question.extras:
            self.unstretched[question.draw.archetype.key] = None
        return stretched

    def papers(self, wanted: Wanted) -> Iterator[Paper]:
        """Every version asked for, one at a time."""
        if wanted.pupils:
            width = max(2, len(str(len(wanted.pupils))))
            width = 5 if width == 4 else width  # four figures would read as the first letters of the code
            for number, pupil in enumerate(wanted.pupils, 1):
                yield self.paper(wanted, str(number).rjust(width, "0"), pupil)
        else:
            for version in wanted.versions:
                yield self.paper(wanted, version)


def _in_a_fresh_scene(tried: list[Chosen], scenes: set[str], stream: Stream) -> Chosen:
    """The last of some choices whose scene is not among those used, or that has another which is not; else the last of all."""
    for one in reversed(tried):
        if one.context.key not in scenes:
            return one
    for one in reversed(tried):
        unused = [context for context in one.variant.contexts if context.key not in scenes]
        if unused:
            return replace(one, context=stream.branch("scene").pick(unused))
    return tried[-1]


def _alike(one: Chosen, other: Chosen) -> bool:
    return one.variant.roles == other.variant.roles and one.ask == other.ask


def default_title(bank: Bank, order: Order) -> str:
    """The title of a paper that was given none."""
    if len(order.archetypes) == 1:
        return f"{bank.archetypes[order.archetypes[0]].title}: practice"
    return "Titration homework" if order.count <= 12 else "Titration practice"


def levels(order: Order) -> tuple[Level, ...]:
    """The level of each question; a mixture goes from structured to exam style over its last third."""
    easier: Level = "structured"
    harder: Level = "exam"
    if order.level == STRETCH:
        return (harder,) * order.count
    if order.level in LEVELS:
        return tuple(level for level in LEVELS if level == order.level) * order.count
    last = max(1, order.count // 3)
    return (easier,) * (order.count - last) + (harder,) * last


def select(bank: Bank, stream: Stream, order: Order) -> list[Archetype]:
    """The archetypes of an order, least demanding first: those asked for in turn, or a spread over all."""
    if order.archetypes:
        listed = [bank.archetypes[key] for key in order.archetypes]
        turn = listed if order.count >= len(listed) else stream.shuffled(listed)
        found = [turn[index % len(turn)] for index in range(order.count)]
        return sorted(found, key=lambda archetype: archetype.demand) if len(listed) > 1 else found
    plain = [one for one in bank.archetypes.values() if one.topic != JUDGEMENT and not one.extras]
    calculations = plain or list(bank.archetypes.values())
    every = sorted(calculations, key=lambda archetype: (archetype.demand, archetype.key))
    least, most = every[0].demand, every[-1].demand
    picked: list[Archetype] = []
    for number in range(order.count):  # demand rises slowly at first: recall, core, one hard question at the end
        share = number / (order.count - 1) if order.count > 1 else 0.5
        aim = least + (most - least) * share**2
        fresh = [one for one in every if one not in picked] or every
        other = [one for one in fresh if not picked or one.topic != picked[-1].topic] or fresh
        nearest_demand = min(abs(one.demand - aim) for one in other)
        picked.append(stream.pick([one for one in other if abs(one.demand - aim) <= nearest_demand + 1.2]))
    return sorted(picked, key=lambda archetype: archetype.demand)


def find_archetypes(bank: Bank, names: Sequence[str]) -> tuple[str, ...]:
    """The archetypes of these keys or topics. Raises Mistake for a name that is neither."""
    found: list[str] = []
    topics = {archetype.topic for archetype in bank.archetypes.values()}
    for name in names:
        if name in bank.archetypes:
            found.append(name)
        elif name in topics:
            found += [key for key, archetype in sorted(bank.archetypes.items()) if archetype.topic == name]
        else:
            raise Mistake(
                f"no archetype {shortened(name)} in the banks",
                expected="a name that 'molewright banks' lists",
                near=nearest(name, [*bank.archetypes, *topics]),
            )
    return tuple(dict.fromkeys(found))


# ------------------------------------------------------------------ writing


def write_papers(maker: PaperMaker, wanted: Wanted, folder: Path, replace: bool = False,
                 progress: Callable[[int, int], None] | None = None) -> list[str]:  # fmt: skip
    """Make and write every version; the names of the files. Whole or not at all."""
    total = len(wanted.pupils) or len(wanted.versions)
    with Staging(folder, replace) as staging:
        records = []
        for number, paper in enumerate(maker.papers(wanted), 1):
            for sheet_name, sheet in sheets_of(paper, wanted.sheets):
                for form in wanted.forms:
                    made = renderer(form)
                    staging.add(f"{stem_of(paper)}-{_FILE_WORDS[sheet_name]}{made.SUFFIX}", made.render(sheet))
            records.append(record(paper))
            if progress:
                progress(number, total)
        name = f"{_slug(records[0]['title'])}-{maker.code}-record.json"
        staging.add(name, _record_file(maker, records))
    maker.questions.plans.keep()
    return staging.written


def sheets_of(paper: Paper, names: Sequence[str]) -> Iterator[tuple[str, Sheet]]:
    """The sheets of a paper by name."""
    makers = {"questions": paper.composer.question_paper, "scheme": paper.composer.mark_scheme,
              "worked": paper.composer.worked_solutions, "key": paper.composer.answer_key}  # fmt: skip
    for name in names:
        yield name, makers[name]()


def stem_of(paper: Paper) -> str:
    """How a paper's files are called: its title, its code, and the pupil's name where it is made for one."""
    setting = paper.composer.setting
    return "-".join(filter(None, (_slug(setting.title), paper.code, _slug(setting.pupil) if setting.pupil else "")))


def _slug(text: str) -> str:
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    whole = re.sub(r"[^a-z0-9]+", "-", plain.casefold()).strip("-")
    if len(whole) > MOST_SLUG:  # cut between words, where there is a place to cut
        whole = whole[:MOST_SLUG].rpartition("-")[0] or whole[:MOST_SLUG]
    return whole or "paper"


def _record_file(maker: PaperMaker, records: list[dict[str, Any]]) -> bytes:
    return as_file(whole_record(maker, records))


def as_file(whole: dict[str, Any]) -> bytes:
    """A record as it is written."""
    return (json.dumps(whole, ensure_ascii=False, separators=(",", ":")) + "\n").encode()


def whole_record(maker: PaperMaker, records: list[dict[str, Any]]) -> dict[str, Any]:
    """The record of all versions of a paper, with what is said of each slip that it names."""
    order = maker.order
    return {
        "made by": f"molewright {__version__}",
        "paper code": maker.code,
        "banks": maker.bank.fingerprint,
        "seed": order.seed,
        "questions": order.count,
        "level": order.level,
        "archetypes": list(order.archetypes),
        "relative atomic masses": order.masses,
        "units": order.style,
        "slips": slip_facts(maker.bank, records),
        "versions": records,
    }


def slip_facts(bank: Bank, records: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """Name, frequency, feedback and practice of every slip in the records: they mark without the banks."""
    named = {
        key for one in records for question in one["questions"] for slip in question["slips"] for key in slip["slips"]
    }
    return {
        slip.key: {"name": slip.name, "often": slip.often, "near": slip.near, "feedback": slip.feedback,
                   "practice": slip.practice}
        for slip in bank.slips if slip.key in named
    }  # fmt: skip


def record(paper: Paper) -> dict[str, Any]:
    """Everything that marks a version again without the banks: givens, runs, steps, answers. No pupil's name."""
    setting = paper.composer.setting
    return {
        "code": paper.code,
        "version": paper.version,
        "title": setting.title,
        "marks": paper.composer.marks,
        "questions": [
            _question_record(number, question, level, labels(writer, level), labels_after(writer, level))
            for number, (question, writer, level) in enumerate(
                zip(paper.questions, paper.composer.writers, setting.levels, strict=True), 1
            )
        ],
    }


def _question_record(
    number: int, question: Question, level: Level, parts: dict[int, str], further: tuple[str, ...]
) -> dict[str, Any]:
    draw, worked = question.draw, question.worked
    first = sum(part.marks for part in question.extras if part.first)  # M1 of the calculation is printed after these
    return {
        "question": number,
        "archetype": draw.archetype.key,
        "topic": draw.archetype.topic,
        "roles": dict(draw.variant.roles),
        "context": draw.context.key,
        "level": level,
        "indicator": draw.indicator,
        "given": {name: str(quantity) for name, quantity in draw.given.items()},
        "runs": [
            [str(half_up(run.initial, 2)), str(half_up(run.final, 2)), "rough" if run.rough else "accurate"]
            for run in draw.runs
        ],
        "asked": draw.ask.quantity,
        "titre": titre(draw.variant.procedure.titrations[-1]) if draw.variant.procedure.titrations else "",
        "figures": draw.ask.figures,
        "points": [
            {
                "mark point": point.number,
                "part": parts[point.number],
                "finds": [step.variable.name for step in point.steps] or ["mean titre"],
                "answers": [str(step.shown) for step in point.steps] or [mean_text(draw)],
            }
            for point in question.points
        ],
        "further parts": [
            {
                "kind": part.kind,
                "part": label,
                "answers": [str(point.answer) for point in part.points],
                "accepted": [str(number) for number in part.accepted or ()],
                "unit": part.unit,
                "marks": part.marks,
                **({"reads": part.reads} if part.reads else {}),
                **({"candidates": [_candidate(one) for one in part.candidates]} if part.candidates else {}),
            }
            for part, label in zip(question.extras, further, strict=True)
        ],
        **({"marks before": first} if first else {}),
        "known": {name: str(exact) for name, exact in question.given.items()},
        "chain": [_chain_record(step) for step in worked.steps],
        "exact": f"{worked.exact.numerator}/{worked.exact.denominator}",
        "answer": str(worked.answer),
        "accepted": [str(worked.accepted.low), str(worked.accepted.high)],
        "marks": len(question.points),
        "marks in all": question.marks,
        "separation": round(question.separation, 4),
        "slips": [
            {
                "slips": [slip.key for slip in one.slips],
                "gives": str(to_figures(one.exact * base_factor(worked.answer), RECORD_FIGURES)),
                "loses": sorted(one.lost),
                "marks": one.marks,
            }
            for one in question.slip_answers()
        ],
    }


def _candidate(one: Candidate) -> list[str]:
    return [one.formula, one.name, str(one.mass), *one.also]


def _chain_record(step: WorkedStep) -> dict[str, Any]:
    """One step so that it can be worked again from a pupil's own values: Π quantity^power × factor = 1, or Σ share × quantity = 0."""
    relation = step.relation
    return {
        "finds": step.variable.name,
        "unit": step.variable.unit,
        "exact": str(step.exact),
        "form": relation.form if relation else "",
        "factor": str(relation.factor) if relation else "1",
        "quantities": [[name, str(power)] for name, power in relation.quantities] if relation else [],
    }


def mean_text(draw: Draw) -> str:
    """The mean titre as printed."""
    return str(draw.given[titre(draw.variant.procedure.titrations[-1])])
