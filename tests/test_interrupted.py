"""Interrupt, closed pipe, full disk, read-only folder: the old file stays whole, the way out is the promised one, and
what happened is told in plain words. Processes of their own, on the shipped demo."""

from __future__ import annotations

import contextlib
import ctypes
import errno
import io
import os
import resource
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from calling import call
from gatepost.cli import main
from gatepost.rewriting import place
from gatepost.writing import save as saving

DEMO = str(Path(__file__).resolve().parents[1] / "data" / "demo" / "sound" / "project.yaml")
OLD = "the old file"
WRITERS = {
    "spec.html": ["spec", DEMO, "-o"],
    "spec.xlsx": ["spec", DEMO, "-o"],
    "teach.md": ["teach", DEMO, "--part", "gate board", "--against", "black locust heartwood", "-o"],
    "year.svg": ["site", "Madison, WI", "-o"],
}


def a_short_list(folder):
    """What is written does not matter where writing itself is tried."""
    (folder / "parts.csv").write_text("part,material,exposure\npost,oak,weather\n")
    return folder / "parts.csv"


def left_over(folder, *kept):
    return sorted(one.name for one in folder.iterdir() if one.name not in kept)


@pytest.mark.parametrize("wait", [0.3, 0.8, 1.5])
def test_an_interrupt_leaves_the_old_file_or_the_new_one_whole(tmp_path, wait):
    path = tmp_path / "sheet.html"
    path.write_text(OLD)
    running = subprocess.Popen(
        [sys.executable, "-m", "gatepost", "spec", DEMO, "-o", str(path)], stderr=subprocess.PIPE, text=True
    )
    time.sleep(wait)
    running.send_signal(signal.SIGINT)
    _, err = running.communicate(timeout=60)
    text = path.read_text(encoding="utf-8")
    assert "Traceback" not in err
    assert text == OLD or text.rstrip().endswith("</html>")
    if text == OLD:
        assert running.returncode in (2, -signal.SIGINT)
    if running.returncode == 2:
        assert err.strip() == "gatepost: interrupted; nothing was written"
    assert left_over(tmp_path, "sheet.html") == []


@contextlib.contextmanager
def interrupted_at(monkeypatch, module, name, after):
    """A function that is interrupted at its call number `after`."""
    real, count = getattr(module, name), [0]

    def once(*arguments, **options):
        count[0] += 1
        if count[0] == after:
            raise KeyboardInterrupt
        return real(*arguments, **options)

    with monkeypatch.context() as patch:
        patch.setattr(module, name, once)
        yield


@pytest.mark.parametrize("name", ["chmod", "replace", "fdopen"])
def test_an_interrupt_at_each_step_of_writing_leaves_the_old_file(tmp_path, monkeypatch, name):
    path = tmp_path / "sheet.md"
    path.write_text(OLD)
    with interrupted_at(monkeypatch, saving.os, name, 1):
        status, out, err = call("spec", a_short_list(tmp_path), "-o", path)
    assert (status, out, err.strip()) == (2, "", "gatepost: interrupted; nothing was written")
    assert path.read_text() == OLD
    assert left_over(tmp_path, "sheet.md", "parts.csv") == []


@pytest.mark.parametrize("after", [1, 2, 3])
@pytest.mark.parametrize("arguments", [["new", "{}"], ["choose", DEMO, "--apply", "{}"]], ids=["new", "apply"])
def test_a_folder_that_is_not_whole_is_taken_away_again(tmp_path, monkeypatch, arguments, after):
    folder = tmp_path / "made"
    with interrupted_at(monkeypatch, place.os, "rename", after):
        status, _, err = call(*(one.format(folder) for one in arguments))
    assert (status, err.strip()) == (2, "gatepost: interrupted; nothing was written")
    assert left_over(tmp_path) == []


