"""Make a film of an invented game, with its truth: ``python -m sample_data --seed 7 OUT.mp4``."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from sample_data.errors import SampleError


def main(argv: list[str] | None = None) -> int:
    """Run the command; returns the exit code: 0 done, 1 an option that makes no sense, 2 wrong usage."""
    words = argparse.ArgumentParser(
        prog="python -m sample_data",
        description="Make a film of an invented box-lacrosse game (H.264/AAC MP4), with everything that truly happens "
        "in it beside the film as OUT.truth.json.gz. The same seed gives the same truth and the same drawn pixels.",
    )
    words.add_argument("out", type=Path, metavar="OUT.mp4", help="where the film goes; the truth goes beside it")
    words.add_argument("--seed", type=int, default=7, help="which game (default 7)")
    words.add_argument(
        "--seconds", type=float, help="length, 20 to 2400 (default 150; with --take what the period takes)"
    )
    words.add_argument("--size", default="1280x720", metavar="WxH", help="picture size in pixels (default 1280x720)")
    words.add_argument("--fps", type=float, default=25, help="frames a second, 10 to 120 (default 25)")
    words.add_argument(
        "--pan", action="store_true", help="a camera that pans and zooms, instead of one that stands still"
    )
    words.add_argument("--opponent", default="Quarry Hill", help="name of the other team")
    words.add_argument("--period", type=int, default=1, choices=(1, 2, 3), help="which period begins (default 1)")
    words.add_argument(
        "--take", type=int, metavar="N", help="the last period, dead time and all, of the seed's whole game, instead "
        "of a short film; N is which of the courses that the period could have taken",
    )  # fmt: skip
    words.add_argument("--away", action="store_true", help="our light jerseys instead of the dark ones")
    words.add_argument("--crf", type=int, default=28, help="picture quality, lower is better and larger (default 28)")
    said = words.parse_args(argv)
    width, _, height = said.size.partition("x")
    if not (width.isdigit() and height.isdigit()):
        words.error(f"--size is {said.size}; give width and height in pixels, such as 1280x720")
    from sample_data.drawn.film import MOST_S, FilmOptions, make_film

    seconds = said.seconds if said.seconds is not None else 150 if said.take is None else MOST_S
    try:
        options = FilmOptions(
            seed=said.seed, seconds=seconds, width_px=int(width), height_px=int(height), fps=said.fps,
            pan=said.pan, opponent=said.opponent, period=said.period, home=not said.away, crf=said.crf, take=said.take,
        )  # fmt: skip
        film, truth = make_film(options, said.out, progress=_tell)
    except (SampleError, OSError) as fault:
        print(f"\r{fault}", file=sys.stderr)
        return 1
    print(f"\r{film} and {truth.name}: done{' ' * 30}", file=sys.stderr)
    return 0


def _tell(done: float, text: str) -> None:
    print(f"\r{done:4.0%} {text}   ", end="", file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())
