"""How long an address waits after wrong phrases, and how much is remembered."""

from dashboard.doors.patience import FIRST_S, LONGEST_S, Patience, household
from tests.dashboard.doors.conftest import Clock


def test_the_wait_doubles_up_to_a_minute_and_is_forgotten_with_the_right_one(clock: Clock) -> None:
    patience = Patience(clock)
    waits = []
    for _ in range(9):
        assert patience.try_one("a", lambda: False) == 0
        waits.append(patience.try_one("a", lambda: True))
        clock.now += waits[-1] or 0
    assert waits == [1, 2, 4, 8, 16, 32, LONGEST_S, LONGEST_S, LONGEST_S]
    assert patience.try_one("a", lambda: True) is None
    assert patience.try_one("a", lambda: False) == 0 and patience.try_one("a", lambda: False) == FIRST_S


def test_a_try_that_comes_too_soon_is_not_even_looked_at(clock: Clock) -> None:
    patience = Patience(clock)
    patience.try_one("a", lambda: False)

    def right() -> bool:
        raise AssertionError("it was looked at")

    assert patience.try_one("a", right) == FIRST_S


def test_only_so_many_addresses_are_remembered(clock: Clock) -> None:
    patience = Patience(clock)
    for n in range(5000):
        patience.try_one(f"192.0.{n >> 8}.{n & 255}", lambda: False)
    assert len(patience._held) == 1024
    assert patience.try_one("192.0.19.135", lambda: True) == FIRST_S, "the last of them"


def test_one_household_is_one_address() -> None:
    assert household("2001:db8:0:1::5") == household("2001:db8:0:1:ffff::9") == "2001:db8:0:1::/64"
    assert household("2001:db8:0:2::5") != household("2001:db8:0:1::5")
    assert household("fe80::1%eth0") == "fe80::/64"
    assert household("::ffff:192.0.2.7") == household("192.0.2.7") == "192.0.2.7"
    assert len(household("x" * 500)) == 64
