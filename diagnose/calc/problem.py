"""The one error of this package: input that cannot be used, said in one line."""


class CalcError(ValueError):
    """Input that cannot be used. ``str(error)`` is one line: what, why not, how to mend it."""

    def __init__(self, what: str, why: str, mend: str) -> None:
        super().__init__(" ".join(f"{what}: {why}; {mend}".split()))
        self.what = what
        self.why = why
        self.mend = mend


class RowsError(ValueError):
    """Several rows of a file that cannot be used; ``lines`` holds one message for each."""

    def __init__(self, lines: tuple[str, ...]) -> None:
        super().__init__("\n".join(lines))
        self.lines = lines
