"""A measured figure and the goal it is held to."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Figure:
    """One line of a bench: ``ok`` is None when there is no goal."""

    name: str
    value: float
    unit: str
    goal: str = ""
    ok: bool | None = None


def at_most(name: str, value: float, unit: str, most: float) -> Figure:
    """A figure that should not be above a value."""
    return Figure(name, value, unit, f"≤ {most:g} {unit}", value <= most)


def at_least(name: str, value: float, unit: str, least: float) -> Figure:
    """A figure that should not be below a value."""
    return Figure(name, value, unit, f"≥ {least:g} {unit}", value >= least)


def table(figures: Iterable[Figure]) -> str:
    """Figures as plain text, a line each: name, value with unit, goal, and a word where it was missed."""
    rows = [
        (
            each.name,
            f"{each.value:.4g} {each.unit}",
            each.goal and f"goal {each.goal}",
            "MISSED" if each.ok is False else "",
        )
        for each in figures
    ]
    widths = [max(len(row[column]) for row in rows) for column in range(4)] if rows else []
    return "\n".join(
        f"{name:<{widths[0]}}  {value:>{widths[1]}}  {goal:<{widths[2]}}  {word}".rstrip()
        for name, value, goal, word in rows
    )
