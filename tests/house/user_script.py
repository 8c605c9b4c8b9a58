"""A user's script, held to strict types with the library: it is checked, and never run.

What must be refused is marked, and a mark that nothing needs is refused in its turn.
"""

import rhythm
import rhythm.check.ledger
import rhythm.rebar.bar_plan
import rhythm.restate.targets
from rhythm.rebar.bar_plan import BarPlan
from rhythm.restate.targets import Target

theme: rhythm.Score = rhythm.read("theme.musicxml")
lilting: rhythm.Score = rhythm.restate(theme, "compound", lilt="iamb", by="bar")
by_path: rhythm.Score = rhythm.rebar("theme.musicxml", "3/4")

right: bool = rhythm.check(lilting).is_right
same: bool = rhythm.check.ledger.check(lilting).is_right
plan: tuple[BarPlan, ...] = rhythm.rebar.bar_plan.plan_of(lilting.bars)
target: Target = rhythm.restate.targets.parse_target("12/8")

done = rhythm.restate.outcome(theme, "12/8")
line: str = str(done.report)
poured: rhythm.Score = rhythm.rebar.outcome(done.score, "3/4").score

rhythm.restate(theme, "compound", by="bars")  # type: ignore[arg-type]
rhythm.group(theme, "3+3+2", show="colours")  # type: ignore[arg-type]
rhythm.excerpt(12)  # type: ignore[arg-type]
