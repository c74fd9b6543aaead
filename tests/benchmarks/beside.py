"""Another checkout beside this one: ``combe demo`` cold and warm, and ``combe cover`` with everything kept.

``python tests/benchmarks/beside.py CHECKOUT [ROUNDS]``, say a clone of an older commit. The two take turns,
each with folders of its own for what it keeps; of each figure the least counts. A busy machine makes
seconds of all processors greater by a fifth or so, both checkouts alike; seconds on the clock say something
on an idle one alone.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[1])]

from first_run import Run, run
from measuring import line

HERE = Path(__file__).resolve().parents[2]
STUDY = "terrain_samples/demo/study.toml"


def cold(folder: Path, checkout: Path) -> Run:
    """Run the demo with nothing compiled and nothing kept."""
    shutil.rmtree(folder)
    folder.mkdir()
    return run(folder, "demo", checkout=checkout)


def warm(folder: Path, checkout: Path) -> Run:
    """Run the demo once more."""
    return run(folder, "demo", checkout=checkout)


def kept(folder: Path, checkout: Path) -> Run:
    """Cover the demo's study, all of which an earlier run has left, but for the first time."""
    return run(folder, "cover", str(checkout / STUDY), "--out", "cover", checkout=checkout)


def main(other: Path, rounds: int) -> None:
    """Print the least figures of both checkouts, and their ratios."""
    with tempfile.TemporaryDirectory() as name:
        folders = {checkout: Path(name) / str(n) for n, checkout in enumerate((other, HERE))}
        for checkout, folder in folders.items():
            folder.mkdir()
            # Python compiles its own sources at the first run that there is.
            run(folder, "--help", checkout=checkout)
        for what, job in {"demo, cold": cold, "demo, warm": warm, "cover, all kept": kept}.items():
            runs: dict[Path, list[Run]] = {checkout: [] for checkout in folders}
            for _ in range(rounds + (job is kept)):
                for checkout, folder in folders.items():
                    runs[checkout].append(job(folder, checkout))
            for field in ("cpu_s", "time_s"):
                that, this = (min(getattr(each, field) for each in runs[one]) for one in folders)
                line(f"{what}, {field}: that, this, ratio", f"{that:.2f} {this:.2f} {this / that:.2f}")


if __name__ == "__main__":
    main(Path(sys.argv[1]).resolve(), int(dict(enumerate(sys.argv[2:])).get(0, 3)))
