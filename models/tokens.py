"""Secret words in addresses: made from a key, never stored; only their version is.

HMAC-SHA256 (RFC 2104, FIPS 180-4) over the client's key and the version, so an address can be shown
again, and withdrawn by raising the version.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
from enum import StrEnum


class TokenStanding(StrEnum):
    VALID = "valid"
    WITHDRAWN = "withdrawn"
    UNKNOWN = "unknown"


def feed_token(key: bytes, client_key: str, version: int) -> str:
    """The word in the address of a client's calendar: 43 characters of URL-safe base64 (RFC 4648)."""
    # The version comes first and is digits only, so no other pair gives the same bytes.
    said = f"calendar\n{version}\n{client_key}".encode()
    return base64.urlsafe_b64encode(hmac.new(key, said, hashlib.sha256).digest()).rstrip(b"=").decode()


def is_token(token: str, key: bytes, client_key: str, version: int) -> bool:
    """Whether `token` is the one of that version; takes as long for a wrong one as for a near one."""
    return hmac.compare_digest(token.encode(), feed_token(key, client_key, version).encode())


def standing(token: str, key: bytes, client_key: str, version: int) -> TokenStanding:
    """Whether `token` is of the present `version`, of an earlier and withdrawn one, or of none."""
    if is_token(token, key, client_key, version):
        return TokenStanding.VALID
    earlier = [is_token(token, key, client_key, past) for past in range(1, version)]
    return TokenStanding.WITHDRAWN if any(earlier) else TokenStanding.UNKNOWN
