"""What the doors say."""

from __future__ import annotations

from tagger.screen.visitor import LOOK, SEND, TAG

KEY_NAMES = {SEND: "To send film", LOOK: "To look", TAG: "To tag"}
CAME_IN = {SEND: "to send film", LOOK: "to look", TAG: "to tag"}
OPENS = {
    SEND: "Sends film to this computer, and sees nothing of the season: no game, no name, no other film.",
    LOOK: "Sees the pages and plays the film behind every number, and changes nothing.",
    TAG: "Looks, and tags under the name that he says at the door; takes back only what stands under it.",
}
_TAKES = {
    SEND: "film is sent by those who came in to send it",
    LOOK: "the season is seen by those who came in to look or to tag",
    TAG: "marks are made by those who came in to tag",
}
_LAPTOPS = "this is done at the computer where floorbook runs, and nowhere else"


def why_not(key: str, right: str) -> str:
    """Why somebody may not do a thing.

    Parameters
    ----------
    key : str
        The phrase that he came in by.
    right : str
        What it takes.

    Returns
    -------
    str
        One line.
    """
    return f"{_TAKES.get(right, _LAPTOPS)}; you came in {CAME_IN[key]}"


def way_of(key: str) -> tuple[str, str]:
    """Where somebody belongs.

    Parameters
    ----------
    key : str
        The phrase that he came in by.

    Returns
    -------
    tuple of str and str
        An address, and what it is called.
    """
    return ("/films", "Send a film") if key == SEND else ("/", "To the season")
