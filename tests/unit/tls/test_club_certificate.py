"""The club's own certificate: what it vouches for, who may read it, when it is renewed."""

import ssl
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.x509.verification import PolicyBuilder, Store, VerificationError

from chordline.adapters.tls.certificates import ClubCertificates, Served
from chordline.adapters.tls.context import server_context

NOW = datetime(2026, 3, 1, tzinfo=UTC)
HOSTS = ("192.168.1.7", "gym.local")


def _on(folder: Path, day: datetime = NOW, hosts: tuple[str, ...] = HOSTS) -> Served:
    return ClubCertificates(folder / "tls", lambda: day).serve(hosts)


def _chain(served: Served) -> list[x509.Certificate]:
    return x509.load_pem_x509_certificates(served.chain.read_bytes())


def test_it_is_good_for_its_addresses_and_names_and_no_other(tmp_path: Path) -> None:
    leaf, authority = _chain(_on(tmp_path))
    build = PolicyBuilder().store(Store([authority])).time(NOW)
    for subject in (x509.IPAddress(ip_address("192.168.1.7")), x509.DNSName("gym.local")):
        assert build.build_server_verifier(subject).verify(leaf, []) == [leaf, authority]
    with pytest.raises(VerificationError):
        build.build_server_verifier(x509.DNSName("example.org")).verify(leaf, [])


def test_the_authority_vouches_for_nothing_of_the_internet(tmp_path: Path) -> None:
    authority = _chain(_on(tmp_path))[1]
    limits = authority.extensions.get_extension_for_class(x509.NameConstraints)
    assert limits.critical
    names = [one.value for one in limits.value.permitted_subtrees or []]
    assert "local" in names
    assert not any(str(one) in ("", "0.0.0.0/0", "::/0", "org") for one in names)
    basic = authority.extensions.get_extension_for_class(x509.BasicConstraints).value
    assert (basic.ca, basic.path_length) == (True, 0)


def test_nobody_else_may_read_the_keys(tmp_path: Path) -> None:
    _on(tmp_path)
    files = list((tmp_path / "tls").iterdir())
    assert len(files) == 4
    assert {oct(one.stat().st_mode & 0o777) for one in files} == {"0o600"}
    assert oct((tmp_path / "tls").stat().st_mode & 0o777) == "0o700"


def test_it_stays_until_a_month_before_its_end_and_is_then_renewed(tmp_path: Path) -> None:
    first = _on(tmp_path)
    assert _on(tmp_path, NOW + timedelta(days=59)) == first
    renewed = _on(tmp_path, NOW + timedelta(days=61))
    assert renewed.fingerprint != first.fingerprint
    # Tablets that trust the club go on trusting it.
    assert renewed.authority_fingerprint == first.authority_fingerprint


def test_another_address_gets_another_certificate_of_the_same_authority(tmp_path: Path) -> None:
    first = _on(tmp_path)
    moved = _on(tmp_path, hosts=("10.0.0.5",))
    assert moved.fingerprint != first.fingerprint
    assert moved.authority_fingerprint == first.authority_fingerprint


def test_an_authority_that_may_not_vouch_for_an_address_is_made_anew(tmp_path: Path) -> None:
    first = _on(tmp_path)
    beyond = _on(tmp_path, hosts=("192.0.2.2",))
    assert beyond.authority_fingerprint != first.authority_fingerprint
    assert _on(tmp_path, hosts=("192.0.2.2",)) == beyond


def test_nothing_older_than_tls_1_2_is_spoken(tmp_path: Path) -> None:
    served = _on(tmp_path)
    assert server_context(served.chain, served.key).minimum_version == ssl.TLSVersion.TLSv1_2
