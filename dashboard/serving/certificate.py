"""A certificate of this computer's own, made when https is first asked for.

It belongs to the person at this computer, not to a season: a season's folder is carried around and backed up, a private
key must not be. Nobody signed it, so a browser warns; whoever compares the fingerprint that the terminal shows with the
one that his browser shows knows that nobody stands between. That holds as long as the certificate is the same, so it is
kept until it ends or lacks a name, and a new one keeps the names of places where this computer was before.
"""

from __future__ import annotations

import ipaddress
import os
import re
import sys
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from tagger.written import write_whole

if TYPE_CHECKING:
    import ssl

    from cryptography import x509

FILE = "https.pem"
LASTS = timedelta(days=397)  # the most that browsers take
_SLOW_CLOCKS = timedelta(days=1)
_RENEW_BEFORE = timedelta(days=7)
_MOST_NAMES = 24
_ALWAYS = ("127.0.0.1", "::1", "localhost")
_HOST_NAME = re.compile(r"[a-z0-9]([a-z0-9.-]{0,251}[a-z0-9])?\Z")


@dataclass(frozen=True)
class Certificate:
    """Where it lies, key and certificate in one file, and what it is known by."""

    path: Path
    fingerprint: str

    @property
    def context(self) -> ssl.SSLContext:
        """What serves with it."""
        import ssl

        made = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        made.minimum_version = ssl.TLSVersion.TLSv1_2
        made.load_cert_chain(self.path)
        return made

    @property
    def in_pairs(self) -> tuple[str, str]:
        """The fingerprint (SHA-256) as people compare it: pairs of digits, in two lines."""
        pairs = [self.fingerprint[place : place + 2] for place in range(0, len(self.fingerprint), 2)]
        half = len(pairs) // 2
        return " ".join(pairs[:half]), " ".join(pairs[half:])


def own_folder(platform: str, environ: Mapping[str, str], home: Path) -> Path:
    """Where this system keeps what belongs to one person and one computer.

    Parameters
    ----------
    platform : str
        As `sys.platform`.
    environ : mapping of str to str
        The environment's variables.
    home : Path
        The person's folder.

    Returns
    -------
    Path
        A folder of floorbook's own; it need not be there.
    """
    if platform == "win32":
        return Path(environ.get("LOCALAPPDATA") or home / "AppData" / "Local") / "floorbook"
    if platform == "darwin":
        return home / "Library" / "Application Support" / "floorbook"
    told = environ.get("XDG_DATA_HOME", "")
    return (Path(told) if told.startswith("/") else home / ".local" / "share") / "floorbook"


def own_certificate(names: Iterable[str], folder: Path | None = None, now: datetime | None = None) -> Certificate:
    """This computer's certificate for some names; made where there is none, or none that still serves.

    Parameters
    ----------
    names : iterable of str
        Addresses and names that it is asked for by, beside the loopback ones.
    folder : Path, optional
        Where it is kept; `own_folder` when left out.
    now : datetime, optional
        The time.

    Returns
    -------
    Certificate
        Kept for its owner only.
    """
    folder = own_folder(sys.platform, os.environ, Path.home()) if folder is None else folder
    now = now or datetime.now(UTC)
    path = folder / FILE
    wanted = list(dict.fromkeys([*_ALWAYS, *(plain for name in names if (plain := _plain(name)))]))[:_MOST_NAMES]
    held = _held(path)
    known = _names_of(held) if held is not None else []
    serves = held is not None and held.not_valid_before_utc <= now < held.not_valid_after_utc - _RENEW_BEFORE
    if held is None or not serves or not set(wanted) <= set(known):
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        made, text = _made(list(dict.fromkeys([*wanted, *known]))[:_MOST_NAMES], now)
        write_whole(path, text)
        held = made
    return Certificate(path, _fingerprint(held))


def _held(path: Path) -> x509.Certificate | None:
    """The certificate that is kept; None where there is none, or none to which its key fits."""
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    try:
        data = path.read_bytes()
        found = x509.load_pem_x509_certificate(data)
        fits = load_pem_private_key(data, None).public_key() == found.public_key()
    except (OSError, ValueError, TypeError):
        return None
    return found if fits else None


def _made(names: list[str], now: datetime) -> tuple[x509.Certificate, str]:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "floorbook on this computer")])
    begins = now - _SLOW_CLOCKS
    made = (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(subject)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(begins)
        .not_valid_after(begins + LASTS)
        .add_extension(x509.SubjectAlternativeName([_general(name) for name in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .sign(key, hashes.SHA256())
    )
    secret = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    return made, (secret + made.public_bytes(serialization.Encoding.PEM)).decode("ascii")


def _general(name: str) -> x509.GeneralName:
    from cryptography import x509

    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _names_of(held: x509.Certificate) -> list[str]:
    from cryptography import x509

    try:
        found = held.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except x509.ExtensionNotFound:
        return []
    return [str(one.value) for one in found]


def _plain(name: str) -> str:
    """A name or an address as a certificate has it; empty for what none can have."""
    name = name.strip("[]").partition("%")[0].lower()
    try:
        return str(ipaddress.ip_address(name))
    except ValueError:
        return name if _HOST_NAME.match(name) else ""


def _fingerprint(held: x509.Certificate) -> str:
    from cryptography.hazmat.primitives import hashes

    return held.fingerprint(hashes.SHA256()).hex().upper()
