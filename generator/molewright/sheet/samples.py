"""What is weighed comes in; what it is called goes out: the material, the substance, or the scene's word for it."""

from __future__ import annotations

from molewright.bank.definitions import Bank
from molewright.experiment.procedure import Weigh
from molewright.experiment.relations.variables import Variable
from molewright.question.check import Question
from molewright.sheet.bottles import Bottles


class Samples:
    """What is weighed in one question, as its sheets call it."""

    def __init__(self, question: Question, bank: Bank, bottles: Bottles) -> None:
        self.question = question
        self.bank = bank
        self.bottles = bottles

    def name(self) -> str:
        """What the sample is called in this scene: "the shell"."""
        return self.question.draw.context.sample

    def piece(self) -> str:
        """What the sample is counted in: "tablet"."""
        material = self.question.draw.variant.material
        return material.pieces if material and material.pieces else "piece"

    def weighed(self, variable: Variable) -> Weigh | None:
        """The weighing that a substance, an element or a sample's mass belongs to."""
        for op in self.question.draw.variant.procedure.weighings:
            if variable.vessel in ("", op.vessel) and variable.subject in (
                op.sample,
                *op.elements,
                *(c.substance for c in op.contents),
            ):
                return op
        return None

    def of_the_scene(self, act: Weigh) -> bool:
        """Whether what is weighed is what the scene is about, and not a standard beside it."""
        draw = self.question.draw
        weighings = draw.variant.procedure.weighings
        if draw.variant.material is not None:
            return act.sample == draw.variant.material.name or len(weighings) == 1
        measured = any(self.bottles.is_analysed(one) and not one.made_in for one in draw.variant.procedure.solutions())
        return not measured and (len(weighings) == 1 or act.sample == draw.variant.roles.get("analyte"))

    def belongs_to_the_scene(self, variable: Variable) -> bool:
        act = self.weighed(variable)
        return act is None or self.of_the_scene(act)

    def noun(self, act: Weigh) -> str:
        """What is weighed, as the stem calls it: the material, the substance, or the scene's word where that must not be told."""
        variant = self.question.draw.variant
        substance = act.contents[0].substance
        scene = self.of_the_scene(act)
        if substance in variant.unknown or substance.endswith(".xH2O"):
            return self.name()
        if variant.material and scene:
            return variant.material.noun
        return self.name() if len(act.contents) > 1 and scene else self.bank.name_of(substance)
