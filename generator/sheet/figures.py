"""What went where: the flow of an experiment as boxes and arrows, and total = reacted + left over as a bar."""

from __future__ import annotations

from generator.question import procedure as names
from generator.question.procedure import Aliquot, Dissolve, MakeUp, Measure, Pass, React, Remove, Titrate, Weigh
from generator.sheet.nodes import Amount, BarFigure, BarPiece, Chem, FlowBox, FlowFigure, Inline, Line, Text
from generator.sheet.voice import Voice


def flow(voice: Voice) -> FlowFigure:
    """The stations of the experiment from left to right."""
    boxes: list[FlowBox] = []
    arrows: list[Line] = []
    waiting: list[Line] = []
    title: Line = ()
    pending: Line = ()

    def close() -> None:
        nonlocal waiting, title
        if title or waiting:
            if boxes:
                arrows.append(pending or (Text(""),))
            boxes.append(FlowBox(title or (Text("flask"),), tuple(waiting)))
        waiting, title = [], ()

    for operation in voice.question.draw.variant.procedure.operations:
        match operation:
            case Weigh():
                title = (Text("sample"),)
                mass = voice.given(names.mass(operation.sample)) if operation.weighed else None
                waiting.append(
                    (mass, Text(f" {_short(voice, operation)}")) if mass else (Text(_short(voice, operation)),)
                )
            case Measure():
                title = title or (Text("flask"),)
                waiting.append(_poured(voice, operation))
            case MakeUp():
                close()
                volume = voice.given(names.volume_made_up(operation.vessel))
                title = (volume, Text(" flask")) if volume else (Text("volumetric flask"),)
                pending = (Text("made up"),)
                waiting.append((Text("made up with water"),))
            case Aliquot():
                close()
                volume = voice.given(names.volume_taken(operation.into))
                title = (volume, Text(" portion")) if volume else (Text("portion"),)
                pending = (Text("pipette"),)
            case Titrate():
                close()
                pending = (Text("titrate"),)
                title = (Text("burette"),)
                waiting.append(voice.bottle(operation.titrant))
                titre = voice.question.draw.given.get(names.titre(operation))
                if titre:
                    word = "titre " if voice.single_titre(operation) else "mean titre "
                    waiting.append((Text(word), voice.amount(titre)))
            case React():
                waiting.append(
                    (Text("reacts"),) if not operation.excess else (Chem(operation.excess), Text(" left over"))
                )
            case Dissolve() | Remove() | Pass():
                pass
    close()
    return FlowFigure(
        tuple(boxes), tuple(arrows), "Flow of the experiment: " + "; then ".join(_spoken(box.title) for box in boxes)
    )


def _poured(voice: Voice, act: Measure) -> Line:
    volume = voice.given(names.volume_measured(act.solution.name, act.vessel))
    bottle = voice.bottle(act.solution)
    if volume is None:
        return bottle
    return (volume, Text(" of "), *bottle) if voice.is_analysed(act.solution) else (volume, Text(" "), *bottle)


def _short(voice: Voice, act: Weigh) -> str:
    material = voice.question.draw.variant.material
    return material.noun if material else voice.sample().removeprefix("the ")


def _spoken(line: Line) -> str:
    return "".join(
        str(piece.quantity) if isinstance(piece, Amount) else piece.text if isinstance(piece, Text) else ""
        for piece in line
    )


def bar(voice: Voice) -> BarFigure | None:
    """Total = reacted + left over, for a question with a reagent in excess."""
    for step in voice.question.worked.steps:
        if step.relation is None or step.relation.kind != "balance":
            continue
        spent, left, total = step.relation.names
        exact = {step.variable.name: step.exact for step in voice.question.worked.steps}
        if not all(name in exact for name in (spent, left, total)):
            return None
        variables = voice.question.system.variables
        share = float(exact[spent] / exact[total])
        species = variables[total].subject

        def label(words: str, name: str) -> Line:
            pieces: tuple[Inline, ...] = (Text(f"{words}: "), voice.amount(voice.steps[name].shown))
            return pieces

        return BarFigure(
            (Chem(species), Text(" "), *label("added", total)),
            (BarPiece(share, label("reacted", spent), hatched=True), BarPiece(1 - share, label("left over", left))),
            "The amount added is the amount that reacted and the amount left over.",
        )
    return None
