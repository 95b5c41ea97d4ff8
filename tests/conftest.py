"""What several tests share: the built-in banks, a small bank of their own, question makers, and golden pages."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path

import pytest

from molewright.bank.definitions import Bank
from molewright.bank.readers import folders, whole_bank
from molewright.bank.readers.whole_bank import read_bank
from molewright.derivation.plans import Plans
from molewright.draw.stream import Stream
from molewright.machine import places
from molewright.question.check import Question, Questions
from shared import covering, for_each
from shared.banks import built_in, tree_of

pytest_plugins = ["shared.by_hand", "shared.pace"]
TESTS = Path(__file__).resolve().parent
DOZEN = 12


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--update-golden", action="store_true", help="write tests/golden anew; read the difference before keeping it"
    )
    parser.addoption(
        "--case", default="", help="of tests that gather many cases, check only those whose name holds this"
    )
    parser.addoption(
        "--every-kind",
        action="store_true",
        help="ask every kind of question what else few that show all shapes are asked",
    )


def pytest_configure(config: pytest.Config) -> None:
    for_each.only(config.getoption("--case"))
    covering.ask_every_kind(config.getoption("--every-kind"))


@pytest.fixture(scope="session", autouse=True)
def own_cache(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Plans are kept in a folder of the test run, never in the home of whoever runs it, and no defaults of theirs are read."""
    folder = tmp_path_factory.mktemp("cache")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(folder))
        patch.setenv(places.DEFAULTS_NAMED, "none")
        yield folder


@pytest.fixture(scope="session", autouse=True)
def parsed_once() -> Iterator[None]:
    """No file of the banks is parsed twice in a run."""
    with pytest.MonkeyPatch.context() as patch:
        for reader in (folders, whole_bank):
            patch.setattr(reader, "read_tree", tree_of)
        yield


@pytest.fixture(scope="session")
def bank() -> Bank:
    """The built-in banks."""
    return built_in()


@pytest.fixture(scope="session")
def small_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A bank that only tests read: the entries of tests/bank/small, and the built-in files for all that it does not state."""
    folder = tmp_path_factory.mktemp("small") / "banks"
    (folder / "archetypes").mkdir(parents=True)
    own = TESTS / "bank" / "small"
    for path in (*places.banks().glob("*.yaml"), *own.rglob("*.yaml")):
        there = folder / (path.relative_to(own) if path.is_relative_to(own) else path.name)
        there.write_bytes(path.read_bytes())
    return folder


@pytest.fixture(scope="session")
def small_bank(small_folder: Path) -> Bank:
    """The small bank, read."""
    return read_bank(small_folder)


@pytest.fixture(scope="session")
def plans(bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Plans:
    """Plans of the built-in banks, kept for the whole run."""
    return Plans(bank.fingerprint, tmp_path_factory.mktemp("plans"))


@pytest.fixture(scope="session")
def questions(bank: Bank, plans: Plans) -> Questions:
    """A question maker on the built-in banks."""
    return Questions(bank, plans)


@pytest.fixture(scope="session")
def dozen(bank: Bank, questions: Questions) -> Callable[[str], tuple[Question, ...]]:
    """The first questions of a kind of the fifty thousand, drawn once for all tests of a processor."""

    @cache
    def made(key: str) -> tuple[Question, ...]:
        return tuple(questions.make(bank.archetypes[key], Stream(f"many/{key}/{number}")) for number in range(DOZEN))

    return made


@pytest.fixture(scope="session")
def small_questions(small_bank: Bank, tmp_path_factory: pytest.TempPathFactory) -> Questions:
    """A question maker on the small bank."""
    return Questions(small_bank, Plans(small_bank.fingerprint, tmp_path_factory.mktemp("small-plans")))


@pytest.fixture
def bank_with(tmp_path: Path, small_folder: Path) -> Callable[..., Path]:
    """A copy of the small bank with one file replaced: bank_with("reactions.yaml", old, new)."""

    def make(file: str, old: str, new: str) -> Path:
        folder = tmp_path / "banks"
        for path in small_folder.rglob("*.yaml"):
            copy = folder / path.relative_to(small_folder)
            copy.parent.mkdir(parents=True, exist_ok=True)
            text = path.read_text("utf-8")
            if path.relative_to(small_folder).as_posix() == file:
                assert text.count(old) == 1, f"'{old}' stands {text.count(old)} times in {file}"
                text = text.replace(old, new)
            copy.write_text(text, "utf-8")
        return folder

    return make


@pytest.fixture
def golden(request: pytest.FixtureRequest) -> Callable[[str, str], None]:
    """Compare a text with its golden page; with --update-golden, write the page instead."""

    def compare(name: str, text: str) -> None:
        page = TESTS / "golden" / name
        if request.config.getoption("--update-golden"):
            page.parent.mkdir(exist_ok=True)
            page.write_text(text, "utf-8")
        assert page.is_file(), f"no golden page {name}: run 'pytest --update-golden' and read it"
        assert text.splitlines() == page.read_text("utf-8").splitlines()

    return compare


@pytest.fixture(scope="session")
def plain_environment(own_cache: Path) -> dict[str, str]:
    """The environment of a second process: ours, with the plans of the test run."""
    return {**os.environ, "XDG_CACHE_HOME": str(own_cache), "PYTHONIOENCODING": "utf-8"}
