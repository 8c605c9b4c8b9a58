"""What a type checker sees of the verbs that have the name of a package.

``rhythm.check(score)`` is the verb, ``rhythm.check.ledger`` a module of its package; both must
type-check in a user's script. Nothing imports this when a program runs: the packages themselves
are made callable in :mod:`rhythm`. A test holds the modules named here to those that there are.
"""

from rhythm.arguments import at_the_door
from rhythm.check.ledger import check as _check
from rhythm.rebar.rebar import rebar as _rebar
from rhythm.verbs import restate as _restate

__all__ = ["Check", "Rebar", "Restate"]


class Check:
    """The verb check and the modules of its package."""

    from rhythm.check import (
        bar_alignment,
        bar_lengths,
        coverage,
        digest,
        editor,
        findings,
        habits,
        holes,
        ledger,
        ledger_rows,
        mend_bars,
        mend_rests,
        mend_signatures,
        mend_ties,
        mend_values,
        mending,
        numbering,
        part_copies,
        phrasing,
        places,
        planned_metres,
        reader_findings,
        rehearsal,
        remedies,
        row_builder,
        score_findings,
        signatures,
        summary,
        survey,
        ties,
        tuplets,
        voice_lengths,
        whole_bars,
    )

    __call__ = staticmethod(at_the_door(_check))


class Rebar:
    """The verb rebar and the modules of its package."""

    from rhythm.rebar import (
        bar_numbers,
        bar_plan,
        density,
        group,
        handed_over,
        marks,
        origins,
        passage,
        passage_edges,
        rebar,
        rebuilding,
        release,
        reordered_ties,
        sections,
        telling,
        tuplet,
        unbarring,
        whole_brackets,
        whole_tuplets,
    )

    _verb = at_the_door(_rebar)
    __call__ = staticmethod(_verb.__call__)
    outcome = staticmethod(_verb.outcome)


class Restate:
    """The verb restate and the modules of its package."""

    from rhythm.restate import (
        align,
        beat_by_beat,
        beat_fit,
        custom_maps,
        engine,
        fit,
        joint,
        left_bars,
        marks,
        passage_repeats,
        placement,
        positions,
        report,
        restate,
        split_bars,
        steady_beat,
        swing,
        targets,
        tempo,
        whole_beats,
    )

    _verb = at_the_door(_restate)
    __call__ = staticmethod(_verb.__call__)
    outcome = staticmethod(_verb.outcome)
