"""``python -m remetre_cli`` is the command ``remetre``."""

from .main import run

if __name__ == "__main__":
    run()
