"""A client's secret addresses are withdrawn: they were passed on, or lost."""

from __future__ import annotations

from models.facts.place import Client
from models.store.engine import Store
from models.store.people import withdraw_address


def new_address(store: Store, client_key: str) -> Client:
    """Withdraw the addresses given out so far; gives the client, with whom new ones can be made.

    NotFound for a client that is not known. Told twice, it withdraws twice: each call is a new wish.
    """
    with store.write() as connection:
        return withdraw_address(connection, client_key)
