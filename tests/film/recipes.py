"""The films that the contract suite runs over: every kind a coach may have."""

from __future__ import annotations

from fractions import Fraction

from tests.film.maker import Recipe


def _paused(n: int, *, at: int, for_s: int) -> tuple[Fraction, ...]:
    """Times of frames at 25 a second, with nothing recorded for a while before one of them."""
    return tuple(Fraction(frame, 25) + (for_s if frame >= at else 0) for frame in range(n))


PLAIN = Recipe("plain")
VARIABLE = Recipe("variable", times=tuple(Fraction(n * 33 + n % 3 * 7 + n // 20 * 250, 1000) for n in range(60)))
SILENT = Recipe("silent", sound=None, size=(240, 180), n_frames=30)
TALL = Recipe("phone-upright", rotation=90, n_frames=30)
INTERLACED = Recipe("interlaced", suffix=".ts", interlaced=True, size=(352, 288), n_frames=40)

KINDS = [
    PLAIN,
    VARIABLE,
    SILENT,
    TALL,
    INTERLACED,
    Recipe("phone-upside-down", rotation=180, n_frames=30),
    Recipe("phone-left", rotation=270, n_frames=30),
    Recipe("hidden-beginning", n_hidden=5),
    Recipe("late-start", start_s=Fraction(3)),
    Recipe("ntsc", rate=Fraction(30000, 1001)),
    Recipe("fast", rate=Fraction(120), n_frames=120),
    Recipe("h264-mov", suffix=".mov", sound="pcm_s16le"),
    Recipe("h264-m4v", suffix=".m4v", sound="ac3"),
    Recipe("h264-mkv", suffix=".mkv", sound="ac3", n_channels=6),
    Recipe("h264-mkv-late", suffix=".mkv", sound="libmp3lame", start_s=Fraction(5, 2), rate_hz=44_100),
    Recipe("h264-ts", suffix=".ts"),
    Recipe("h264-ts-wraps", suffix=".ts", start_s=Fraction(2**33 - 90_000, 90_000)),
    Recipe("h264-m2ts", suffix=".m2ts", container="mpegts", sound="ac3", container_options={"mpegts_m2ts_mode": "1"}),
    Recipe("h264-avi", suffix=".avi", sound="pcm_s16le"),
    Recipe("h264-10bit", pix_fmt="yuv420p10le", n_frames=30),
    Recipe("h264-422", pix_fmt="yuv422p", n_frames=30),
    Recipe("h264-wide-pixels", size=(240, 180), aspect=Fraction(4, 3), n_frames=30),
    Recipe("hevc", codec="libx265", n_frames=40),
    Recipe("hevc-10bit-mov", suffix=".mov", codec="libx265", pix_fmt="yuv420p10le", n_frames=30, n_channels=1),
    Recipe("mpeg2-ts", suffix=".mts", container="mpegts", codec="mpeg2video", sound="mp2"),
    Recipe("mpeg2-ps", suffix=".mpg", codec="mpeg2video", sound="mp2"),
    Recipe(
        "mpeg2-interlaced", suffix=".ts", codec="mpeg2video", sound="mp2", interlaced=True, size=(352, 288), n_frames=40
    ),
    Recipe("lower-field-first", suffix=".ts", interlaced=True, lower_first=True, size=(352, 288), n_frames=40),
    Recipe("film-rate", rate=Fraction(24000, 1001)),
    Recipe("mpeg4-avi", suffix=".avi", codec="mpeg4", sound="pcm_s16le"),
    Recipe("mpeg4-mp4", codec="mpeg4"),
    Recipe("vp9-webm", suffix=".webm", codec="libvpx-vp9", sound="libopus", n_frames=40),
    Recipe("vp9-late", suffix=".webm", codec="libvpx-vp9", sound="libopus", n_frames=30, start_s=Fraction(2)),
    Recipe("av1-mp4", codec="libsvtav1", sound="libopus", n_frames=40),
    Recipe("mjpeg-avi", suffix=".avi", codec="mjpeg", sound="pcm_s16le", pix_fmt="yuvj420p"),
    Recipe("mjpeg-mov", suffix=".mov", codec="mjpeg", sound="pcm_s16le", pix_fmt="yuvj420p"),
    Recipe("rate-50", suffix=".mts", container="mpegts", rate=Fraction(50), sound="ac3"),
    Recipe("rate-59.94", rate=Fraction(60000, 1001), n_frames=80),
    Recipe("paused", times=_paused(40, at=20, for_s=4)),
    Recipe("paused-at-a-key-frame", times=_paused(40, at=24, for_s=4)),
    Recipe("stream-with-a-gap", suffix=".ts", times=_paused(40, at=20, for_s=3), start_s=Fraction(90)),
    Recipe(
        "wraps-far-in",
        suffix=".ts",
        sound=None,
        size=(160, 90),
        rate=Fraction(1, 2),
        times=tuple(Fraction(2 * n) for n in range(60)),
        start_s=Fraction(2**33 - 75 * 90_000, 90_000),
    ),
    Recipe("negative-decoding-times", suffix=".mov", container_options={"movflags": "negative_cts_offsets"}),
    Recipe("fragments", container_options={"movflags": "frag_keyframe+delay_moov"}),
    Recipe("open-groups", suffix=".ts", options={"x264-params": "keyint_min=1:scenecut=0:open-gop=1"}, b_frames=3),
    Recipe("open-groups-mp4", options={"x264-params": "keyint_min=1:scenecut=0:open-gop=1"}, b_frames=3),
    Recipe("mp3-mp4", sound="libmp3lame"),
    Recipe("opus-mkv", suffix=".mkv", sound="libopus"),
    Recipe("silent-stream", suffix=".ts", sound=None, n_frames=40),
    Recipe(
        "card-interlaced",
        suffix=".MTS",
        container="mpegts",
        container_options={"mpegts_m2ts_mode": "1"},
        sound="ac3",
        n_channels=6,
        interlaced=True,
        size=(352, 288),
        n_frames=40,
    ),
    Recipe(
        "mpeg2-lower-first",
        suffix=".mpg",
        codec="mpeg2video",
        sound="mp2",
        interlaced=True,
        lower_first=True,
        size=(352, 288),
        n_frames=40,
    ),
    Recipe("variable-mkv", suffix=".mkv", times=VARIABLE.times),
    Recipe("phone-hevc", suffix=".mov", codec="libx265", rotation=90, times=VARIABLE.at_s[:30]),
    Recipe("hevc-mkv", suffix=".mkv", codec="libx265", n_frames=30),
    Recipe("hevc-ts", suffix=".ts", codec="libx265", n_frames=30, sound="ac3"),
    Recipe("h264-10bit-422", suffix=".mov", pix_fmt="yuv422p10le", sound="pcm_s24le", n_frames=30),
    Recipe("mpeg4-avi-mp3", suffix=".avi", codec="mpeg4", sound="libmp3lame"),
    Recipe("av1-webm", suffix=".webm", codec="libsvtav1", sound="libopus", n_frames=30),
    Recipe("av1-mkv", suffix=".mkv", codec="libsvtav1", n_frames=30),
    Recipe("vp9-mp4", codec="libvpx-vp9", n_frames=30),
    Recipe("prores", suffix=".mov", codec="prores_ks", sound="pcm_s24le", pix_fmt="yuv422p10le", n_frames=30),
]

# Which of them a browser plays with picture and sound, as Chromium does in the browser tests.
PLAYS = {
    "plain",
    "variable",
    "silent",
    "phone-upright",
    "phone-upside-down",
    "phone-left",
    "hidden-beginning",
    "late-start",
    "ntsc",
    "film-rate",
    "fast",
    "h264-wide-pixels",
    "rate-59.94",
    "paused",
    "paused-at-a-key-frame",
    "negative-decoding-times",
    "fragments",
    "mp3-mp4",
    "vp9-webm",
    "vp9-late",
    "vp9-mp4",
    "av1-webm",
    "av1-mp4",
}
