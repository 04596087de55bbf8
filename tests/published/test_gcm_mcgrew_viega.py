"""McGrew and Viega, "The Galois/Counter Mode of Operation (GCM)", appendix B, test case 16.

AES-256 with associated data; values typed from memory. Exact.
"""

from cryptography.hazmat.primitives.ciphers.aead import AESGCM

KEY = "feffe9928665731c6d6a8f9467308308" * 2
NONCE = "cafebabefacedbaddecaf888"
PLAIN = (
    "d9313225f88406e5a55909c5aff5269a86a7a9531534f7da2e4c303d8a318a72"
    "1c3c0c95956809532fcf0e2449a6b525b16aedf5aa0de657ba637b39"
)
ASSOCIATED = "feedfacedeadbeeffeedfacedeadbeefabaddad2"
SEALED = (
    "522dc1f099567d07f47f37a32a84427d643a8cdcbfe5c0c97598a2bd2555d1aa"
    "8cb08e48590dbb3da7b08b1056828838c5f61e6393ba7a0abcc9f662"
)
TAG = "76fc6ece0f4e1768cddf8853bb2d551b"


def test_the_library_seals_as_the_paper_prints() -> None:
    cipher = AESGCM(bytes.fromhex(KEY))
    sealed = cipher.encrypt(bytes.fromhex(NONCE), bytes.fromhex(PLAIN), bytes.fromhex(ASSOCIATED))
    assert sealed.hex() == SEALED + TAG
