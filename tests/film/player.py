"""A film played in a real browser, frame by frame, over a small server that answers byte ranges."""

from __future__ import annotations

import re
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tagger.film.index import FrameIndex

LARGEST_ANSWER = 2 << 20
TYPES = {".webm": "video/webm", ".mov": "video/mp4", ".m4v": "video/mp4", ".mp4": "video/mp4"}

NEAR_S = Fraction(1, 50)

PAGE = """<!doctype html><meta charset="utf-8"><link rel="icon" href="data:,"><video muted preload="auto"></video>
<script>
const video = document.querySelector("video");
const canvas = document.createElement("canvas");
const context = canvas.getContext("2d", { willReadFrequently: true });
function load(address) {
  return new Promise((resolve) => {
    const facts = (why) => resolve({
      why, width: video.videoWidth, height: video.videoHeight, duration_s: video.duration,
      heard: video.webkitAudioDecodedByteCount, seen: video.webkitDecodedFrameCount });
    video.onerror = () => facts("error " + video.error.code);
    video.oncanplaythrough = () => facts("plays");
    video.src = address;
    video.load();
  });
}
function frameAt(aim_s, wanted_s) {
  return new Promise((resolve) => {
    const asked = performance.now();
    let drawn = { media_s: -1, took_ms: -1, line: [] };
    const end = () => { over = true; clearTimeout(give_up); resolve(drawn); };
    const give_up = setTimeout(end, 20000);
    let over = false;
    const take = (now, data) => {
      if (over) return;
      video.requestVideoFrameCallback(take);  // first: a picture that is shown while this one is read is told too
      canvas.width = video.videoWidth;
      canvas.height = video.videoHeight;
      context.drawImage(video, 0, 0);
      const took_ms = performance.now() - asked;
      const line = context.getImageData(0, Math.floor(canvas.height / 16), canvas.width, 1).data;
      drawn = { media_s: data.mediaTime, took_ms, line: Array.from(line.filter((_, n) => n % 4 === 1)) };
      if (Math.abs(drawn.media_s - wanted_s) < 0.001) end();  // a busy machine shows pictures on the way there
    };
    video.requestVideoFrameCallback(take);
    video.currentTime = aim_s;
  });
}
async function playAWhile(ms) {
  await video.play();
  await new Promise((resolve) => setTimeout(resolve, ms));
  video.pause();
  return { heard: video.webkitAudioDecodedByteCount, seen: video.webkitDecodedFrameCount };
}
</script>"""


@contextmanager
def served(films: dict[str, Path]) -> Iterator[str]:
    """Serve films by name next to the page, on the loopback address; yields the page's address."""

    class Answers(BaseHTTPRequestHandler):
        protocol_version = "HTTP/1.1"

        def do_GET(self) -> None:
            name = self.path.strip("/")
            if name not in films:
                body = PAGE.encode("utf-8")
                self.send_response(200)
                self.send_header("Content-Type", "text/html; charset=utf-8")
                self.send_header("Content-Length", str(len(body)))
                self.end_headers()
                self.wfile.write(body)
                return
            size = films[name].stat().st_size
            asked = re.fullmatch(r"bytes=(\d+)-(\d*)", self.headers.get("Range", "bytes=0-"))
            start = int(asked[1]) if asked else 0
            end = min(int(asked[2]) if asked and asked[2] else size - 1, size - 1, start + LARGEST_ANSWER - 1)
            with films[name].open("rb") as file:
                file.seek(start)
                body = file.read(end - start + 1)
            self.send_response(206)
            self.send_header("Content-Type", TYPES.get(films[name].suffix, "application/octet-stream"))
            self.send_header("Accept-Ranges", "bytes")
            self.send_header("Content-Range", f"bytes {start}-{end}/{size}")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, format: str, *args: object) -> None:
            pass

    class Server(ThreadingHTTPServer):
        daemon_threads = True

        def handle_error(self, request: object, client_address: object) -> None:
            pass  # a browser drops answers that it no longer needs

    server = Server(("127.0.0.1", 0), Answers)
    thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_address[1]}/"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()


class Player:
    """One page with one film element."""

    def __init__(self, page: Any, address: str) -> None:
        self.page = page
        self.address = address
        page.goto(address)

    def load(self, name: str) -> dict[str, Any]:
        """Load a film; what the browser says of it."""
        found: dict[str, Any] = self.page.evaluate("address => load(address)", self.address + name)
        return found

    def frame_at(self, aim_s: float, wanted_s: float) -> tuple[float, float, NDArray[np.uint8]]:
        """Seek; media time of the picture that came (s), how long it took (ms), its upper strip as a picture.

        The picture is the wanted one, or the last that came within twenty seconds.
        """
        found = self.page.evaluate("([aim, wanted]) => frameAt(aim, wanted)", [aim_s, wanted_s])
        line = np.array(found["line"], dtype=np.uint8)
        return found["media_s"], found["took_ms"], np.repeat(np.tile(line, (32, 1))[:, :, None], 3, axis=2)

    def play(self, ms: int) -> dict[str, Any]:
        """Play for a while; how many bytes of sound and how many frames were decoded."""
        found: dict[str, Any] = self.page.evaluate("ms => playAWhile(ms)", ms)
        return found


def media_s(index: FrameIndex, frame: int) -> float:
    """When a browser that plays this very file shows a frame, on its own clock (`currentTime`, s).

    That clock does not begin with the first shown frame where the file's clock doesn't.
    """
    return float(int(index.pts[frame]) * index.time_base)


def seek_s(index: FrameIndex, frame: int) -> float:
    """Where the page sends a browser for a frame (s): its middle; its very beginning often shows the one before.

    Of a frame that stands long, where the camera was paused, near its beginning: a browser goes by decoding times and
    may take the rest for the key frame's that follows.
    """
    end = index.end_pts if frame == index.n_frames - 1 else int(index.pts[frame + 1])
    begin = int(index.pts[frame])
    return float(begin * index.time_base + min(Fraction(end - begin, 2) * index.time_base, NEAR_S))
