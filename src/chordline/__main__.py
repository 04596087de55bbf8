"""`python -m chordline`."""

from chordline.cli.main import run

if __name__ == "__main__":
    run()
