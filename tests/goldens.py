"""Freezes what every command says of four studies, and tells how two versions of Combe differ in it.

``python tests/goldens.py make FOLDER [--source CHECKOUT]`` asks the checkout (this one unless named) all
questions, of the demo and of three invented studies of other kinds, and keeps in FOLDER what is printed, the
JSON, the text of pages, and figures, cells and hashes of rasters and GeoPackages.
``python tests/goldens.py compare OLD NEW`` prints what differs, and leaves with 1 if anything does.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import re
import runpy
import shutil
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[1]
STUDIES = ("demo", "analogue", "on_channel", "network")
PATHS = {
    "demo": ("Tarnbeacon", "Larkcombe"),
    "analogue": ("Long Moor", "Upper Combe"),
    "on_channel": ("Long Moor", "Upper Combe"),
    "network": ("Upper Combe", "Waterfoot"),
}
PLACES = ("-84.34,36.61", "-84.29,36.535", "-84.15,36.62")
COMMANDS = (
    *("demo", "new", "ground", "check", "stations", "aerial", "path", "feed", "cover", "explain", "site"),
    *("channels", "visit", "coordinate", "delays", "retire", "report", "compare", "export", "evidence"),
    *("guide", "desk"),
)
CHATTER = re.compile(r" % done$|compiling numeric kernels")
RATE = re.compile(r"^ *[\d.]+ s: .* a second; ", re.MULTILINE)
"""What the text of a siting says of its speed."""


class Question(NamedTuple):
    """A command line to be asked in a study's folder: a label, words, and whether as text, JSON or both.

    ``OUT`` among the words stands for a folder whose files are kept, ``MODE`` for text or json.
    """

    label: str
    words: tuple[str, ...]
    modes: tuple[str, ...] = ("text", "json")


def questions_of(study: str) -> list[Question]:
    """Return what is asked of one study, in the order of work."""
    one, other = PATHS[study]
    out, log = ("--out", "OUT"), ("--log-file", "visits-MODE.gpkg")
    found = [
        Question("check", ("check", "study.toml")),
        Question("path", ("path", "study.toml", "--from", one, "--to", other)),
        Question(
            "coordinate",
            ("coordinate", "study.toml", *(f"--at={place}" for place in PLACES), "--trigger", "40"),
        ),
        Question("feed", ("feed", "study.toml", *out)),
        Question(
            "feed-at-heights", ("feed", "study.toml", *out, "--receive-height", "5:25:5", "--best-bearing")
        ),
        Question("feed-half-the-time", ("feed", "study.toml", *out, "--time-percent", "50")),
        Question("cover", ("cover", "study.toml", *out)),
        Question("cover-shares", ("cover", "study.toml", *out, "--probability", "--unserved")),
        Question("compare", ("compare", "study.toml", "study.toml")),
        # Four outputs on all channels take the integer programme of the analogue study half a minute.
        Question(
            "channels", ("channels", "study.toml", *(("--channels", "40-51") if study == "analogue" else ()))
        ),
        Question(
            "channels-some",
            ("channels", "study.toml", "--relay", other, "--channels", "21-34", "--best", "3"),
        ),
        Question("site", ("site", "study.toml", *out, "--compare", "1", "2")),
        Question("export", ("export", "study.toml", *out)),
        Question("report", ("report", "study.toml", "--html", "OUT/brief.html")),
        Question("sheet", ("visit", "study.toml", *out, "--sheet", "--aerial-size-m", "2.5")),
        Question("visit-dry-run", ("visit", "study.toml", "readings.csv", *out, *log, "--dry-run")),
        Question("visit", ("visit", "study.toml", "readings.csv", *out, *log)),
        Question("visit-log", ("visit", "study.toml", *out, *log, "--log")),
    ]
    found += [
        Question(f"explain-{k}", ("explain", "study.toml", "--at", at)) for k, at in enumerate(PLACES, 1)
    ]
    if study == "analogue":
        found.append(Question("survey", ("visit", "study.toml", "--survey")))
    if study in ("analogue", "on_channel"):
        found.append(Question("aerial", ("aerial", "study.toml", *out, "--station", "Upper Combe")))
    return found


def questions_without_study() -> list[Question]:
    """Return what is asked of no study of our own."""
    yagi = ("--gain", "11", "--horizontal-width", "50", "--vertical-width", "60")
    kinds = {
        "dipoles": ("--count", "4", "--tilt", "1"),
        "yagis": ("--count", "2", "--direction", "sideways", "--spacing", "1.2", *yagi),
        "trough": ("--count", "4", "--polarization", "vertical", "--opening", "90"),
        "panels": ("--count", "4", "--tilt", "1.5", "--null-fill", "10"),
        "panels-around": ("--count", "2", "--radius", "0.8", "--bearings", "0,120,240"),
    }
    out = ("--out", "OUT")
    found = [
        Question(f"aerial-{kind}", ("aerial", "--kind", kind.partition("-")[0], *words, *out))
        for kind, words in kinds.items()
    ]
    found += [
        Question("evidence", ("evidence",)),
        Question(
            "evidence-page",
            ("evidence", "--recommendation", "BT.419", "--html", "OUT/evidence.html"),
            ("text",),
        ),
        Question("guide", ("guide", "feed"), ("text",)),
        Question("schema", ("check", "--schema"), ("text",)),
        Question("help", ("--help",), ("text",)),
        *(Question(f"help-{name}", (name, "--help"), ("text",)) for name in COMMANDS),
        Question("demo", ("demo", *out)),
        Question("new", ("new", "new-MODE")),
        Question("ground-no-study", ("ground", "fetch", "nowhere.toml"), ("text",)),
        Question("fault-twice", ("new", "new-text"), ("text",)),
        Question("fault-command", ("covr",), ("text",)),
        Question("fault-no-study", ("cover", "nowhere.toml")),
        Question("fault-option", ("path", "spoilt.toml", "--form", "A"), ("text",)),
        Question("faults", ("check", "spoilt.toml")),
        Question("faults-feed", ("feed", "spoilt.toml"), ("text",)),
    ]
    return found


def make(folder: Path, source: Path, only: str = "") -> None:
    """Ask a checkout everything, or what has a word in ``STUDY/LABEL``; keep the answers in a new folder."""
    if folder.exists() and any(folder.iterdir()):
        sys.exit(f"goldens: {folder} is not empty; name a new folder")
    _use(source)
    from support_golden_studies import write_demo_readings, write_studies

    with tempfile.TemporaryDirectory(prefix="combe-goldens-") as work:
        os.environ["COMBE_CACHE"], bench = str(Path(work) / "cache"), Path(work) / "studies"
        bench.mkdir()
        _ask(Question("new", ("new", "demo"), ("text",)), bench, folder / "demo")
        write_demo_readings(bench / "demo")
        write_studies(bench)
        text = (bench / "analogue" / "study.toml").read_text("utf-8")
        spoilt = text.replace('"people.csv"', '"gone.csv"').replace("channel = 25", "channel = 12")
        (bench / "spoilt.toml").write_text(spoilt.replace("erp_w = 50.0", "erp_w = -5.0"), "utf-8")
        asked = [(bench, folder / "any", question) for question in questions_without_study()]
        asked += [(bench / study, folder / study, each) for study in STUDIES for each in questions_of(study)]
        for at, kept, question in asked:
            if only in f"{kept.name}/{question.label}":
                _ask(question, at, kept)


def _use(source: Path) -> None:
    """Have the package imported from a checkout, and nowhere else."""
    sys.path.insert(0, str(source / "coverage"))
    os.environ.update(COLUMNS="100", OPENBLAS_NUM_THREADS="1", NO_COLOR="1")
    import combe

    if not Path(combe.__file__).is_relative_to(source / "coverage"):
        sys.exit(f"goldens: combe came from {combe.__file__} and not from {source}")


def _used() -> str:
    """Return the checkout that the package is imported from."""
    return str(Path(str(sys.modules["combe"].__file__)).parents[2])


def _ask(question: Question, bench: Path, folder: Path) -> None:
    """Ask one question in a folder, and keep what is printed and written."""
    from support_goldens import keep, without_varying

    start = time.monotonic()
    for mode in question.modes:
        out = bench / f"out-{question.label}-{mode}"
        out.mkdir()
        words = [word.replace("OUT", out.name).replace("MODE", mode) for word in question.words]
        code, printed, remarks = _run([*words, *(["--json"] if mode == "json" else [])], bench)
        folder.mkdir(parents=True, exist_ok=True)
        printed, remarks = (
            RATE.sub("", text)
            .replace(str(bench), "BENCH")
            .replace(out.name, "OUT")
            .replace(_used(), "CHECKOUT")
            for text in (printed, remarks)
        )
        if mode == "json" and code != 2:
            answer = {"exit code": code} | without_varying(json.loads(printed))
            text = json.dumps(answer, indent=1, ensure_ascii=False) + "\n"
            (folder / f"{question.label}.json").write_text(text, "utf-8")
        else:
            ending = "txt" if mode == "text" else "json.txt"
            (folder / f"{question.label}.{ending}").write_text(
                f"{printed}{remarks}exit code {code}\n", "utf-8"
            )
        for path in sorted(out.rglob("*")):
            # What the second run writes is what the first did; two copies would tell each difference twice.
            if path.is_file() and mode == question.modes[0]:
                keep(path, folder / f"{question.label}.files" / path.relative_to(out))
        shutil.rmtree(out)
    for log in sorted(bench.glob("visits-text.gpkg")) if question.label == "visit" else ():
        keep(log, folder / f"{question.label}.files" / log.name)
    print(f"{folder.name:12s} {question.label:20s} {time.monotonic() - start:6.1f} s", flush=True)


def _run(words: Sequence[str], bench: Path) -> tuple[int, str, str]:
    """Run ``python -m combe WORDS`` in this process; return exit code, standard output and remarks."""
    streams = [io.TextIOWrapper(io.BytesIO(), encoding="utf-8", newline="\n") for _ in range(2)]
    code = 0
    with _at(bench, words), contextlib.redirect_stdout(streams[0]), contextlib.redirect_stderr(streams[1]):
        try:
            runpy.run_module("combe", run_name="__main__", alter_sys=False)
        except SystemExit as left:
            code = left.code if isinstance(left.code, int) else int(left.code is not None)
    for stream in streams:
        stream.flush()
    printed, remarks = (stream.buffer.getvalue().decode("utf-8") for stream in streams)
    kept = [line for line in remarks.splitlines(keepends=True) if not CHATTER.search(line.rstrip())]
    return code, printed, "".join(kept)


@contextlib.contextmanager
def _at(bench: Path, words: Sequence[str]) -> Iterator[None]:
    """Stand in a folder with a command line in place of our own."""
    arguments, sys.argv = sys.argv, ["combe", *words]
    try:
        with contextlib.chdir(bench):
            yield
    finally:
        sys.argv = arguments


def compare(old: Path, new: Path, *, most: int, rounded: bool) -> int:
    """Print what differs between two folders of answers, and return 1 if anything does."""
    from support_goldens import differences

    count = 0
    for name, found in differences(old, new, rounded=rounded):
        count += 1
        print(name)
        for each in found[:most]:
            print("  " + " ".join(part for part in each if part))
        if len(found) > most:
            print(f"  ... and {len(found) - most} more; see all with --most {len(found)}")
    print(f"{count} files differ" if count else "no difference")
    return int(count > 0)


def main() -> int:
    """Read the command line and do what it says."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    jobs = parser.add_subparsers(dest="job", required=True)
    making = jobs.add_parser("make", help="keep what a checkout answers")
    making.add_argument("folder", type=Path)
    making.add_argument("--source", type=Path, default=ROOT, metavar="CHECKOUT")
    making.add_argument("--only", default="", metavar="WORD", help="what has a word in STUDY/LABEL alone")
    comparing = jobs.add_parser("compare", help="print what differs between two such folders")
    comparing.add_argument("old", type=Path)
    comparing.add_argument("new", type=Path)
    comparing.add_argument("--most", type=int, default=12, help="differences shown of each file (12)")
    comparing.add_argument("--rounded", action="store_true", help="numbers with fewer decimals are the same")
    given = parser.parse_args()
    if given.job == "make":
        make(given.folder.resolve(), given.source.resolve(), given.only)
        return 0
    return compare(given.old, given.new, most=given.most, rounded=given.rounded)


if __name__ == "__main__":
    sys.exit(main())
