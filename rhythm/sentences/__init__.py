"""What each verb is told, as a sentence with blanks: ``Put all bars into 12/8, long first ...``.

One table says which blanks a verb has, what may stand in each and what it means; another does the
same for what makes something else of a score: a sheet, sound, a page, a list of faults. Whoever
lets people say what is to be done (a page, a saved chain) reads it here; a test holds it against
the verbs themselves, so that no new option can be forgotten.

Conventions
-----------
``text`` has each blank in braces; what is said seldom stands in ``more``. A blank's ``words`` are
pairs of what is handed on and how it is said; where ``free``, anything else may be written too.
``usual`` is what holds where nothing is said. ``shown`` are words with a tiny example in note
values, ``1/8 1/8 to 1/4 1/8``, for whoever can draw them; a metre stands in brackets.
"""

from rhythm.sentences.blank import Blank, Sentence
from rhythm.sentences.of_making import MADE
from rhythm.sentences.of_verbs import SENTENCES

__all__ = ["MADE", "SENTENCES", "Blank", "Sentence"]
