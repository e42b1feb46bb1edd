"""Who may see the season page: people at this machine, until pages with a login come."""

from __future__ import annotations

from starlette.requests import Request

from frontends.settings import is_loopback

# A proxy on this machine would make every visitor look local; most say that they stand between.
OF_A_PROXY = ("forwarded", "via", "x-forwarded-for", "x-forwarded-host", "x-forwarded-proto", "x-real-ip")


def comes_from_this_machine(request: Request) -> bool:
    """Whether peer and Host are both loopback, and nobody stands between.

    The Host is looked at because a page elsewhere may give its own name to a loopback address.
    """
    if request.client is None or not is_loopback(request.client.host):
        return False
    if any(name in request.headers for name in OF_A_PROXY):
        return False
    return is_loopback(request.url.hostname or "")
