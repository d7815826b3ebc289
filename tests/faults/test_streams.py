"""Words on their way to a terminal, a pipe or a device: nothing raw, and no exit code that says something else."""

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from flightsim import cli
from flightsim.cli.streams import Stream, showable
from flightsim.errors import NotToldError

GARAGE = Path(__file__).parents[2] / "scenarios" / "single_garage.yaml"
FLY = ("fly", "--ball-speed", "70m/s", "--elevation", "10deg", "--spin-rate", "2500rpm")


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("bell\x07 and escape\x1b[2J", r"bell\x07 and escape\x1b[2J"),
        ("wiped\rout", r"wiped\rout"),
        ("turned \u202e round\u2069", r"turned \u202e round\u2069"),
        ("hidden \x1b[8m word", r"hidden \x1b[8m word"),
        ("a link \x1b]8;;x\x1b\\", "a link \\x1b]8;;x\\x1b\\"),
        ("\x9b1A and \x85", r"\x9b1A and \x85"),
    ],
)
def test_what_would_move_the_cursor_hide_or_turn_text_is_shown_as_an_escape(text, shown):
    assert showable(text) == shown


@pytest.mark.parametrize(
    "text", ["Größe 車庫 é\n\ttab", "\x1b[1;32mbold\x1b[0m", "\r\x1b[2K\x1b[1A\x1b[2K", "\x1b[?25l", "line\r\n"]
)
def test_words_of_any_alphabet_colour_and_progress_lines_pass(text):
    assert showable(text) == text


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("מסך 12 shots", "\u2068מסך\u2069 12 shots"),
        ("left of חופה קדמית, 3 of 5", "left of \u2068חופה קדמית\u2069, 3 of 5"),
        ("الشبكة, الستارة: none", "\u2068الشبكة\u2069, \u2068الستارة\u2069: none"),
        ("חופה   1.2 m   מסך", "\u2068חופה\u2069   1.2 m   \u2068מסך\u2069"),
    ],
)
def test_a_name_from_right_to_left_keeps_its_place_among_numbers_and_commas(text, shown):
    assert showable(text) == shown


def test_a_stream_that_nobody_reads_any_more_swallows_the_rest():
    read, write = os.pipe()
    os.close(read)
    stream = Stream(open(write, "w", encoding="utf-8"))  # noqa: SIM115
    for _ in range(3):
        stream.write("a line\n")
        stream.flush()
    assert stream.deaf
    stream.inner.close()


def test_a_full_device_is_told_once():
    stream = Stream(open("/dev/full", "w", encoding="utf-8"))  # noqa: SIM115
    with pytest.raises(NotToldError, match="the answer could not be printed: No space left"):
        stream.write("a line\n" * 100_000)
    stream.write("more")
    stream.flush()
    stream.inner.close()


def test_a_probe_with_nothing_in_it_does_not_find_the_device_full():
    with open("/dev/full", "wb", buffering=0) as full:
        stream = Stream(full)  # type: ignore[arg-type]
        assert stream.write("") == 0
        assert not stream.deaf


def call(*args: str, **where: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "flightsim", *args]
    return subprocess.run(command, text=True, timeout=600, check=False, **where)  # type: ignore[call-overload,no-any-return]


def test_output_to_a_full_device_is_neither_a_fault_of_ours_nor_a_requirement_not_met():
    with open("/dev/full", "w", encoding="utf-8") as full:
        ended = call(*FLY, stdout=full, stderr=subprocess.PIPE)
    assert (ended.returncode, ended.stderr) == (74, "the answer could not be printed: No space left on device\n")


@pytest.mark.parametrize("command", ["plugins", "schema"])
def test_a_reader_that_goes_away_is_no_failure(command):
    with subprocess.Popen(
        [sys.executable, "-m", "flightsim", command], stdout=subprocess.PIPE, stderr=subprocess.PIPE
    ) as process:
        assert process.stdout is not None
        process.stdout.close()
        assert process.stderr is not None
        errors = process.stderr.read()
        assert (process.wait(timeout=600), errors) == (0, b"")


@pytest.mark.parametrize("stream", [1, 2])
def test_a_stream_that_was_closed_before_ends_nothing(stream):
    ended = subprocess.run(
        ["sh", "-c", f'"$@" {stream}>&-', "sh", sys.executable, "-m", "flightsim", "plugins"],
        capture_output=True, text=True, timeout=600, check=False,
    )  # fmt: skip
    assert (ended.returncode, ended.stderr) == (0, "")


def test_bad_input_stays_bad_input_when_nobody_can_be_told():
    with open("/dev/full", "w", encoding="utf-8") as full:
        assert call("check", "no_such.yaml", stdout=subprocess.PIPE, stderr=full).returncode == 2


def test_the_streams_are_as_they_were_afterwards(monkeypatch):
    out, err = io.StringIO(), io.StringIO()
    monkeypatch.setattr(sys, "stdout", out)
    monkeypatch.setattr(sys, "stderr", err)
    monkeypatch.setattr(sys, "argv", ["flightsim", "check", "no\x07such.yaml"])
    with pytest.raises(SystemExit) as ended:
        cli.main()
    assert (ended.value.code, sys.stdout, sys.stderr) == (2, out, err)
    assert "no\\x07such.yaml" in err.getvalue()


def test_an_option_of_silly_length_is_not_repeated_whole(monkeypatch, capsys):
    for args in (["run", str(GARAGE), "--shots", "1" * 90_000], ["check", str(GARAGE), "--set", "7" * 90_000 + "=1"]):
        monkeypatch.setattr(sys, "argv", ["flightsim", *args])
        with pytest.raises(SystemExit) as ended:
            cli.main()
        errors = capsys.readouterr().err
        assert ended.value.code == 2
        assert len(errors) < 2500
        assert "characters)" in errors
