"""The command `molewright`: parses, calls one function, prints. One handler turns failures into a sentence and an exit code.

Exit codes: 0 done; 1 something the user can put right; 130 interrupted; 3 our bug.
"""

from __future__ import annotations

import argparse
import os
import signal
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from molewright import __version__
from molewright.errors import Mistake, Where, shortened
from molewright.machine import terminal

if TYPE_CHECKING:
    from molewright.bank.definitions import Bank
    from molewright.derivation.plans import Plans
    from molewright.marking.marked import MarkedClass
    from molewright.papers.code import Order

BUG, MISTAKE, INTERRUPT = 3, 1, 130
_FORMS = ("pdf", "latex", "text")
_SHEETS = ("questions", "scheme", "worked", "key")
_LEVELS = ("mixed", "scaffolded", "structured", "exam", "stretch")
_MASSES = ("one place", "two places", "whole", "unrounded")
_MOST_DRAWS = 10_000
_TOPICS_SHOWN = ("archetypes", "materials", "substances", "reactions", "indicators", "apparatus", "contexts")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; the exit code."""
    terminal.prepare()
    try:
        try:
            return _run(arguments)
        finally:
            terminal.flush()
            if arguments is None:
                signal.signal(signal.SIGINT, signal.SIG_IGN)  # the exit code is known: nothing is left to stop
    except Mistake as mistake:
        terminal.say(f"molewright: {mistake}")
        return MISTAKE
    except KeyboardInterrupt:
        if arguments is None:
            signal.signal(signal.SIGINT, signal.SIG_IGN)  # nor a second Ctrl-C
        terminal.say("molewright: interrupted; no file is left half written")
        return INTERRUPT
    except BrokenPipeError:
        terminal.abandon()
        return MISTAKE
    except Exception as bug:
        if os.environ.get("MOLEWRIGHT_TRACE"):
            raise
        if isinstance(bug, OSError):  # a full disk, a name too long: nothing that we could have got right
            terminal.abandon()
            terminal.say(f"molewright: {_of_the_system(bug)}")
            return MISTAKE
        terminal.say(f"molewright: this is a fault in molewright, not in what you asked: {type(bug).__name__}: {bug}\n"
                     "No file is left half written. Set MOLEWRIGHT_TRACE=1 and run it again to see where.")  # fmt: skip
        return BUG


def _of_the_system(broken: OSError) -> Mistake:
    """What the system refused, and where it says so."""
    where = Where(str(broken.filename)) if broken.filename else Where("standard output")
    return Mistake(f"this cannot be read or written ({broken.strerror or broken})", where=where,
                   do="Check the name, the permissions and the room that is left.")  # fmt: skip


def _run(arguments: Sequence[str] | None) -> int:
    parser = build_parser()
    chosen = parser.parse_args(arguments)
    if not hasattr(chosen, "act"):
        parser.print_help()
        return 0
    return int(chosen.act(chosen))


class _Parser(argparse.ArgumentParser):
    """Mistyped options are the user's mistake: exit code 1, one sentence."""

    def error(self, message: str) -> None:  # type: ignore[override]
        raise Mistake(message, where=Where("command line"), do=f"'{self.prog} --help' tells more.")


def build_parser() -> argparse.ArgumentParser:
    """The command line."""
    parser = _Parser(prog="molewright", description="Titration questions and the mark schemes that belong to them.")
    parser.add_argument("--version", action="version", version=f"molewright {__version__}")
    doors = parser.add_subparsers(metavar="WHAT", parser_class=_Parser)
    _paper_door(
        doors.add_parser(
            "paper",
            help="make a question paper and its mark scheme",
            description="Make a question paper and its mark scheme. Without options: a homework of six questions.",
        )
    )
    _banks_door(doors.add_parser("banks", help="list what the banks hold", description="List what the banks hold."))
    _check_door(
        doors.add_parser(
            "check",
            help="check banks, the built-in ones or your own",
            description="Check every entry of the banks and draw each archetype; tell every fault with file and line.",
        )
    )
    _solve_door(
        doors.add_parser(
            "solve",
            help="work out a described experiment",
            description="Work out one quantity of an experiment that is described in a file.",
        )
    )
    _mark_door(
        doors.add_parser(
            "mark",
            help="mark returned answers",
            description="Mark returned answers: marks, slips, and a class report. The answers are a CSV file with the columns "
            "paper code, pupil, question, part and answer.",
        )
    )
    _practise_door(
        doors.add_parser(
            "practise",
            help="make each pupil's next practice from returned answers",
            description="Make each pupil's next practice from returned answers, aimed at the slip that was found.",
        )
    )
    return parser


