"""What the desk says no to: a status, a title and a sentence for the person, a line for the log."""

from __future__ import annotations


class RefusedError(Exception):
    """Something was refused and nothing was changed. `logged`: what the log says; None for what is no offence. `way`:
    the page of the desk that leads on."""

    def __init__(
        self, status: int, title: str, sentence: str, logged: str | None = None, way: str = "/"
    ) -> None:
        super().__init__(sentence)
        self.status, self.title, self.sentence, self.logged, self.way = status, title, sentence, logged, way


class NotHereError(RefusedError):
    """There is no such page, or not for this person: told in the same words."""

    def __init__(self, logged: str | None = None) -> None:
        super().__init__(
            404,
            "There is no such page",
            "The address may be mistyped, the link may have ended, or the page may be another member’s.",
            logged,
        )


class SignInFirstError(Exception):
    """The page is for people who are signed in; `then` is where to go afterwards."""

    def __init__(self, then: str) -> None:
        super().__init__(then)
        self.then = then


def too_much(what: str) -> RefusedError:
    """A request that goes beyond the desk's measure."""
    return RefusedError(413, "That is too much at once", what, f"too much: {what}")


def too_often(what: str, minutes: int, logged: str) -> RefusedError:
    """A try beyond the count allowed."""
    return RefusedError(429, "Too many tries", f"{what} Try again in {minutes} minutes.", logged)
