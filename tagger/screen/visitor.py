"""Who asks: the laptop itself, or somebody on the network with one of the phrases, and what he may do.

What stands before the pages (`dashboard`) says so for each request; without it only the laptop can ask.
"""

from __future__ import annotations

from dataclasses import dataclass

from flask import g, has_app_context

from tagger.care import DEVICE, SCREEN

ALL, TAG, LOOK, SEND = "all", "tag", "look", "send"


@dataclass(frozen=True)
class Visitor:
    """Who a request comes from.

    Attributes
    ----------
    may : str
        ALL (the laptop that serves), TAG (look, and tag under his own name), LOOK (change nothing), SEND (send film and
        see nothing else); empty for who has not come in and stands before the door.
    name : str
        The name that a tagger came in with; empty on the laptop, where anybody may say who he is.
    """

    may: str
    name: str = ""

    @property
    def at_laptop(self) -> bool:
        """Whether it is the laptop itself, whose user may do and see everything."""
        return self.may == ALL


LAPTOP = Visitor(ALL)


def welcome(visitor: Visitor) -> None:
    """Say who the present request comes from.

    Parameters
    ----------
    visitor : Visitor
        Who.
    """
    g.floorbook_visitor = visitor


def visitor() -> Visitor:
    """Who the present request comes from.

    Returns
    -------
    Visitor
        The laptop where nobody said otherwise, and where there is no request at all.
    """
    if not has_app_context():
        return LAPTOP
    found: Visitor = g.get("floorbook_visitor", LAPTOP)
    return found


def goes_to() -> str:
    """Where the answer to the present request is seen; what goes there is for `tagger.care` to say.

    Returns
    -------
    str
        SCREEN for the laptop itself, and where nothing is asked over a network; DEVICE for everybody else.
    """
    return SCREEN if visitor().at_laptop else DEVICE