def _paper_door(door: argparse.ArgumentParser) -> None:
    door.add_argument(
        "archetypes",
        nargs="*",
        metavar="ARCHETYPE",
        help="kinds of question, or topics, as 'molewright banks' lists them",
    )
    door.add_argument("--questions", type=int, metavar="N", help="how many questions (6)")
    door.add_argument(
        "--level",
        choices=_LEVELS,
        help="degree of support (mixed: structured, then exam style); stretch adds a part that needs an idea of its own",
    )
    door.add_argument(
        "--versions",
        default="A",
        metavar="ABC",
        help="one paper for each letter, same questions with other numbers (A)",
    )
    door.add_argument("--class-list", type=Path, metavar="FILE", help="one paper for each line of a text file")
    door.add_argument("--title", default="", help="the title of the paper")
    door.add_argument("--masses", choices=_MASSES, help="relative atomic masses (one place)")
    door.add_argument("--litres", action="store_true", help="write mol/L and mL instead of mol dm⁻³ and cm³")
    door.add_argument(
        "--form", action="append", choices=_FORMS, help="pdf, latex or text; may be given several times (pdf)"
    )
    door.add_argument("--sheet", action="append", choices=_SHEETS, help="only these sheets (all four)")
    door.add_argument("--to", type=Path, metavar="FOLDER", help="where the files go (out)")
    door.add_argument("--replace", action="store_true", help="replace files of the same name")
    door.add_argument(
        "--code",
        metavar="CODE",
        help="make the paper of this code again; with --level, --masses or --litres the same questions in another form",
    )
    door.add_argument("--seed", type=int, metavar="N", help="a number that fixes the paper")
    _bank_options(door)
    door.set_defaults(act=_paper)


def _bank_options(door: argparse.ArgumentParser) -> None:
    door.add_argument("--entries", type=Path, metavar="FOLDER", action="append", default=[],
                      help="a folder with entries of your own, read beside the banks; may be given several times")  # fmt: skip
    door.add_argument(
        "--banks", type=Path, metavar="FOLDER", help="a whole set of other banks instead of the built-in ones"
    )


def _banks_door(door: argparse.ArgumentParser) -> None:
    door.add_argument("what", nargs="?", choices=_TOPICS_SHOWN, default="archetypes", help="what to list (archetypes)")
    _bank_options(door)
    door.set_defaults(act=_banks)


def _check_door(door: argparse.ArgumentParser) -> None:
    door.add_argument(
        "folder",
        nargs="?",
        type=Path,
        help="a folder with entries of your own, or a whole set of banks (none: the built-in ones)",
    )
    _bank_options(door)
    door.add_argument("--draws", type=int, default=20, metavar="N", help="questions to draw of every variant (20)")
    door.add_argument(
        "--only",
        action="append",
        default=[],
        metavar="ARCHETYPE",
        help="only this kind of question, or topic; may be given several times (entries of your own: those)",
    )
    door.add_argument(
        "--full",
        action="store_true",
        help="tell more of each: how many distinct questions it can make, how answers and titres spread, how far common "
        "mistakes lie apart, three samples (always so for entries of your own)",
    )
    door.set_defaults(act=_check)


def _solve_door(door: argparse.ArgumentParser) -> None:
    door.add_argument("file", type=Path, help="the described experiment")
    door.add_argument("--json", action="store_true", help="print JSON: exact answer, rounded answer, unit, steps")
    _bank_options(door)
    door.set_defaults(act=_solve)


def _mark_door(door: argparse.ArgumentParser) -> None:
    door.add_argument("answers", type=Path, help="the returned answers, a CSV file")
    door.add_argument(
        "--record",
        type=Path,
        metavar="FILE",
        help="the record of the paper, or a folder that holds it (looked for beside the answers and in out; "
        "otherwise the paper is made again from its code)",
    )
    door.add_argument("--class-list", type=Path, metavar="FILE", help="the class, one name on each line")
    door.add_argument(
        "--form", action="append", choices=_FORMS, help="pdf, latex or text; may be given several times (pdf)"
    )
    door.add_argument("--to", type=Path, metavar="FOLDER", help="where the files go (out)")
    door.add_argument("--replace", action="store_true", help="replace files of the same name")
    _bank_options(door)
    door.set_defaults(act=_mark)


