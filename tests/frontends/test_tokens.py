"""Secret words in addresses, checked against another library's HMAC."""

from __future__ import annotations

import base64

from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.hmac import HMAC
from hypothesis import given
from hypothesis import strategies as st

from models.tokens import TokenStanding, feed_token, is_token, standing

KEY = bytes(range(32))


def test_the_token_is_the_hmac_another_library_computes() -> None:
    # RFC 2104 by OpenSSL, through `cryptography`; base64url without padding, RFC 4648 section 5.
    other = HMAC(KEY, SHA256())
    other.update(b"calendar\n3\nwren-cottage")
    assert feed_token(KEY, "wren-cottage", 3) == base64.urlsafe_b64encode(other.finalize()).decode().rstrip(
        "="
    )


def test_a_token_is_valid_then_withdrawn_when_the_version_is_raised() -> None:
    first, second = feed_token(KEY, "wren-cottage", 1), feed_token(KEY, "wren-cottage", 2)
    assert [standing(first, KEY, "wren-cottage", version) for version in (1, 2, 5)] == [
        TokenStanding.VALID,
        TokenStanding.WITHDRAWN,
        TokenStanding.WITHDRAWN,
    ]
    assert standing(second, KEY, "wren-cottage", 1) is TokenStanding.UNKNOWN


def test_a_token_that_is_no_ascii_is_unknown() -> None:
    assert standing("später", KEY, "wren-cottage", 2) is TokenStanding.UNKNOWN


@given(
    key=st.binary(min_size=16, max_size=64),
    client=st.text(min_size=1),
    version=st.integers(1, 9),
    other=st.tuples(st.text(min_size=1), st.integers(1, 9)),
)
def test_a_token_opens_its_own_client_and_version_only(
    key: bytes, client: str, version: int, other: tuple[str, int]
) -> None:
    token = feed_token(key, client, version)
    assert is_token(token, key, client, version)
    assert is_token(token, key, *other) == ((client, version) == other)
