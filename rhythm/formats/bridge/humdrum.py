"""Humdrum ``**kern`` made into MEI by verovio, whose reader knows the format best."""

from __future__ import annotations

from rhythm.formats.recognise import text_of

__all__ = ["mei_of_humdrum"]


def mei_of_humdrum(data: bytes) -> bytes:
    """The MEI of a Humdrum file. Raises ValueError for what is none."""
    import verovio

    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({"inputFrom": "humdrum"})
    text = text_of(data)
    if "**kern" not in text:
        raise ValueError("no **kern spine")
    if not toolkit.loadData(text):
        raise ValueError("its spines do not fit together")
    mei: str = toolkit.getMEI()
    return mei.encode()