def _practise_door(door: argparse.ArgumentParser) -> None:
    _mark_door(door)
    door.set_defaults(act=_practise)


# ------------------------------------------------------------------ doors


def _paper(chosen: argparse.Namespace) -> int:
    from molewright.derivation.plans import Plans
    from molewright.machine import places
    from molewright.order.class_list import read_class_list
    from molewright.papers.paper import PaperMaker, Wanted, write_papers

    bank = _bank(chosen)
    order, versions = _order(chosen, bank)
    pupils = read_class_list(chosen.class_list) if chosen.class_list else ()
    wanted = Wanted(
        _title(chosen.title), versions, pupils, _once(chosen.form or ["pdf"]), _once(chosen.sheet or _SHEETS)
    )
    maker = PaperMaker(bank, order, Plans(bank.fingerprint, places.plans()))
    folder = chosen.to or places.papers()
    written = write_papers(maker, wanted, folder, chosen.replace, _progress)
    for name in written if len(written) <= 12 else written[:4]:
        print(folder / name)
    if len(written) > 12:
        print(f"... and {len(written) - 4} more in {folder}")
    print(f"paper code {maker.code}")
    if maker.unstretched:
        print(f"without a stretch part, so in exam style as it stands: {', '.join(maker.unstretched)}")
    return 0


