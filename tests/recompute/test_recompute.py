"""The whole run, and one run with an error planted in each formula: all of them must end it."""

import subprocess
import sys
from pathlib import Path

import pytest

import formulas
import recompute


@pytest.fixture(scope="session")
def binary():
    return recompute.binary()


def shell(binary, *options):
    command = [sys.executable, Path(recompute.__file__), "--binary", binary, *options]
    return subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False)


def test_the_core_and_the_script_agree(binary, capsys):
    done = shell(binary)
    assert done.returncode == 0, done.stdout
    with capsys.disabled():
        print(done.stdout.strip(), end=" ")


@pytest.mark.parametrize("name", formulas.NAMES)
def test_a_planted_error_ends_the_run(binary, name):
    with pytest.raises(SystemExit) as end:
        recompute.main(["--binary", binary, "--count", "150", "--plant", name])
    assert "reported" in end.value.code


def test_a_planted_error_is_an_exit_code(binary):
    done = shell(binary, "--count", "150", "--plant", formulas.NAMES[0])
    assert done.returncode == 1 and "reported" in done.stdout, done.stdout
    assert shell(binary, "--plant", "nothing").returncode == 1
