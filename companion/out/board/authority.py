"""The studio's own certificate authority, and the certificate that this machine shows to tablets.

Tablets trust the authority once; the machine's certificate is made anew at every start, for the
addresses it then has. The authority can speak for private addresses and this machine's names
alone (RFC 5280, 4.2.1.10), so that a stolen key opens nothing else.
"""

import secrets
import ssl
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from ipaddress import IPv4Address, IPv4Network
from pathlib import Path
from typing import Final, NamedTuple

from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import (
    Encoding,
    NoEncryption,
    PrivateFormat,
    load_pem_private_key,
)
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from companion.base import files
from companion.base.errors import CompanionError

PRIVATE: Final = tuple(
    map(
        IPv4Network,
        ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8"),
    )
)
"""Networks of homes and studios (RFC 1918, RFC 3927), and the machine itself."""
LOCAL: Final = "local"
"""The domain of names on a home or studio network (RFC 6762)."""
AUTHORITY_DAYS: Final = 3650
MACHINE_DAYS: Final = 396
"""Some systems take no certificate that is valid for longer."""
RENEW_SECONDS: Final = 30 * 24 * 3600.0
"""How often a machine that is never switched off makes its certificate anew."""
_SKEW: Final = timedelta(days=1)
"""A tablet's clock may be behind."""


class Authority(NamedTuple):
    """The authority, as it is kept."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    @property
    def der(self) -> bytes:
        """The certificate as tablets take it in (X.690, DER)."""
        return self.certificate.public_bytes(Encoding.DER)

    @property
    def fingerprint(self) -> str:
        """The certificate's SHA-256, in groups of four digits, to be compared by eye."""
        digits = self.certificate.fingerprint(SHA256()).hex().upper()
        return " ".join(digits[at : at + 4] for at in range(0, len(digits), 4))


def kept_authority(folder: Path, host: str) -> Authority:
    """Return this machine's authority, made in a folder the first time, or CompanionError."""
    certificate, key = folder / "authority.pem", folder / "authority-key.pem"
    try:
        if not certificate.exists():
            made = _made(host)
            files.replace(key, _private(made.key), mode=0o600)
            files.replace(certificate, made.certificate.public_bytes(Encoding.PEM), mode=0o644)
        return _read(certificate.read_bytes(), key.read_bytes())
    except OSError as error:
        raise CompanionError(
            f"{error.filename or folder} cannot be used: {error.strerror}. Mend that, or leave "
            "--network out."
        ) from None
    except (ValueError, TypeError):
        raise CompanionError(
            f"The studio's certificate authority in {folder} is damaged or over. Delete that "
            "folder; every tablet then has to trust the new one."
        ) from None


class Machine:
    """This machine's side of TLS, with a certificate that can be made anew while it serves.

    `names` are addresses and host names; the key is in the folder for as long as it takes to load.
    """

    def __init__(self, authority: Authority, names: Sequence[str], folder: Path) -> None:
        self._authority = authority
        self._names = names
        self._folder = folder
        self.context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        self.context.minimum_version = ssl.TLSVersion.TLSv1_2
        self.renew()

    def renew(self) -> None:
        """Make the certificate anew; lines that are open keep the one they began with."""
        path = self._folder / f"machine-{secrets.token_hex(4)}.pem"
        try:
            files.replace(path, machine_pem(self._authority, self._names), mode=0o600)
            self.context.load_cert_chain(path)
        finally:
            path.unlink(missing_ok=True)


def _read(certificate: bytes, key: bytes) -> Authority:
    read = x509.load_pem_x509_certificate(certificate)
    private = load_pem_private_key(key, None)
    is_over = read.not_valid_after_utc <= datetime.now(UTC) + timedelta(days=MACHINE_DAYS)
    if (
        is_over
        or not isinstance(private, ec.EllipticCurvePrivateKey)
        or private.public_key() != read.public_key()
    ):
        raise ValueError
    return Authority(read, private)


def _made(host: str) -> Authority:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"Weaving studio at {host}"[:64])])
    usage = x509.KeyUsage(
        digital_signature=False,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=True,
        crl_sign=True,
        encipher_only=False,
        decipher_only=False,
    )
    permitted = [*map(x509.IPAddress, PRIVATE), *map(x509.DNSName, dict.fromkeys((LOCAL, host)))]
    certificate = (
        _begun(name, name, key, AUTHORITY_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, SHA256())
    )
    return Authority(certificate, key)


def machine_pem(authority: Authority, names: Sequence[str]) -> bytes:
    """Return a new certificate for this machine's addresses and names with its key, as PEM."""
    key = ec.generate_private_key(ec.SECP256R1())
    issuer = authority.certificate
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Loom board")])
    public = authority.key.public_key()
    certificate = (
        _begun(subject, issuer.subject, key, MACHINE_DAYS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(list(map(_name, names))), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(public), critical=False)
        .sign(authority.key, SHA256())
    )
    return certificate.public_bytes(Encoding.PEM) + _private(key)


def _begun(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, days: int
) -> x509.CertificateBuilder:
    begin = datetime.now(UTC) - _SKEW
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(begin)
        .not_valid_after(begin + timedelta(days=days))
    )


def _name(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(IPv4Address(name))
    except ValueError:
        return x509.DNSName(name)


def _private(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
