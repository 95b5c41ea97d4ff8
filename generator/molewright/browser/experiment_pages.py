"""An experiment that somebody describes, in a form that grows by operations or in YAML beside it: worked out while it is typed."""

from __future__ import annotations

from dataclasses import dataclass, replace

from molewright.bank.readers.operations import MOST_OPERATIONS
from molewright.browser.asking import Answer, Asked, go
from molewright.browser.pages import page, piece, sentences
from molewright.browser.question_pages import Opened, opened, questions
from molewright.browser.shelf import Changed
from molewright.browser.workroom import Workroom
from molewright.errors import Mistake, Where
from molewright.order.lines import OrderLine
from molewright.order.order_file import read_line
from molewright.order.order_text import line_text
from molewright.papers.changing import added, replaced
from molewright.papers.outline import tried_experiment
from molewright.reading.yaml_text import parse_tree
from molewright.solve.described import as_text, described, solve
from molewright.solve.experiment_form import (
    HEAD,
    USUALLY_TOLD,
    ExperimentForm,
    FormOperation,
    as_yaml,
    from_yaml,
    raised,
    with_operation,
    without_operation,
)

_BESIDE = ("level", "opening", "telling", "words", "task", "wording", "drawn")  # of the question, not of the experiment


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What a description comes to: its working, or why there is none."""

    worked: str = ""
    doubts: tuple[str, ...] = ()  # what would be unusual in its question
    refused: str = ""


def experiment(room: Workroom, asked: Asked) -> Answer:
    """An empty form, or the one of a question that stands on the paper."""
    paper = opened(room, asked)
    number = asked.numbers.get("question", 0)
    if not number:
        return _shown(paper, asked, ExperimentForm(), as_yaml(ExperimentForm()), Outcome())
    line = paper.state.order.lines[number - 1] if number <= paper.state.order.count else OrderLine()
    if not line.experiment:
        raise Mistake(f"question {number} is no experiment of yours", expected="one that you described")
    text = "\n".join(line_text(replace(line, drawn=(), wording="")))
    form = from_yaml(text)
    return _shown(paper, asked, form, as_yaml(form), _outcome(room, as_yaml(form)))


def done(room: Workroom, asked: Asked) -> Answer:
    """What a button of the form or of the YAML asks for."""
    paper = opened(room, asked)
    form, text = ExperimentForm(), asked.text("yaml")
    try:
        form, text = _read(asked)
        if asked.text("do") == "keep":
            return _kept(room, asked, text)
    except Changed as mistake:
        return questions(room, asked, sentences(mistake))
    except Mistake as mistake:
        form = form if form.operations else _form_of(asked)
        return _shown(paper, asked, form, text, Outcome(refused=" ".join(sentences(mistake))))
    outcome = _outcome(room, text) if form.operations else Outcome()
    return _shown(paper, asked, form, text, outcome)


def told(room: Workroom, asked: Asked) -> Answer:
    """What a description comes to that is being typed."""
    try:
        form, text = _read(asked)
    except Mistake as mistake:
        return piece("experiment_told", outcome=Outcome(refused=" ".join(sentences(mistake))), yaml=None, form=None)
    typed_as_yaml = asked.has("yaml")  # the other side follows, so that both say the same whichever is put on the paper
    return piece(
        "experiment_told",
        outcome=_outcome(room, text),
        yaml=None if typed_as_yaml else text,
        form=form if typed_as_yaml else None,
        usual=USUALLY_TOLD,
    )


def _read(asked: Asked) -> tuple[ExperimentForm, str]:
    """The form that was sent, as its button changes it, and its YAML. Raises Mistake for what cannot be read."""
    if asked.has("yaml"):
        return from_yaml(asked.text("yaml")), asked.text("yaml")
    form = _form_of(asked)
    what, _, which = asked.text("do").partition(":")
    if what == "add":
        form = with_operation(form, which)
    elif what in ("remove", "up") and which.isdigit():
        form = without_operation(form, int(which)) if what == "remove" else raised(form, int(which))
    return form, as_yaml(form)


def _form_of(asked: Asked) -> ExperimentForm:
    """The fields of a form."""
    operations = []
    for at in range(MOST_OPERATIONS):
        word = asked.text(f"op-{at}")
        if word not in USUALLY_TOLD:
            break
        fields = ((key, asked.text(f"op-{at}-{key.replace(' ', '_')}")) for key in USUALLY_TOLD[word])
        operations.append(
            FormOperation(
                word=word, told=tuple((key, text) for key, text in fields if text), more=asked.text(f"op-{at}-more")
            )
        )
    return ExperimentForm(
        head=tuple((key, asked.text(key)) for key in HEAD), operations=tuple(operations), rest=asked.text("rest")
    )


def _outcome(room: Workroom, text: str) -> Outcome:
    """The description worked out, or the sentence that says why it cannot be."""
    try:
        alone = from_yaml(text)
        rest = "\n".join(line for line in alone.rest.splitlines() if line.partition(":")[0] not in _BESIDE)
        with room.alone():
            found = described(as_yaml(replace(alone, rest=rest)), Where("the description"), room.bank)
            worked = as_text(found, solve(found, room.plans)).strip()
            return Outcome(worked=worked, doubts=_doubts(room, text))
    except Mistake as mistake:
        return Outcome(refused=" ".join(sentences(mistake)))


def _doubts(room: Workroom, text: str) -> tuple[str, ...]:
    """What is to be said of the question that a sound description makes, or why it makes none."""
    try:
        return tried_experiment(room.bank, room.plans, read_line(parse_tree(text, "the description")))
    except Mistake as mistake:
        return sentences(mistake)


def _kept(room: Workroom, asked: Asked, text: str) -> Answer:
    """Put the experiment on the paper. Raises Mistake where it makes no question."""
    kept = room.shelf.paper(asked.numbers["paper"])
    number, after = asked.numbers.get("question", 0), asked.numbers.get("after", 0)
    line = read_line(parse_tree(text, "the description"))
    if not line.experiment:
        raise Mistake("there is no procedure", expected="one operation at least, and what is asked for")
    with room.alone():
        order = kept.seen(asked.text("seen")).order
        now = replaced(order, number, line) if number else added(order, after, line)
        what = f"the experiment of question {number}" if number else "an experiment of yours"
        room.change(kept, asked.text("seen"), what, now)
    at = number or after + 1
    return go(f"/paper/{kept.number}?open={at}#q{at}")


def _shown(paper: Opened, asked: Asked, form: ExperimentForm, text: str, outcome: Outcome) -> Answer:
    number = asked.numbers.get("question", 0)
    at = f"/question/{number}/experiment" if number else f"/add/{asked.numbers.get('after', 0)}/experiment"
    return page(
        "experiment",
        "An experiment that you describe",
        head=paper.head,
        here="",
        status=422 if outcome.refused and asked.has("do") else 200,
        at=f"/paper/{paper.kept.number}{at}",
        form=form,
        usual=USUALLY_TOLD,
        yaml=text,
        outcome=outcome,
    )
