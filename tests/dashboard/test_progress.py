"""ProgressLine: how far, how long still, and a terminal left clean."""

import io

import pytest

from dashboard.progress import ProgressLine, in_words


class Terminal(io.StringIO):
    def isatty(self):
        return True


class Clock:
    now = 0.0

    def __call__(self):
        return self.now


def test_a_terminal_s_line_is_written_over_and_cleared_at_the_end():
    out, clock = Terminal(), Clock()
    with ProgressLine("Cutting", out, clock) as progress:
        progress(0.25, "clip 1")
        clock.now = 3
        progress(0.5, "clip 2")
    assert "\rCutting:  25 % (clip 1)\rCutting:  50 %, about 3 s left (clip 2)" in out.getvalue()
    assert out.getvalue().endswith("\r") and "\n" not in out.getvalue()


def test_elsewhere_a_line_comes_every_five_seconds():
    out, clock = io.StringIO(), Clock()
    with ProgressLine("Cutting", out, clock) as progress:
        for second in range(13):
            clock.now = second
            progress(second / 13)
    assert len(out.getvalue().splitlines()) == 2


def test_the_time_left_is_told_only_when_there_is_something_to_go_by():
    progress = ProgressLine("Cutting", io.StringIO(), Clock())
    assert "left" not in progress.line(0.5, "", 1.0)
    assert "left" not in progress.line(0.001, "", 10)
    assert "about 30 s left" in progress.line(0.25, "", 10)
    assert "left" not in progress.line(1.0, "", 10)


@pytest.mark.parametrize(
    ("seconds", "words"), [(0, "0 s"), (0.2, "1 s"), (89.5, "90 s"), (120, "2 min"), (3601, "1 h 01 min")]
)
def test_times_are_rounded_up(seconds, words):
    assert in_words(seconds) == words
