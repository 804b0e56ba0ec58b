"""The tagging screen alone, served as the program serves it: python -m tests.screen.serve FOLDER PORT."""

import sys

import waitress
from flask import Flask

from tagger.screen.blueprint import create_screen
from tagger.season import Season


def main(folder: str, port: int) -> None:
    """Serve a season folder's tagging screen until killed."""
    app = Flask("screen")
    app.register_blueprint(create_screen(Season.open(folder)))
    waitress.serve(app, host="127.0.0.1", port=port, threads=8, _quiet=True)


if __name__ == "__main__":
    main(sys.argv[1], int(sys.argv[2]))
