"""Where a cluster is met and who gets in: in plain on this machine alone, over any network with certificates only.

The engine sends Python objects, so whoever gets in can run what they like on every machine of the cluster. What stands
between is TLS in both directions: each side shows a certificate signed by the firm's own authority.
"""

from __future__ import annotations

import ssl
from dataclasses import dataclass
from ipaddress import ip_address
from pathlib import Path
from urllib.parse import urlsplit

from notes.errors import UsageError

PORT = 8786
EXAMPLE = "tls://HOST:8786"


@dataclass(frozen=True, slots=True)
class Tls:
    """Files in PEM: the authority that signed everyone's certificates, one's own, and its key."""

    ca: Path
    cert: Path
    key: Path


@dataclass(frozen=True, slots=True)
class Address:
    """Where the scheduler is. `tls` is None for a plain address, which is on this machine."""

    host: str
    port: int
    tls: Tls | None = None

    @property
    def scheme(self) -> str:
        return "tls" if self.tls else "tcp"

    def __str__(self) -> str:
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{self.scheme}://{host}:{self.port}"


def settled(text: str, ca: Path | None = None, cert: Path | None = None, key: Path | None = None) -> Address:
    """The address that `text` and the certificates' files give. Raises UsageError for one that lets anybody in."""
    scheme, host, port = _parts(text)
    tls = _tls(ca, cert, key)
    if scheme == "tls" and not tls:
        raise UsageError(f"{text} needs certificates", todo="give --tls-ca, --tls-cert and --tls-key")
    if scheme == "tcp" and tls:
        raise UsageError(f"{text} would go without the certificates given", todo=f"write {EXAMPLE}")
    if not tls and not is_here(host):
        what = f"{text} is open to the network, and whoever reaches a cluster can run programs on it"
        raise UsageError(what, todo=f"write {EXAMPLE} and give --tls-ca, --tls-cert and --tls-key")
    return Address(host, port, tls)


def is_here(host: str) -> bool:
    """Whether the host is this machine's own loopback, told without asking any server of names."""
    if host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False


def _parts(text: str) -> tuple[str, str, int]:
    """Scheme ('' where none is written), host, port."""
    full = text if "://" in text else f"//{text}"
    try:
        found = urlsplit(full)
        host, port = found.hostname, found.port
    except ValueError:
        host, port = None, None
    plain = host and not found.username and not found.path.strip("/") and not found.query
    if not host or not plain or found.scheme not in ("", "tcp", "tls"):
        raise UsageError(f"{text!r} is no address of a cluster", todo=f"write tcp://127.0.0.1:{PORT} or {EXAMPLE}")
    return found.scheme, host, PORT if port is None else port


def _tls(ca: Path | None, cert: Path | None, key: Path | None) -> Tls | None:
    told = {"--tls-ca": ca, "--tls-cert": cert, "--tls-key": key}
    missing = [name for name, file in told.items() if file is None]
    if len(missing) == len(told):
        return None
    if not (ca and cert and key):
        raise UsageError(f"certificates need {' and '.join(missing)} too", todo="give all three")
    _check(ca, cert, key)
    return Tls(ca.absolute(), cert.absolute(), key.absolute())


def _check(ca: Path, cert: Path, key: Path) -> None:
    """Raise UsageError for files that the engine could not use: it would tell so in many lines, or ask at length."""
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    file, what = ca, "no certificate of an authority can be read from it"
    try:
        context.load_verify_locations(ca)
        file, what = cert, f"this certificate can't be used with the key in {key}"
        context.load_cert_chain(cert, key, password=lambda: "")  # a key under a password would be asked for
    except OSError as wrong:
        reason = wrong.strerror if not isinstance(wrong, ssl.SSLError) and wrong.strerror else wrong.__class__.__name__
        raise UsageError(
            f"{what} ({reason})", file=file, todo="give files in PEM, the key without a password"
        ) from wrong
