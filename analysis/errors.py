"""What can be wrong with what the analysis is asked."""

from __future__ import annotations


class AnalysisError(Exception):
    """A question that the analysis cannot take: says what is wrong, where, and what to do."""


class SliceError(AnalysisError, ValueError):
    """A slice that names something that does not exist."""


class NumbersError(AnalysisError, ValueError):
    """Counts that cannot be: more successes than trials, a negative count, a level outside 0 to 1."""


class QuestionError(AnalysisError, ValueError):
    """A question that names a measure or a part of the game that the analysis does not know."""
