"""How runs and possessions end: which mark ends them how, and in which words. The page's twin is in `groups.js`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tagger.marks.context import holds
from tagger.marks.traits import Traits


def ending_of(traits: Traits, answers: Mapping[str, Any], context: Mapping[str, str]) -> str | None:
    """How a possession ends with a mark.

    Parameters
    ----------
    traits : Traits
        Its kind's.
    answers : mapping
        The mark's.
    context : mapping
        Before the mark.

    Returns
    -------
    str or None
        Code of the ending, by the first that holds; None where it goes on, or nobody knows.
    """
    for one in traits.ends_possession:
        if holds(one.get("when", {}), answers, context):
            return one["ended"] or None
    return None