def small_disk():
    """A stand-in for a full disk: no file of this process may grow beyond 500 bytes."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (500, 500))


def run(arguments, before=None, stdout=subprocess.PIPE, **environment):
    return subprocess.run(
        [sys.executable, "-m", "gatepost", *map(str, arguments)],
        stdout=stdout, stderr=subprocess.PIPE, text=True, check=False, timeout=60, preexec_fn=before, env={**os.environ, **environment},
    )  # fmt: skip


@pytest.mark.parametrize("name", WRITERS)
def test_a_full_disk_leaves_the_old_file(tmp_path, name):
    path = tmp_path / name
    path.write_text(OLD)
    done = run([*WRITERS[name], path], small_disk)
    assert (done.returncode, done.stdout) == (2, "")
    assert "cannot be written: File too large" in done.stderr
    assert "unforeseen" not in done.stderr
    assert path.read_text() == OLD
    assert left_over(tmp_path, name) == []


@pytest.mark.parametrize(
    "arguments", [["new", "{}", "--demo", "sound"], ["choose", DEMO, "--apply", "{}"]], ids=["new", "apply"]
)
def test_a_full_disk_leaves_no_half_of_a_folder(tmp_path, arguments):
    done = run([one.format(tmp_path / "made") for one in arguments], small_disk)
    assert done.returncode == 2
    assert "made: cannot be written: File too large" in done.stderr
    assert left_over(tmp_path) == []


@pytest.mark.parametrize("unbuffered", ["", "1"])
@pytest.mark.parametrize("arguments", [["rules"], ["lookup", "species", "--format", "json"]], ids=str)
def test_output_that_a_full_disk_cuts_is_no_success(tmp_path, arguments, unbuffered):
    """Without a buffer Python takes a write that was cut short for a whole one."""
    with (tmp_path / "out.txt").open("w") as file:
        done = run(arguments, small_disk, file, PYTHONUNBUFFERED=unbuffered)
    assert done.returncode == 2
    assert done.stderr == "gatepost: the output cannot be written: File too large\n"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="the system has no device that is always full")
@pytest.mark.parametrize(
    "arguments",
    [["--help"], ["--version"], ["site", "Madison, WI", "--format", "csv"]],
    ids=str,
)
def test_a_full_device_is_told_in_plain_words(arguments):
    with Path("/dev/full").open("w") as file:
        done = run(arguments, None, file)
    assert done.returncode == 2
    assert done.stderr == "gatepost: the output cannot be written: No space left on device\n"


@pytest.mark.parametrize(
    "arguments",
    [["review", DEMO, "--format", "json"], ["rules"], ["lookup", "species", "--format", "csv"], ["--help"]],
    ids=str,
)
def test_a_reader_that_goes_away_is_no_error(arguments):
    running = subprocess.Popen(
        [sys.executable, "-m", "gatepost", *arguments], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    )
    assert running.stdout.read(1)
    running.stdout.close()
    err = running.stderr.read()
    running.stderr.close()
    assert (running.wait(timeout=60), err) == (0, b"")


def test_no_output_at_all_is_told_and_never_a_traceback():
    done = subprocess.run(
        f"{sys.executable} -m gatepost review {DEMO} >&-", shell=True, capture_output=True, text=True, check=False
    )
    assert "Traceback" not in done.stderr
    assert "unforeseen" not in done.stderr
    assert done.returncode in (0, 2)


@pytest.mark.parametrize("number", [errno.EACCES, errno.EROFS, errno.ENOSPC, errno.EDQUOT, errno.EIO, errno.EMFILE])
@pytest.mark.parametrize("step", ["mkstemp", "replace"])
def test_what_the_system_refuses_is_told_and_the_old_file_stays(tmp_path, monkeypatch, number, step):
    path = tmp_path / "sheet.md"
    path.write_text(OLD)

    def refuse(*_, **__):
        raise OSError(number, os.strerror(number))

    project = a_short_list(tmp_path)
    monkeypatch.setattr(saving.tempfile if step == "mkstemp" else saving.os, step, refuse)
    status, out, err = call("spec", project, "-o", path)
    monkeypatch.undo()
    assert (status, out, err) == (2, "", f"{path}: cannot be written: {os.strerror(number)}\n")
    assert path.read_text() == OLD
    assert left_over(tmp_path, "sheet.md", "parts.csv") == []


def as_any_user():
    """An administrator gives up, for a process to come, the right to write where no bit allows it."""
    drop, write_anywhere = 24, 1  # PR_CAPBSET_DROP and CAP_DAC_OVERRIDE of the Linux headers
    if os.geteuid() == 0 and ctypes.CDLL(None, use_errno=True).prctl(drop, write_anywhere, 0, 0, 0):
        raise OSError(ctypes.get_errno(), "the right to write anywhere cannot be given up")


@pytest.mark.skipif(not sys.platform.startswith("linux"), reason="rights are given up as Linux does it")
def test_a_folder_that_may_not_be_written_to(tmp_path):
    folder = tmp_path / "shut"
    folder.mkdir()
    (folder / "sheet.md").write_text(OLD)
    folder.chmod(0o500)
    try:
        for arguments in (
            ["spec", DEMO, "-o", folder / "sheet.md"],
            ["new", folder / "made"],
            ["choose", DEMO, "--apply", folder / "made"],
        ):
            done = run(arguments, as_any_user)
            assert done.returncode == 2
            assert "cannot be written: Permission denied" in done.stderr
        assert (folder / "sheet.md").read_text() == OLD
    finally:
        folder.chmod(0o700)


def test_memory_that_is_too_small_is_told(monkeypatch):
    from gatepost import reading

    def refuse(*_, **__):
        raise MemoryError

    monkeypatch.setattr(reading, "read", refuse)
    err = io.StringIO()
    with contextlib.redirect_stderr(err), pytest.raises(SystemExit) as left:
        main(["review", DEMO])
    assert left.value.code == 2
    assert "memory of this machine is too small" in err.getvalue()