def _once(given: Sequence[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(given))


def _order(chosen: argparse.Namespace, bank: Bank) -> tuple[Order, tuple[str, ...]]:
    from molewright.draw.stream import Stream
    from molewright.papers.code import DEFAULT_QUESTIONS, Order, read_code
    from molewright.papers.paper import find_archetypes, fresh_seed

    if chosen.code is not None:
        if chosen.archetypes or chosen.questions is not None or chosen.seed is not None:
            raise Mistake("a code together with archetypes, --questions or --seed", where=Where("command line", entry="--code"),
                          expected="the code alone: it says which questions and how many")  # fmt: skip
        order, version = read_code(chosen.code, tuple(sorted(bank.archetypes)), bank.fingerprint)
        return _in_another_form(chosen, order), (version,) if version else _versions(chosen.versions)
    keys = find_archetypes(bank, chosen.archetypes)
    count = min(len(keys), DEFAULT_QUESTIONS) or DEFAULT_QUESTIONS if chosen.questions is None else chosen.questions
    seed = fresh_seed() if chosen.seed is None else chosen.seed
    if len(keys) > count >= 1:  # a topic of many kinds: the code names those that are used, and stays short
        keys = tuple(sorted(Stream(f"kinds/{seed}").shuffled(keys)[:count]))
    return _in_another_form(chosen, Order(seed, count, archetypes=keys)), _versions(chosen.versions)


def _in_another_form(chosen: argparse.Namespace, order: Order) -> Order:
    """The order with the level, the masses and the units that the command line names."""
    from dataclasses import replace

    named = {"level": chosen.level, "masses": chosen.masses, "style": "litre" if chosen.litres else None}
    return replace(order, **{key: text for key, text in named.items() if text is not None})


def _versions(text: str) -> tuple[str, ...]:
    letters = tuple(dict.fromkeys(text.replace(",", "").replace(" ", "").upper()))
    if not letters or any(not ("A" <= letter <= "Z") for letter in letters):
        raise Mistake(
            f"the versions {shortened(text)}",
            expected="letters, as ABC",
            where=Where("command line", entry="--versions"),
        )
    return letters


def _title(text: str) -> str:
    from molewright.order.class_list import clean_name

    return clean_name(text, Where("command line", entry="--title")) if text else ""


def _bank(chosen: argparse.Namespace, whole: bool = False) -> Bank:
    """The banks: those of a folder are read whole, the built-in ones only as far as they are used unless they are to be checked."""
    import gc

    from molewright.bank.readers.whole_bank import read_bank

    # What is read here lives as long as the run. Looking through it again and again for garbage doubled the time of a class set.
    gc.set_threshold(100_000, 20, 50)
    bank = read_bank(chosen.banks, whole=whole or chosen.banks is not None, own=tuple(dict.fromkeys(chosen.entries)))
    gc.freeze()
    return bank


def _progress(done: int, total: int) -> None:
    """A bar on the terminal for more than a handful of papers."""
    if total < 5 or not sys.stderr.isatty():
        return
    filled = 30 * done // total
    print(
        f"\r[{'#' * filled}{'.' * (30 - filled)}] {done} of {total}",
        end="" if done < total else "\n",
        file=sys.stderr,
        flush=True,
    )


def _banks(chosen: argparse.Namespace) -> int:
    from molewright.survey.listing import list_bank

    for line in list_bank(_bank(chosen), chosen.what):
        print(line)
    return 0


def _check(chosen: argparse.Namespace) -> int:
    from molewright.bank.readers.folders import is_whole
    from molewright.derivation.plans import Plans
    from molewright.machine import places
    from molewright.papers.paper import find_archetypes
    from molewright.survey.listing import check_bank

    if not 1 <= chosen.draws <= _MOST_DRAWS:
        raise Mistake(
            f"{chosen.draws} draws", expected=f"1 to {_MOST_DRAWS}", where=Where("command line", entry="--draws")
        )
    if chosen.folder is not None and is_whole(chosen.folder):
        chosen.banks = chosen.folder
    elif chosen.folder is not None:
        chosen.entries.insert(0, chosen.folder)
    bank = _bank(chosen, whole=True)
    plans = Plans(bank.fingerprint, places.plans())
    only = find_archetypes(bank, chosen.only) or tuple(sorted(bank.own))
    if chosen.entries and not only:
        print("Your entries are read and without fault. They hold no kind of question of your own, so none is drawn:\n"
              "'--only KEY' draws a kind of the banks that uses them.")  # fmt: skip
        return 0
    for line in check_bank(bank, plans, chosen.draws, _progress, only, chosen.full or bool(bank.own)):
        print(line)
    plans.keep()
    return 0


def _solve(chosen: argparse.Namespace) -> int:
    from molewright.bank.readers.described import Chemicals
    from molewright.bank.readers.described_experiment import read_experiment
    from molewright.derivation.plans import Plans
    from molewright.machine import places
    from molewright.solve.described import as_json, as_text, solve

    bank = _bank(chosen)
    experiment = read_experiment(chosen.file, Chemicals(bank.substances, bank.reactions))
    plans = Plans(bank.fingerprint, places.plans())
    worked = solve(experiment, plans)
    plans.keep()
    print(
        as_json(experiment, worked) if chosen.json else as_text(experiment, worked), end="" if not chosen.json else "\n"
    )
    return 0


def _marked(chosen: argparse.Namespace, bank: Bank, plans: Plans) -> MarkedClass:
    from molewright.marking.files import mark_answers
    from molewright.order.class_list import read_class_list

    names = read_class_list(chosen.class_list) if chosen.class_list else ()
    marked, notes = mark_answers(chosen.answers, bank, plans, chosen.record, names)
    for note in notes:
        terminal.say(f"molewright: note: {note}")
    return marked


def _mark(chosen: argparse.Namespace) -> int:
    from molewright.derivation.plans import Plans
    from molewright.machine import places
    from molewright.marking.files import write_marks

    bank = _bank(chosen)
    marked = _marked(chosen, bank, Plans(bank.fingerprint, places.plans()))
    folder = chosen.to or places.papers()
    for name in write_marks(marked, folder, _once(chosen.form or ["pdf"]), chosen.replace):
        print(folder / name)
    return 0


def _practise(chosen: argparse.Namespace) -> int:
    from molewright.derivation.plans import Plans
    from molewright.machine import places
    from molewright.marking.files import write_practice

    bank = _bank(chosen)
    plans = Plans(bank.fingerprint, places.plans())
    marked = _marked(chosen, bank, plans)
    folder = chosen.to or places.papers()
    written = write_practice(marked, bank, plans, folder, _once(chosen.form or ["pdf"]), chosen.replace, _progress)
    for name in written[-2:]:
        print(folder / name)
    print(f"{len(written) - 2} practice papers and mark schemes in {folder}")
    return 0
