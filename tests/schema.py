"""The MusicXML 4.0 schema, from the packages that carry it; nothing is fetched.

``errors(data)`` lists what the schema has against a file, one line each, without duplicates.
"""

from __future__ import annotations

from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from lxml import etree

__all__ = ["errors"]

_XS = "{http://www.w3.org/2001/XMLSchema}"


def _folder(package: str) -> Path:
    spec = find_spec(package)
    assert spec is not None and spec.submodule_search_locations
    return Path(next(iter(spec.submodule_search_locations)))


@lru_cache(maxsize=1)
def _schema() -> etree.XMLSchema:
    tree = etree.parse(str(_folder("musicxml") / "generate_classes" / "musicxml_4_0.xsd"))
    local = _folder("xmlschema") / "schemas"
    for element in tree.getroot().iter(f"{_XS}import"):
        name = (element.get("schemaLocation") or "").rpartition("/")[2]
        found = next(local.rglob(name))
        element.set("schemaLocation", found.as_uri())
    return etree.XMLSchema(tree)


def errors(data: bytes) -> list[str]:
    """What the schema says against a file; empty where it is valid."""
    schema = _schema()
    try:
        tree = etree.fromstring(data, etree.XMLParser(no_network=True, load_dtd=False))
    except etree.XMLSyntaxError as error:  # an entity that nothing declares, say
        return [str(error)]
    if tree.get("version") is not None:
        tree.set("version", "4.0")
    if schema.validate(tree):
        return []
    log: Any = schema.error_log  # typed in part only
    return sorted({entry.message for entry in log})
