"""The one table of devices: names, arguments, sources, what each keeps and carries along.

Conventions
-----------
A device is asked for as ``name`` or ``name:argument``, as in ``augmentation:3/2``.
"""

from __future__ import annotations

from collections.abc import Callable

from rhythm.devices import (
    against_the_beat,
    arguments,
    cyclic_rhythms,
    grouping,
    reordering,
    scaling,
)
from rhythm.exact.errors import RequestError
from rhythm.exact.frozen import dataclass
from rhythm.exact.nearest import among
from rhythm.rebar import density
from rhythm.rebar.passage import Passage

__all__ = ["DEVICES", "Device", "device_named"]


@dataclass(frozen=True, slots=True)
class Device:
    """One row of the table.

    ``argument`` is its grammar, in brackets where it may be left out. ``keeps`` is what it
    promises to keep, ``carries`` what becomes of lyrics and marks. ``apply`` reads the argument.
    """

    name: str
    argument: str
    summary: str
    source: str
    keeps: str
    carries: str
    example: str
    apply: Callable[[Passage, str], Passage]

    @property
    def usage(self) -> str:
        """How it is asked for: ``swing[:RATIO [UNIT]]``."""
        if not self.argument:
            return self.name
        if self.argument.startswith("["):
            return f"{self.name}[:{self.argument[1:]}"
        return f"{self.name}:{self.argument}"


_ALL_TOGETHER = "all voices together; lyrics and marks stay on their notes"
_BY_VOICE = "voice by voice; lyrics and marks go with their notes"
_SPLIT = "voice by voice; the first of the new notes keeps lyric and marks, the last its ends"

