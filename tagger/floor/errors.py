"""What can go wrong with floors: one root, one small class per situation."""


class FloorError(Exception):
    """Root of everything that `tagger.floor` raises."""


class UnknownRules(FloorError, KeyError):
    """A rule code that has no floor."""

    def __init__(self, code: str, known: tuple[str, ...]) -> None:
        self.code = code
        self.known = known
        super().__init__(code)

    def __str__(self) -> str:
        return f'rule code "{self.code}" is not known; set rule_code to one of {", ".join(self.known)}'
