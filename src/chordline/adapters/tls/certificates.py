"""A small authority of the club's own, and the certificate of this machine that it vouches for.

The authority may vouch for private addresses, names of this network, and addresses that this
machine itself had, so that a tablet that trusts it trusts it for nothing else.
"""

import hashlib
import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address, ip_network
from pathlib import Path
from typing import Any

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from chordline.errors import RecordsError

#: A tablet is asked to trust it once (assumption: longer than a tablet lives).
_AUTHORITY_LASTS = timedelta(days=3650)
#: Apple refuses more than 825 days (support.apple.com/103769); short, as a renewal costs nothing.
_LEAF_LASTS = timedelta(days=90)
_RENEW_BEFORE_END = timedelta(days=30)
#: Clocks of tablets are not always right (assumption).
_CLOCKS_DIFFER = timedelta(days=1)

#: RFC 1918, RFC 3927, RFC 4193, RFC 4291, and this machine itself.
_PRIVATE = (
    "10.0.0.0/8",
    "172.16.0.0/12",
    "192.168.0.0/16",
    "169.254.0.0/16",
    "127.0.0.0/8",
    "fc00::/7",
    "fe80::/10",
    "::1/128",
)
_NAMES = ("localhost", "local", "lan", "home.arpa", "internal")


@dataclass(frozen=True)
class Served:
    """What a server needs, and what people compare.

    Attributes
    ----------
    chain, key : Path
        Files with the certificate and its key.
    authority : bytes
        What a tablet installs (DER).
    authority_fingerprint, fingerprint : str
        SHA-256 of the club's authority and of this machine's certificate.
    until : datetime
    """

    chain: Path
    key: Path
    authority: bytes
    authority_fingerprint: str
    fingerprint: str
    until: datetime


@dataclass(frozen=True)
class ClubCertificates:
    """Makes, keeps and renews the certificates.

    Attributes
    ----------
    folder : Path
        Readable by nobody else.
    now : callable
        Gives the present moment, aware.
    """

    folder: Path
    now: Callable[[], datetime]

    def serve(self, hosts: Sequence[str]) -> Served:
        """Return a certificate for some names and addresses that lasts for weeks at least."""
        chain, key = self.folder / "machine.pem", self.folder / "machine-key.pem"
        names = _alternative_names(hosts)
        authority, authority_key = self._authority(names)
        leaf = _read_certificate(chain)
        if leaf is None or not key.exists() or not self._still_good(leaf, authority, names):
            leaf_key = ec.generate_private_key(ec.SECP256R1())
            leaf = self._vouch(authority, authority_key, leaf_key, names)
            self._write(key, _key_bytes(leaf_key))
            pem = serialization.Encoding.PEM
            self._write(chain, leaf.public_bytes(pem) + authority.public_bytes(pem))
        return Served(
            chain,
            key,
            authority=authority.public_bytes(serialization.Encoding.DER),
            authority_fingerprint=fingerprint_of(authority),
            fingerprint=fingerprint_of(leaf),
            until=leaf.not_valid_after_utc,
        )

    def _still_good(
        self, leaf: x509.Certificate, authority: x509.Certificate, names: list[x509.GeneralName]
    ) -> bool:
        found = leaf.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        try:
            leaf.verify_directly_issued_by(authority)
        except Exception:
            return False
        return set(found) == set(names) and self.now() < leaf.not_valid_after_utc - (
            _RENEW_BEFORE_END
        )

    def _authority(
        self, names: list[x509.GeneralName]
    ) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
        own = [one.value for one in names if isinstance(one, x509.IPAddress)]
        networks = [ip_network(one) for one in _PRIVATE]
        beyond = [ip_network(one) for one in own if not _lies_in(one, networks)]
        file, key_file = self.folder / "club.pem", self.folder / "club-key.pem"
        found = _read_certificate(file)
        if found is not None and self._vouches(found, own):
            key = serialization.load_pem_private_key(key_file.read_bytes(), None)
            if isinstance(key, ec.EllipticCurvePrivateKey):
                return found, key
        key = ec.generate_private_key(ec.SECP256R1())
        made = _authority_for(key, [*networks, *beyond], self.now())
        self._write(key_file, _key_bytes(key))
        self._write(file, made.public_bytes(serialization.Encoding.PEM))
        return made, key

    def _vouches(self, authority: x509.Certificate, addresses: list[Any]) -> bool:
        """Return whether an authority lasts long enough and may vouch for some addresses."""
        limits = authority.extensions.get_extension_for_class(x509.NameConstraints).value
        subtrees = limits.permitted_subtrees or []
        networks = [one.value for one in subtrees if isinstance(one, x509.IPAddress)]
        lasts = self.now() < authority.not_valid_after_utc - _LEAF_LASTS
        return lasts and all(_lies_in(one, networks) for one in addresses)

    def _vouch(
        self,
        authority: x509.Certificate,
        authority_key: ec.EllipticCurvePrivateKey,
        leaf_key: ec.EllipticCurvePrivateKey,
        names: list[x509.GeneralName],
    ) -> x509.Certificate:
        now = self.now()
        return (
            x509.CertificateBuilder()
            .subject_name(_name("chordline on this club's machine"))
            .issuer_name(authority.subject)
            .public_key(leaf_key.public_key())
            .serial_number(x509.random_serial_number())
            .not_valid_before(now - _CLOCKS_DIFFER)
            .not_valid_after(now + _LEAF_LASTS)
            .add_extension(x509.SubjectAlternativeName(names), critical=False)
            .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
            .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
            .add_extension(_key_usage(signs_certificates=False), critical=True)
            .add_extension(
                x509.SubjectKeyIdentifier.from_public_key(leaf_key.public_key()), critical=False
            )
            .add_extension(
                x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key()),
                critical=False,
            )
            .sign(authority_key, hashes.SHA256())
        )

    def _write(self, file: Path, content: bytes) -> None:
        try:
            self.folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            fresh = file.with_suffix(".new")
            fresh.unlink(missing_ok=True)
            # Readable by nobody else from its first byte on.
            place = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(place, "wb") as opened:
                opened.write(content)
            fresh.replace(file)
        except OSError as error:
            raise RecordsError(
                f"the certificate cannot be kept in {self.folder} ({error.strerror})"
            ) from None


