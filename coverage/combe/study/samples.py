"""Finds the study of the demo among the samples that come with the package."""

from __future__ import annotations

from pathlib import Path

from combe.terrain import sample_folder


def demo_study_path() -> Path:
    """Return the study file of the demo; raises RasterError where the samples are not installed."""
    return sample_folder() / "demo" / "study.toml"
