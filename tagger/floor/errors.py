"""What can go wrong with floors and pictures: one root, one small class per situation."""


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


class PointsTooFew(FloorError, ValueError):
    """Fewer than four point pairs, or lists of different length."""

    def __init__(self, n_picture: int, n_floor: int) -> None:
        self.n_picture = n_picture
        self.n_floor = n_floor
        super().__init__(
            f"{n_picture} points in the picture and {n_floor} on the floor: "
            "at least four pairs are needed; mark more points whose place on the floor is known"
        )


class PointsInLine(FloorError, ValueError):
    """The points do not pin the floor down: too many of them lie on one line."""

    def __init__(self, where: str) -> None:
        self.where = where
        super().__init__(
            f"the points {where} lie on one line, or nearly; "
            "mark at least four of which no three lie on a line, for example goal posts and both ends of a line"
        )


class PointBeyondHorizon(FloorError, ValueError):
    """A point of the picture that shows no place on the floor."""

    def __init__(self, x_px: float, y_px: float) -> None:
        self.x_px = x_px
        self.y_px = y_px
        super().__init__(
            f"picture point ({x_px:.0f}, {y_px:.0f}) lies at or above the floor's horizon; mark a point on the floor"
        )
