"""All stored requests of the builder proved again by HiGHS, beside the own search.

`python -m tests.bench.builder [--seconds 90] [--walks 24] [--write]`: small ones first;
where the proof does not end in time, the own search takes so many walks. `--write` puts
what was proved or found, and the hash it holds for, into the stored file, after each.
"""

from __future__ import annotations

import argparse
import json
import time
from typing import Any

from tests.coach.builder_cases import FILE, fingerprint, request_of

from whistlestop.builder.exact import exact
from whistlestop.builder.facts import pieces
from whistlestop.builder.search import search


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=90)
    parser.add_argument("--walks", type=int, default=24)
    parser.add_argument("--only", nargs="*", help="names of requests")
    parser.add_argument("--write", action="store_true")
    arguments = parser.parse_args()
    stored = json.loads(FILE.read_text(encoding="utf-8"))
    gaps = []
    held_for = fingerprint()
    chosen = [
        case
        for case in stored["cases"]
        if not arguments.only or case["name"] in arguments.only
    ]
    if stored["hash"] != held_for:
        # The points are others now: what was known of the old ones is worth nothing.
        for case in stored["cases"]:
            case |= {"points": 0, "bound": 0, "walks": 0}
    for case in sorted(chosen, key=lambda one: one["solver_s"]):
        gaps.append(judge(case, arguments.seconds, arguments.walks))
        if arguments.write:
            write(stored, held_for)
    print(f"mean gap {sum(gaps) / len(gaps):.3%}, worst {max(gaps):.2%}")


def judge(case: dict[str, Any], seconds: float, walks: int) -> float:
    """Solve one request, add what is known of it; the gap to the best known."""
    request = request_of(case["request"])
    left = pieces(request)
    began = time.process_time()
    solved = exact(left, request, seconds=seconds)
    solver_s = round(time.process_time() - began, 1)
    began = time.process_time()
    found = search(left, request)
    search_s = time.process_time() - began
    assert found is not None
    assert found.is_allowed
    best = max(solved.points or 0, found.points, case["points"])
    if not solved.proved:
        longer = search(left, request, walks=walks)
        assert longer is not None
        best = max(best, longer.points)
        case["walks"] = max(walks, case["walks"])
    bounds = [bound for bound in (solved.bound, case["bound"]) if bound]
    bound = max(min(bounds, default=0), best)
    gap = (best - found.points) / best
    print(
        f"{case['name']:<16} own {found.points} in {search_s:.2f} s, "
        f"best {best}, bound {bound} in {solver_s} s, gap {gap:.2%}",
        flush=True,
    )
    case |= {"points": best, "bound": bound, "solver_s": solver_s}
    case["proved"] = best == bound
    return gap


def write(stored: dict[str, Any], held_for: str) -> None:
    """Put what is known into the stored file; eight quick proofs are the small ones."""
    quick = sorted(
        (case for case in stored["cases"] if case["proved"]),
        key=lambda case: case["solver_s"],
    )[:8]
    for case in stored["cases"]:
        case["small"] = any(case is one for one in quick)
    lines = ",\n".join(json.dumps(case) for case in stored["cases"])
    head = f'"note": {json.dumps(stored["note"])},\n"hash": "{held_for}"'
    text = f'{{\n{head},\n"cases": [\n{lines}\n]\n}}\n'
    FILE.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