_TABLE = (
    Device(
        "augmentation", "[RATIO [metre]]", "every value longer by a ratio (2), or the metre too",
        "Messiaen, Technique de mon langage musical", "order, proportions", _ALL_TOGETHER,
        "augmentation:3/2: 1/4 1/8 to 3/8 3/16",
        arguments.factor(scaling.augmentation, scaling.grown),
    ),
    Device(
        "diminution", "[RATIO]", "every value shorter by a ratio (2)",
        "Messiaen, Technique de mon langage musical", "order, proportions", _ALL_TOGETHER,
        "diminution:2: 1/2 1/4 to 1/4 1/8", arguments.factor(scaling.diminution),
    ),
    Device(
        "retrograde", "[rhythm|pitch|both]", "values backwards, notes backwards, or both",
        "common practice; Messiaen, Technique", "order under rhythm, values under pitch", _BY_VOICE,
        "retrograde:rhythm: 1/4 1/8 1/8 to 1/8 1/8 1/4",
        lambda passage, argument: reordering.retrograde(passage, argument or "both"),
    ),
    Device(
        "palindrome", "", "the music and then its retrograde, a non-retrogradable rhythm",
        "Messiaen, Technique", "the first half whole", "lyrics and marks stay with the first half",
        "palindrome: 1/4 1/8 1/8 to 1/4 1/8 1/8 1/8 1/8 1/4",
        arguments.no_argument("palindrome", reordering.palindrome),
    ),
    Device(
        "displacement", "VALUE", "all notes later (or earlier) against the bar lines",
        "Toussaint: onset + k mod n", "order, values", "repeats, keys and clefs stay on their bars",
        "displacement:1/8: 1/4 1/4 to rest 1/8 1/4 1/4", arguments.displacement,
    ),
    Device(
        "rotation", "[STEPS]", "the values turned against the notes (1)",
        "common practice", "order of notes", _BY_VOICE,
        "rotation:1: 1/4 1/8 1/2 to 1/8 1/2 1/4",
        arguments.count_of(reordering.rotation, "rotation", 1, "rotation:1 or rotation:-2"),
    ),
    Device(
        "isorhythm", "VALUES [full]", "the notes on a repeated talea (full: till both meet again)",
        "Machaut; Messiaen, Liturgie de cristal", "order of notes", _BY_VOICE,
        "isorhythm:1/4 1/8: C D E to C 1/4 D 1/8 E 1/4", arguments.isorhythm,
    ),
    Device(
        "added-value", "VALUE[@NOTE]", "a value added to one note of every bar (the second)",
        "Messiaen, Technique", "order", _ALL_TOGETHER,
        "added-value:1/8: 1/4 1/4 1/4 1/4 to 1/4 3/8 1/4 1/4", arguments.added_value,
    ),
    Device(
        "hemiola", "", "two bars of three redrawn as three of two; a 6/8 bar as 3/4",
        "common practice", "order, values", _ALL_TOGETHER,
        "hemiola: 3/4 3/4 to 2/4 2/4 2/4", arguments.no_argument("hemiola", grouping.hemiola),
    ),
    Device(
        "dotting", "[UNIT]", "pairs of equal notes dotted, threes made a siciliano",
        "common practice", "order", _BY_VOICE,
        "dotting: 1/8 1/8 to 3/16 1/16", arguments.optional_value(against_the_beat.dotting),
    ),
    Device(
        "overdotting", "[UNIT]", "dotted pairs double-dotted",
        "Quantz 1752", "order", _BY_VOICE,
        "overdotting: 3/16 1/16 to 7/32 1/32",
        arguments.optional_value(against_the_beat.overdotting),
    ),
    Device(
        "swing", "[RATIO [UNIT]]", "pairs of equal notes long and short (2:1)",
        "Friberg and Sundström 2002", "order", _BY_VOICE,
        "swing:2:1: 1/8 1/8 to 1/6 1/12", arguments.ratio_and_unit(against_the_beat.swing, "swing"),
    ),
    Device(
        "straightening", "[RATIO [UNIT]]", "swung pairs made equal (2:1)",
        "Friberg and Sundström 2002", "order", _BY_VOICE,
        "straightening:2:1: 1/6 1/12 to 1/8 1/8",
        arguments.ratio_and_unit(against_the_beat.straightening, "straightening"),
    ),
    Device(
        "syncopation", "[VALUE]", "notes on the beat come early (by half a beat)",
        "common practice", "order", _BY_VOICE,
        "syncopation: 1/4 1/4 1/4 1/4 to 1/8 1/4 1/4 3/8",
        arguments.optional_value(against_the_beat.syncopation),
    ),
    Device(
        "embellishment", "[PARTS]", "every note split into equal ones on its pitch (2)",
        "common practice", "order", _SPLIT,
        "embellishment:2: 1/4 1/8 to 1/8 1/8 1/16 1/16",
        arguments.count_of(density.embellishment, "embellishment", 2, "embellishment:2"),
    ),
    Device(
        "reduction", "[UNIT]", "notes off the beat absorbed by the note before",
        "common practice", "order of what stays", "absorbed notes take their lyrics along",
        "reduction: 1/8 1/8 3/16 1/16 to 1/4 1/4", arguments.optional_value(density.reduction),
    ),
    Device(
        "resultant", "A:B [UNIT]", "the notes on the resultant of two pulses (eighths)",
        "Schillinger", "order of notes", _BY_VOICE,
        "resultant:3:2: values 1/4 1/8 1/8 1/4",
        arguments.counts_and_unit(cyclic_rhythms.resultant_rhythm, "resultant", "3:2"),
    ),
    Device(
        "euclidean", "K:N [UNIT]", "the notes on K strokes spread evenly over N pulses (eighths)",
        "Toussaint 2005", "order of notes", _BY_VOICE,
        "euclidean:3:8: values 3/8 3/8 1/4",
        arguments.counts_and_unit(cyclic_rhythms.euclidean, "euclidean", "3:8"),
    ),
    Device(
        "permutation", "ORDER", "the values of every so many notes in another order",
        "Messiaen", "order of notes", _BY_VOICE,
        "permutation:3 1 2: 1/4 1/8 1/16 to 1/16 1/4 1/8", arguments.permutation,
    ),
    Device(
        "grouping-shift", "GROUPS[@STEPS [UNIT]]", "accents in groups, begun some units late (1)",
        "common practice", "order, values", _ALL_TOGETHER,
        "grouping-shift:3+3+2@1: accents on eighths 2, 5, 8", arguments.grouping_shift,
    ),
)  # fmt: skip

DEVICES: dict[str, Device] = {device.name: device for device in _TABLE}
"""Every device by its name, in the order in which they are listed."""


def device_named(text: str) -> tuple[Device, str]:
    """The device and argument that ``name:argument`` asks for.

    Raises RequestError, naming the nearest device, where there is no such name.
    """
    name, _, argument = text.partition(":")
    name = name.strip()
    if name in DEVICES:
        return DEVICES[name], argument.strip()
    raise RequestError(f"there is no device {name!r}", legal=among(name, DEVICES))
