"""What can go wrong, in words for the person at the bench."""


class LevelwindError(Exception):
    """Anything Levelwind refuses to do. Its text is one sentence a person can act on."""


class InputError(LevelwindError, ValueError):
    """A value from outside that cannot be used: which, what it was, what is allowed.

    >>> print(InputError("inner diameter", 12.0, "less than the outer diameter of 10.0 mm"))
    inner diameter was 12.0; allowed is less than the outer diameter of 10.0 mm
    """

    def __init__(self, what: str, was: object, allowed: object) -> None:
        self.what, self.was, self.allowed = what, was, allowed
        super().__init__(f"{what} was {was}; allowed is {allowed}")

    def __reduce__(self) -> tuple[type["InputError"], tuple[str, object, object]]:
        """Three arguments instead of one message, so that the error survives a trip from a worker process."""
        return type(self), (self.what, self.was, self.allowed)


class NotDeterminedError(LevelwindError):
    """These data cannot tell."""


class NoConvergenceError(LevelwindError):
    """The computation did not settle on an answer."""
