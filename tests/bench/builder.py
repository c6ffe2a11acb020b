"""All stored requests of the builder proved anew by HiGHS, beside the own search.

`python -m tests.bench.builder [--seconds 900] [--write]`: small ones first; `--write`
puts what was proved, and the hash it holds for, into the stored file.
"""

from __future__ import annotations

import argparse
import json
import time

from tests.coach.builder_cases import FILE, fingerprint, request_of

from whistlestop.builder.exact import exact
from whistlestop.builder.facts import pieces
from whistlestop.builder.search import search


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=900)
    parser.add_argument("--write", action="store_true")
    arguments = parser.parse_args()
    stored = json.loads(FILE.read_text(encoding="utf-8"))
    gaps = []
    for case in sorted(stored["cases"], key=lambda one: one["solver_s"]):
        request = request_of(case["request"])
        left = pieces(request)
        began = time.process_time()
        solved = exact(left, request, seconds=arguments.seconds)
        solver_s = round(time.process_time() - began, 1)
        began = time.process_time()
        found = search(left, request)
        search_s = time.process_time() - began
        assert found is not None
        assert found.is_allowed
        bound = max(solved.bound or 0, found.points)
        best = max(solved.points or 0, found.points)
        gaps.append((bound - found.points) / bound)
        print(
            f"{case['name']:<16} own {found.points} in {search_s:.2f} s, "
            f"best {best}, bound {bound} in {solver_s} s, gap {gaps[-1]:.2%}",
            flush=True,
        )
        case |= {"points": best, "bound": bound, "solver_s": solver_s}
        case["proved"] = best == bound
    print(f"mean gap {sum(gaps) / len(gaps):.3%}, worst {max(gaps):.2%}")
    if arguments.write:
        lines = ",\n".join(json.dumps(case) for case in stored["cases"])
        head = f'"note": {json.dumps(stored["note"])},\n"hash": "{fingerprint()}"'
        text = f'{{\n{head},\n"cases": [\n{lines}\n]\n}}\n'
        FILE.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
