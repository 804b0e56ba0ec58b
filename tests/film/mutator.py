"""Films broken on purpose, the same way for the same seed."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

Random = np.random.Generator


def mutate(data: bytes, seed: int) -> tuple[str, bytes]:
    """Break a file's bytes; returns what was done and the result."""
    random = np.random.default_rng(seed)
    name, way = WAYS[seed % len(WAYS)]
    return f"{name} (seed {seed})", way(data, random)


def _flip(data: bytes, random: Random) -> bytes:
    broken = bytearray(data)
    for place in random.integers(0, len(data), random.integers(1, 300)):
        broken[place] ^= int(random.integers(1, 256))
    return bytes(broken)


def _flip_head(data: bytes, random: Random) -> bytes:
    """Only in the first and last 4 kB, where containers keep their tables."""
    broken = bytearray(data)
    reach = min(4096, len(data) // 2)
    for place in random.integers(0, reach, 20):
        side = int(random.integers(0, 2))
        broken[-1 - place if side else place] ^= int(random.integers(1, 256))
    return bytes(broken)


def _truncate(data: bytes, random: Random) -> bytes:
    return data[: int(random.integers(1, len(data)))]


def _behead(data: bytes, random: Random) -> bytes:
    return data[int(random.integers(1, len(data))) :]


def _zero(data: bytes, random: Random) -> bytes:
    start = int(random.integers(0, len(data)))
    n = int(random.integers(1, max(2, len(data) // 3)))
    return (data[:start] + bytes(n) + data[start + n :])[: len(data)]


def _cut_out(data: bytes, random: Random) -> bytes:
    start = int(random.integers(0, len(data)))
    return data[:start] + data[start + int(random.integers(1, max(2, len(data) // 3))) :]


def _repeat(data: bytes, random: Random) -> bytes:
    start = int(random.integers(0, len(data)))
    n = int(random.integers(1, max(2, len(data) // 4)))
    return data[: start + n] + data[start : start + n] + data[start + n :]


def _extreme(data: bytes, random: Random) -> bytes:
    """32-bit fields of the tables become the smallest, largest or odd numbers: sizes, counts, picture sizes."""
    broken = bytearray(data)
    names = [b"stsz", b"stts", b"ctts", b"stco", b"stsc", b"stss", b"mdhd", b"tkhd", b"avc1", b"elst", b"mvhd", b"avcC"]
    places = [at for name in names if (at := data.find(name)) >= 0]
    for _ in range(int(random.integers(1, 6))):
        base = int(random.choice(places)) if places else int(random.integers(0, len(data)))
        at = min(len(data) - 4, max(0, base + int(random.integers(-4, 60))))
        value = int(random.choice([0, 1, 0x7FFFFFFF, 0xFFFFFFFF, 0x80000000, 65_535, 1_000_000]))
        broken[at : at + 4] = value.to_bytes(4, "big")
    return bytes(broken)


def _noise(data: bytes, random: Random) -> bytes:
    start = int(random.integers(0, len(data)))
    n = int(random.integers(1, 20_000))
    return (data[:start] + random.bytes(n) + data[start + n :])[: len(data)]


WAYS: list[tuple[str, Callable[[bytes, Random], bytes]]] = [
    ("bytes flipped", _flip),
    ("tables flipped", _flip_head),
    ("truncated", _truncate),
    ("beginning lost", _behead),
    ("zeros inside", _zero),
    ("piece lost", _cut_out),
    ("piece repeated", _repeat),
    ("extreme fields", _extreme),
    ("noise inside", _noise),
]
