"""Where the defaults of a department are looked for: here, above, among the user's settings; one file holds alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from molewright.machine import places


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder that we are in, two below `tmp_path`; settings lie in `tmp_path / "settings"`."""
    monkeypatch.delenv(places.DEFAULTS_NAMED)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    monkeypatch.delenv("APPDATA", raising=False)
    here = tmp_path / "department" / "autumn"
    here.mkdir(parents=True)
    monkeypatch.chdir(here)
    return here


def written(path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("", "utf-8")
    return path


def test_the_nearest_file_holds(folder: Path, tmp_path: Path) -> None:
    settings = written(tmp_path / "settings" / "molewright" / places.DEFAULTS)
    assert places.defaults() == settings
    above = written(folder.parent / places.DEFAULTS)
    assert places.defaults() == above
    here = written(folder / places.DEFAULTS)
    assert places.defaults() == here


def test_without_any_there_is_none(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert not list(folder.iterdir())
    monkeypatch.setattr(places, "DEFAULTS", "molewright-of-nobody.toml")
    assert places.defaults() is None


def test_a_folder_of_that_name_is_no_file(folder: Path, tmp_path: Path) -> None:
    settings = written(tmp_path / "settings" / "molewright" / places.DEFAULTS)
    (folder / places.DEFAULTS).mkdir()
    assert places.defaults() == settings


def test_settings_that_are_named_by_no_whole_path_are_passed_over(
    folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """XDG Base Directory Specification, version 0.8: a path that is not absolute is to be ignored."""
    monkeypatch.setattr(places, "DEFAULTS", "molewright-of-nobody.toml")
    written(folder / "relative" / "molewright" / places.DEFAULTS)
    monkeypatch.setenv("XDG_CONFIG_HOME", "relative")
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    assert places.defaults() is None
    home = written(tmp_path / "home" / ".config" / "molewright" / places.DEFAULTS)
    assert places.defaults() == home


@pytest.mark.parametrize("named", ["", "none"])
def test_the_environment_may_refuse_them(named: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written(folder / places.DEFAULTS)
    monkeypatch.setenv(places.DEFAULTS_NAMED, named)
    assert places.defaults() is None


def test_the_environment_may_name_another_file(folder: Path, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    written(folder / places.DEFAULTS)
    monkeypatch.setenv(places.DEFAULTS_NAMED, str(tmp_path / "other.toml"))
    assert places.defaults() == tmp_path / "other.toml"


def test_papers_of_the_pages_stand_among_the_documents_in_whatever_language(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(Path, "home", lambda: tmp_path)
    monkeypatch.setenv("XDG_CONFIG_HOME", str(tmp_path / "settings"))
    assert places.papers_in_the_browser() == tmp_path / "Molewright"
    (tmp_path / "Documents").mkdir()
    assert places.papers_in_the_browser() == tmp_path / "Documents" / "Molewright"
    (tmp_path / "Dokumente").mkdir()
    (tmp_path / "settings").mkdir()
    (tmp_path / "settings" / "user-dirs.dirs").write_text('XDG_DOCUMENTS_DIR="$HOME/Dokumente"\n', "utf-8")
    assert places.papers_in_the_browser() == tmp_path / "Dokumente" / "Molewright"
