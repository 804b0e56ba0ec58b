"""What the terminal says of the way on which other devices come in."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dashboard.serving.certificate import Certificate

PLAIN = (
    "Plain http: whoever listens on this network can read pages, phrases and film, and change them on the way; "
    "--https prevents it."
)
SECRET = (
    "https, with this computer's own certificate. Browsers warn of it once: go on only where they show this "
    "fingerprint (SHA-256):"
)


def way_in_words(certificate: Certificate | None, *, beyond: bool) -> list[str]:
    """What to say.

    Parameters
    ----------
    certificate : Certificate or None
        What is served with; None for plain http.
    beyond : bool
        Whether other devices can reach it.

    Returns
    -------
    list of str
        Lines; none for plain http on this machine alone.
    """
    if certificate is not None:
        return [SECRET, *(f"  {line}" for line in certificate.in_pairs)]
    return [PLAIN] if beyond else []