def fingerprint_of(certificate: x509.Certificate) -> str:
    """Return the SHA-256 of a certificate as people compare it: AA:BB:…"""
    der = certificate.public_bytes(serialization.Encoding.DER)
    return hashlib.sha256(der).digest().hex(":").upper()


def is_private(address: str) -> bool:
    """Return whether an address cannot be reached from the whole world."""
    return _lies_in(ip_address(address), [ip_network(one) for one in _PRIVATE])


def _lies_in(address: Any, networks: list[Any]) -> bool:
    return any(address in one for one in networks)


def _authority_for(
    key: ec.EllipticCurvePrivateKey, within: list[Any], now: datetime
) -> x509.Certificate:
    networks = [x509.IPAddress(one) for one in within]
    names = [x509.DNSName(one) for one in _NAMES]
    return (
        x509.CertificateBuilder()
        .subject_name(_name("chordline, our club's devices"))
        .issuer_name(_name("chordline, our club's devices"))
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - _CLOCKS_DIFFER)
        .not_valid_after(now + _AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(
            x509.NameConstraints(permitted_subtrees=[*networks, *names], excluded_subtrees=None),
            critical=True,
        )
        .add_extension(_key_usage(signs_certificates=True), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )


def _alternative_names(hosts: Sequence[str]) -> list[x509.GeneralName]:
    names: list[x509.GeneralName] = []
    for host in dict.fromkeys(("127.0.0.1", "::1", "localhost", *hosts)):
        try:
            names.append(x509.IPAddress(ip_address(host)))
        except ValueError:
            # Of names only those are ours to vouch for.
            if host == "localhost" or host.endswith(tuple(f".{one}" for one in _NAMES)):
                names.append(x509.DNSName(host))
    return names


def _name(words: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, words)])


def _key_usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates,
        key_cert_sign=signs_certificates,
        crl_sign=signs_certificates,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        encipher_only=False,
        decipher_only=False,
    )


def _key_bytes(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )


def _read_certificate(file: Path) -> x509.Certificate | None:
    try:
        return x509.load_pem_x509_certificate(file.read_bytes())
    except (OSError, ValueError):
        return None
