"""The tagging screen alone, as the program serves it: python -m tests.screen.serve FOLDER PORT [VOCABULARY]."""

import json
import sys
from pathlib import Path

import waitress
from flask import Flask

from tagger.screen.blueprint import create_screen
from tagger.season import Season


def main(folder: str, port: int, vocabulary: str = "") -> None:
    """Serve a season folder's tagging screen until killed; what can be marked may stand in a file."""
    words = json.loads(Path(vocabulary).read_text(encoding="utf-8")) if vocabulary else None
    app = Flask("screen")
    app.register_blueprint(create_screen(Season.open(folder, vocabulary=words)))
    waitress.serve(app, host="127.0.0.1", port=port, threads=8, _quiet=True)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]), *sys.argv[3:])
