"""``python -m remetre_cli`` is the command ``remetre``."""

from .start import start

if __name__ == "__main__":
    start()
