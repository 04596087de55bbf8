"""RFC 9106, "Argon2 Memory-Hard Function", section 5.3: test vector of argon2id.

Values typed from memory; the second is that of the reference implementation's own tests (test.c,
version 0x13), likewise. Both are exact: there is no tolerance.
"""

from argon2.low_level import Type, core, ffi, lib

from chordline.adapters.vault.club_key import Argon2

RFC_TAG = "0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659"
REFERENCE_TAG = "09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7"


def test_the_library_gives_the_tag_of_the_rfc() -> None:
    parts = {
        "pwd": b"\x01" * 32,
        "salt": b"\x02" * 16,
        "secret": b"\x03" * 8,
        "ad": b"\x04" * 12,
    }
    out = ffi.new("uint8_t[]", 32)
    held = {name: ffi.new("uint8_t[]", value) for name, value in parts.items()}
    context = ffi.new(
        "argon2_context *",
        {
            "out": out,
            "outlen": 32,
            "version": 0x13,
            "t_cost": 3,
            "m_cost": 32,
            "lanes": 4,
            "threads": 1,
            "allocate_cbk": ffi.NULL,
            "free_cbk": ffi.NULL,
            "flags": lib.ARGON2_DEFAULT_FLAGS,
            **held,
            **{f"{name}len": len(value) for name, value in parts.items()},
        },
    )
    assert core(context, Type.ID.value) == lib.ARGON2_OK
    assert bytes(ffi.buffer(out, 32)).hex() == RFC_TAG


def test_a_passphrase_makes_the_key_of_the_reference_implementation() -> None:
    cost = Argon2(passes=2, lanes=1, memory_kib=1 << 16)
    assert cost.key_of("password", b"somesalt").hex() == REFERENCE_TAG


def test_passphrases_that_are_set_cost_what_the_rfc_recommends_second() -> None:
    assert (Argon2().passes, Argon2().lanes, Argon2().memory_kib) == (3, 4, 64 * 1024)
