"""`molewright solve`: files of described experiments come in; answers and lines are printed, or papers stand in a folder."""

from __future__ import annotations

import argparse
from dataclasses import replace
from typing import TYPE_CHECKING

from molewright.cli.options import a_path, add_bank_options, bank_of, usual_head, whole_number
from molewright.cli.paper_options import add_level_option, add_sheet_options, add_whom_options
from molewright.cli.printing import in_another_form, in_versions, print_papers
from molewright.errors import Mistake, Where

if TYPE_CHECKING:
    from molewright.bank.definitions import Bank
    from molewright.order.lines import OrderLine
    from molewright.order.order import Order, Wanted

HELP = "work out a described experiment, or print it as a question with its mark scheme"
DESCRIPTION = (
    "Work out one quantity of an experiment that is described in a file; with --to, print it as a matched pair."
)
EXAMPLE = """\
A file, stone.yaml:

  experiment: Stone from the quarry
  opening: Miri brought a stone from the quarry.     # before the stem; or words: and task:, all of it in your own words
  procedure:                                         # what was done, in order
    - weigh: {sample: stone, contains: CaCO3, mass: 1.264 g}
    - add excess: {solution: HCl, volume: 50.0 cm3, concentration: 1.00 mol dm-3}
    - react: CaCO3 + 2HCl -> CaCl2 + CO2 + H2O
    - make up: 250 cm3
    - take aliquot: 25.0 cm3
    - titrate: {with: NaOH, concentration: 0.105 mol dm-3, titre: 24.80 cm3}
  asked: percentage of CaCO3 in stone                # any quantity that is left out
  moves: {mass of stone: 1.10 to 1.40 g by 0.001, concentration of HCl: no}     # with other numbers; the rest as is sensible

molewright solve stone.yaml
molewright solve stone.yaml --to out/stone --versions AB
molewright solve stone.yaml --to out/new --new-numbers --level structured
molewright solve stone.yaml --as-entry my-stones

Operations: weigh, dissolve, measure, add excess, add, warm, react, come to equilibrium, boil off, filter off, drive over, collect gas,
lead in, make up, take aliquot, dilute, titrate, tell strength, tell part, read pH, tell solubility product;
banks/archetypes/direct.yaml tells their keys. Lines of other experiments:
  - measure: {solution: vinegar, contains: CH3COOH, volume: 25.0 cm3}     # asked: concentration of CH3COOH in vinegar; unit: g dm-3
  - weigh: {sample: washing soda, contains: Na2CO3.xH2O, mass: 3.56 g}    # asked: x (or M2CO3 and: relative atomic mass of M)
  - weigh: {sample: chloride, contains: FeClx, mass: 0.406 g}             # asked: x (or MCl2 and: relative atomic mass of M)
  - weigh: {sample: chloride, contains: MClx, mass: 1.58 g, atomic mass of M: 52.0}     # asked: x
  - add excess: KI                                                        # of which nobody says how much
  - react: I2 + 2S2O3^2- -> 2I- + S4O6^2-                                 # before or after the titration whose equation it is
  - titrate: {with: Na2S2O3, concentration: 0.100 mol dm-3, titres: [rough 14.9, 14.65, 14.55], indicator: starch}
  - boil off: NH3                                                         # or bare: - boil off, - warm
  - weigh: {sample: flour, contains: N, mass: 1.25 g, factor: 6.25}       # asked: percentage of protein in flour; then three more:
  - dissolve: hot concentrated sulfuric acid                              # breaks the flour down
  - add: an excess of sodium hydroxide solution                           # sets the ammonia free
  - drive over: {gas: NH3, into: H2SO4, volume: 50.0 cm3, concentration: 0.100 mol dm-3}
  - collect gas: {gas: CO2, molar volume: 24.0 dm3 mol-1}                 # asked: volume of CO2 given off; or with its volume
  - lead in: {gas: SO2, volume: 120 cm3, molar volume: 24.0 dm3 mol-1}
  - measure: {solution: H2SO4, volume: 5.00 cm3, density: 1.84 g cm-3}    # asked: percentage by mass of H2SO4; or that, told
  - weigh: {sample: soda, contains: Na2CO3, mass before: 15.403 g, mass after: 12.753 g}     # of the weighing bottle
  - weigh: {sample: vitamin C tablets, contains: C6H8O6, number: 5}       # asked: mass of C6H8O6 in one tablet; unit: mg
Asked too: mass of C6H8O6 in 200 cm3 of juice, hardness of tap water as CaCO3, pH (after a line '- read pH'). Charges may be bare
(Fe2+, SO42-) where the banks leave one reading. Other keys: unit, figures, relative atomic masses, molar masses, telling, level,
tolerances ({titre of NaOH: 0.10 cm3}). A number that stands in words: is found there and moves with the others. A file may hold a
list of experiments. For an editor: experiment.schema.json (JSON Schema) among the templates.
"""
_PRINTED = (
    "form", "replace", "level", "versions", "class_list", "numbers", "files", "fillable", "title", "front", "answer_space",
    "look", "tint", "litres", "telling", "sheet", "seed", "new_numbers",
)  # fmt: skip
"""Options that say something of what is printed, and nothing without a folder to print to."""


