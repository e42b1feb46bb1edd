"""Entity tags (RFC 9110, 8.8.3): whether a reader holds the present bytes already."""

from __future__ import annotations


def names_tag(if_none_match: str | None, etag: str) -> bool:
    """Whether an If-None-Match header names `etag`, by weak comparison (RFC 9110, 13.1.2)."""
    tags = {tag.strip().removeprefix("W/") for tag in (if_none_match or "").split(",")}
    return "*" in tags or etag in tags
