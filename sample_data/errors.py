"""What can go wrong when a game is made up: one root, one small class per situation."""


class SampleError(Exception):
    """Root of everything that `sample_data` raises."""


class SampleOption(SampleError, ValueError):
    """An option of the generator that makes no sense."""

    def __init__(self, option: str, value: object, wanted: str) -> None:
        self.option = option
        self.value = value
        super().__init__(f"{option} is {value}; give {wanted}")


class NoExcerpt(SampleError, RuntimeError):
    """No stretch of play was found that fits the wanted length."""

    def __init__(self, seconds: float, seed: int) -> None:
        super().__init__(
            f"no stretch of {seconds:g} s could be made from seed {seed}; try another seed or a longer film"
        )