def add_options(door: argparse.ArgumentParser) -> None:
    """Say what the command takes."""
    door.epilog, door.formatter_class = EXAMPLE, argparse.RawDescriptionHelpFormatter
    door.add_argument(
        "experiments",
        nargs="+",
        type=a_path,
        metavar="FILE",
        help="a described experiment, or a list of them; several files make one paper",
    )
    door.add_argument("--json", action="store_true", help="print JSON: exact answer, rounded answer, unit, steps")
    door.add_argument(
        "--as-entry",
        type=a_path,
        metavar="FOLDER",
        help="keep it as a kind of question in a folder of your own entries, with ranges for its numbers that may be changed there",
    )
    out = door.add_argument_group("a matched pair to print (with --to)")
    add_sheet_options(out)
    add_level_option(out)
    whom = door.add_argument_group("for whom")
    add_whom_options(whom)
    whom.add_argument(
        "--new-numbers",
        action="store_true",
        help="other numbers in every version: each moves as far as is sensible, or as 'moves:' in the file says; without it the first "
        "version is as it is written",
    )
    whom.add_argument("--seed", type=whole_number, metavar="NUMBER", help="a number that fixes what is drawn")
    add_bank_options(door.add_argument_group("banks"))


def run(chosen: argparse.Namespace) -> int:
    """Work them out, print them, or keep them."""
    if chosen.as_entry is not None:
        from molewright.cli.keep_entry import keep_entries

        for sentence in keep_entries(chosen):
            print(sentence)
        return 0
    bank = bank_of(chosen)
    if chosen.to is not None:
        return print_papers(chosen, bank, *_order(chosen, bank))
    _require_folder(chosen)
    if chosen.json:
        from molewright.solve.described import as_json, solve_files

        told = [as_json(*one) for one in solve_files(chosen.experiments, bank)]
        print(told[0] if len(told) == 1 else f"[{', '.join(told)}]")
        return 0
    from molewright.papers.answer_first import answers_first

    for text in answers_first(chosen.experiments, bank):
        print(text, end="")
    return 0


def _require_folder(chosen: argparse.Namespace) -> None:
    """Raises Mistake for options about sheets where none is printed, so that nobody waits for them."""
    named = [f"--{key.replace('_', '-')}" for key in _PRINTED if getattr(chosen, key) not in (None, "", False, [])]
    if named:
        raise Mistake(
            f"{', '.join(named)}, and nothing is printed",
            where=Where("command line"),
            expected="--to FOLDER beside it: where the question paper and its mark scheme go",
        )


def _order(chosen: argparse.Namespace, bank: Bank) -> tuple[Order, Wanted]:
    """The order of the experiments, one question each, and what is wanted of it."""
    from molewright.order.experiment_file import read_experiments
    from molewright.order.head import with_levels
    from molewright.order.order import Order
    from molewright.papers.choosing import fresh_seed
    from molewright.solve.described import solve_files

    usual = usual_head()
    solve_files(chosen.experiments, bank)  # a fault is told with its own line
    described = read_experiments(chosen.experiments)
    lines = described.lines
    if len(usual.levels) == 1:  # a demand in somebody's own words is that of the whole question
        lines = tuple(replace(line, level=line.level or ("exam" if line.own_task else "")) for line in lines)
    wanted = in_versions(chosen, usual.wanted)
    lines = tuple(_moving(chosen, line, wanted) for line in lines)
    order = Order(
        seed=fresh_seed() if chosen.seed is None else chosen.seed,
        count=len(lines),
        lines=lines,
        masses=described.masses or usual.masses,
        style=usual.style,
        telling=usual.telling,
    )
    return in_another_form(chosen, with_levels(order, usual.levels)), wanted


def _moving(chosen: argparse.Namespace, line: OrderLine, wanted: Wanted) -> OrderLine:
    """The line with numbers that move where several versions, a class or new ones are asked for, unless the file has them stay."""
    own = chosen.class_list is not None and (chosen.numbers or wanted.numbers) == "own"
    asked = chosen.new_numbers or own or len(wanted.versions) > 1
    if line.moving is False or not (asked or line.moving):
        return line
    return replace(line, moving=True, as_written=() if chosen.new_numbers else wanted.versions[:1])
