"""The vocabulary file as it lies in the package, and what is raised of one that would mislead."""

from __future__ import annotations

import json
from importlib import resources
from typing import Any


class VocabularyError(ValueError):
    """A vocabulary that would leave a key, a question or a word without meaning; says which and what to change."""


def plain_vocabulary() -> dict[str, Any]:
    """The vocabulary file as it lies in the package.

    Returns
    -------
    dict
        Fresh each time.
    """
    text = resources.files("tagger.marks").joinpath("vocabulary.json").read_text(encoding="utf-8")
    data: dict[str, Any] = json.loads(text)
    return data
