"""The mutants, by their numbers."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from random import Random

from lxml import etree

from tests.fuzz.byte_damage import damage_bytes, damage_lines, damage_midi, encoded, packed
from tests.fuzz.markup_damage import damage_tree
from tests.fuzz.seeds import Seed, seeds

__all__ = ["Mutant", "mutant"]

_KINDS = {"musicxml": 84, "abc": 8, "mei": 4, "krn": 2, "mid": 2}


@dataclass(frozen=True, slots=True)
class Mutant:
    """A damaged score; ``ending`` is what its file's name ends in."""

    number: int
    seed: str
    ending: str
    data: bytes


def mutant(number: int, chance: Random) -> Mutant:
    """The mutant of this number; ``chance`` must be made for it alone."""
    kind = chance.choices(list(_KINDS), list(_KINDS.values()))[0]
    seed = chance.choice(seeds()[kind])
    data, ending = _damaged(seed, chance)
    return Mutant(number, seed.name, ending, data)


def _damaged(seed: Seed, chance: Random) -> tuple[bytes, str]:
    if seed.kind == "mid":
        return damage_midi(seed.data, chance), ".mid"
    if seed.kind in ("abc", "krn"):
        return damage_lines(seed.data, chance), f".{seed.kind}"
    data = seed.data
    how = chance.random()
    if how < 0.92:
        data = _with_tree_damaged(data, chance)
    if 0.85 < how < 0.95:
        data = damage_bytes(data, chance)
    if seed.kind == "mei":
        return data, ".mei"
    if how > 0.92:
        data = encoded(data, chance)
    if chance.random() < 0.12:
        return packed(data, chance), ".mxl"
    return data, chance.choice((".musicxml", ".musicxml", ".xml", ".mxl"))


def _with_tree_damaged(data: bytes, chance: Random) -> bytes:
    root = etree.fromstring(data, etree.XMLParser(load_dtd=False, no_network=True))
    with suppress(ValueError):  # a text or a name that no XML can hold
        damage_tree(root, chance)
    made: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8")
    return made
