"""`molewright browser`: the file that starts it on each system, and what it says when it cannot start."""

from __future__ import annotations

import os
import re
import shlex
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from molewright.browser.starter import starter
from molewright.cli import main


def test_a_starter_says_on_each_system_what_is_run() -> None:
    python = "/usr/lib/a folder/python3"
    assert shlex.split(starter("darwin", python, "/docs/a $HOME").splitlines()[1]) == [
        "exec", python, "-m", "molewright", "browser", "--to", "/docs/a $HOME"]  # fmt: skip
    entry = starter("linux", python, "/docs/100% `x`")
    assert '\nExec="/usr/lib/a folder/python3" -m molewright browser --to "/docs/100%% \\\\`x\\\\`"\n' in entry
    assert entry.startswith("[Desktop Entry]\nType=Application\n")
    assert "\nTerminal=true\n" in entry
    batch = starter("win32", r"C:\Program Files\python.exe", r"D:\100% mine")
    assert '"C:\\Program Files\\python.exe" -m molewright browser --to "D:\\100%% mine"\r\n' in batch
    assert batch.count("\n") == batch.count("\r\n")


def test_a_port_that_is_taken_is_told(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        assert main(["browser", "--to", str(tmp_path), "--port", str(port), "--no-open"]) == 1
    assert f"the port {port} cannot be had" in capsys.readouterr().err
    assert main(["browser", "--port", "99999"]) == 1
    assert "expected 0 to 65535" in capsys.readouterr().err
    assert main(["browser", "--to", str(tmp_path), "--address", "0.0.0.0", "--no-open"]) == 1
    assert "one of its addresses" in capsys.readouterr().err


@pytest.mark.thorough
def test_the_file_that_it_writes_starts_it_and_a_polite_kill_ends_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], plain_environment: dict[str, str]
) -> None:
    assert main(["browser", "--starter", "--to", str(tmp_path)]) == 0
    path = Path(capsys.readouterr().out.strip())
    assert os.access(path, os.X_OK)
    line = re.findall(r"^Exec=(.*)$", path.read_text("utf-8"), re.MULTILINE)
    words = [*shlex.split(line[0]), "--no-open", "--port", "0"] if line else [str(path)]
    environment = {**plain_environment, "PYTHONPATH": str(Path(sys.modules["molewright"].__path__[0]).parent)}
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True, env=environment) as run:
        assert run.stdout is not None
        said = [run.stdout.readline() for _ in range(3)]
        address = said[1].split()[1]
        begun = time.monotonic()
        while time.monotonic() < begun + 20:
            try:
                urllib.request.urlopen(address.partition("?")[0] + "look/quick.js", timeout=5).close()
                break
            except OSError:
                time.sleep(0.05)
        run.send_signal(signal.SIGTERM)
        rest = run.stdout.read()
        assert run.wait(20) == 0
    assert str(tmp_path) in said[0]
    assert address.startswith("http://127.0.0.1:")
    assert "are stopped" in rest
