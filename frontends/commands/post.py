"""`swardtide post`: what is owed, what nobody knows the fate of, what failed, and owing one again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from frontends.commands.talking import AsJson, open_desk, say
from models.errors import NotFound
from models.facts.post import MessageState

if TYPE_CHECKING:
    from models.store.post import KeptMessage

app = typer.Typer(no_args_is_help=True, pretty_exceptions_enable=False, add_completion=False)


@app.callback()
def post() -> None:
    """Messages and what became of them."""


@app.command()
def owed(as_json: AsJson = False) -> None:
    """Messages that wait for their time or for a channel."""
    _list(MessageState.OWED, as_json)


@app.command()
def doubtful(as_json: AsJson = False) -> None:
    """Messages that may have gone out: ask the reader before you send again."""
    _list(MessageState.DOUBTFUL, as_json)


@app.command()
def failed(as_json: AsJson = False) -> None:
    """Messages that will not go out by themselves: telephone, or mend the address."""
    _list(MessageState.FAILED, as_json)


@app.command()
def again(
    key: Annotated[str, typer.Argument(help="Key of a failed or doubtful message.")], as_json: AsJson = False
) -> None:
    """Owe a failed or doubtful message again; the next post sends it."""
    from models.store.post import release

    with open_desk() as desk, desk.parts.store.write() as connection:
        if not release(connection, key, desk.now):
            raise NotFound("failed or doubtful message", key, "see `swardtide post failed` and `doubtful`")
    say(f"{key} is owed again.", {"message": key, "state": MessageState.OWED}, as_json)


def _list(state: MessageState, as_json: bool) -> None:
    from models.store.post import load_messages

    with open_desk() as desk, desk.parts.store.read() as connection:
        kept = load_messages(connection, (state,))
    words = [_line(one) for one in kept] or f"No message is {state}."
    say(words, [_facts(one) for one in kept], as_json)


def _line(kept: KeptMessage) -> str:
    trouble = f"\n    {kept.trouble}" if kept.trouble else ""
    message = kept.message
    return (
        f"{message.key}  {message.kind} to {message.recipient}, due {kept.due_at:%Y-%m-%d %H:%M} UTC{trouble}"
    )


def _facts(kept: KeptMessage) -> dict[str, object]:
    """What machines get; the mail's bytes stay where they are."""
    message = kept.message
    return {
        "key": message.key,
        "kind": message.kind,
        "recipient": message.recipient,
        "state": kept.state,
        "due_at": kept.due_at,
        "attempts": kept.attempts,
        "trouble": kept.trouble,
    }
