"""When a result changed: not when it was built, worded or laid out anew."""

import json
import os
import time
from datetime import UTC, datetime
from typing import Any, Final

from reportgen.building import manifest
from reportgen.building.manifest import Noted

EPOCH: Final = "SOURCE_DATE_EPOCH"  # a moment that stands for now, so that builds can be repeated


def digest_of(results: str) -> str:
    """Return a digest of what a results file finds: estimates, verdicts, checks, and whether the
    trial is finished.

    results: the file's JSON. Numbers count to six digits, so that another computer finds the same.
    """
    found = json.loads(results)
    estimates = [_figures(one) for one in found.get("estimates", ())]
    checks = [[one["check"], one["verdict"]] for one in found.get("fairness", ())]
    verdicts = [[one["metric"], one["treatment"], one["code"]] for one in found.get("verdicts", ())]
    is_interim = bool(found.get("trial", {}).get("interim"))
    return manifest.digest(json.dumps([estimates, verdicts, checks, is_interim]))


def _figures(estimate: dict[str, Any]) -> list[str]:
    numbers = [estimate.get(name) for name in ("value", "low", "high")]
    texts = ["" if number is None else f"{number:.6g}" for number in numbers]
    return [estimate["metric"], estimate["treatment"], *texts]


def changed_at(earlier: Noted | None, result: str, now: str) -> str:
    """Return when a result last changed, as RFC 3339; empty where no other result was published
    before it.

    earlier: the note of the report that is there. now: the moment of this build.
    """
    if earlier is None or not earlier.result:
        return ""
    if earlier.result == result:
        return earlier.changed_at
    return now


def moment() -> str:
    """Return the present moment as RFC 3339, or the one that `SOURCE_DATE_EPOCH` names."""
    seconds = int(os.environ.get(EPOCH) or time.time())
    return datetime.fromtimestamp(seconds, UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
