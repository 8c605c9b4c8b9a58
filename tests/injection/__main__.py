"""``python -m tests.injection``: the table of slips told, by kind."""

from __future__ import annotations

import argparse
import sys
from collections import Counter

from tests.injection.bench import GOALS, run, scores, tally
from tests.injection.slips import KINDS

HEADS = ("kind", "faults", "told", "bar", "part", "once", "restored", "adds up", "remarks")


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.injection", description=__doc__)
    parser.add_argument("--scores", type=int, default=72, help="how many scores (72)")
    parser.add_argument("--each", type=int, default=24, help="how many slips in each (24)")
    parser.add_argument("--seed", type=int, default=12)
    parser.add_argument("--kind", action="append", choices=list(KINDS), default=[])
    parser.add_argument("--show", action="store_true", help="print every slip that was missed")
    chosen = parser.parse_args()
    paths = scores(chosen.scores)
    outcomes = list(run(paths, chosen.each, chosen.seed, chosen.kind))
    found = tally(outcomes)
    print("| " + " | ".join(HEADS) + " |")
    print("|---" * len(HEADS) + "|")
    for kind in [*(name for name in KINDS if name in found), ""]:
        print("| " + " | ".join(_cells(kind or "all", found[kind])) + " |")
    if chosen.show:
        for each in outcomes:
            slip = each.slip
            if not slip.seen:
                continue
            fine = each.told and each.bar and each.part and each.once and each.restored is not False
            if not fine or each.lost or not each.adds_up:
                print(f"\n{each.path.name}: {slip}")
                for fault in each.faults[:6]:
                    print(f"    {fault.part} {fault.number}/{fault.voice} {fault.kind}: {fault}")
                if each.error:
                    print(f"    mend: {each.error}")
                if each.lost:
                    print("    NOTES LOST")
                print(f"    told {each.told} bar {each.bar} part {each.part} once {each.once}"
                      f" restored {each.restored} adds up {each.adds_up}")  # fmt: skip
    total = found[""]
    short = [goal for goal, least in GOALS.items() if _share(total, goal) < least]
    lost, defects = total["lost"], total["defects"]
    print(f"\n{len(outcomes)} slips in {len(paths)} scores; notes lost in mending: {lost}")
    print(f"scores that mending could not write, by a defect of ours: {defects}")
    print(f"{total['unseen']} leave music that nothing tells from what was meant; not counted")
    print(f"below their goals: {', '.join(short)}" if short else "all goals are met")
    return 1 if short or lost or defects else 0


def _share(count: Counter, name: str) -> int:
    """Of 100; parts and counts are of those that were told, bars of those that were called."""
    among = {
        "told": "faults", "adds up": "faults", "restored": "unique", "bar": "called",
    }.get(name, "told")  # fmt: skip
    return 100 * count[name] // count[among] if count[among] else 100


def _cells(kind: str, count: Counter) -> list[str]:
    shares = [
        str(_share(count, name)) if count["faults"] else ""
        for name in ("told", "bar", "part", "once")
    ]
    restored = str(_share(count, "restored")) if count["unique"] else ""
    adds = str(_share(count, "adds up")) if count["faults"] else ""
    remarks = f"{count['remarked']} of {count['remarks']}" if count["remarks"] else ""
    return [kind, str(count["faults"] or ""), *shares, restored, adds, remarks]


if __name__ == "__main__":
    sys.exit(main())
