"""Writes files whole or not at all; for what is published, as for all else."""

from combe.files import ensure_folder, reason, replacing, write_text_atomically

__all__ = ["ensure_folder", "reason", "replacing", "write_text_atomically"]
