"""Layout files to `Layout`: find one on the shelf or beside a manifest, read it, say what is wrong."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

SHELF = Path(__file__).parent / "shelf"
"""The layouts that come with the tool, one YAML file each; the file's stem is its name."""

Key = str | int


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in a layout: the path of keys to it, what is wrong, the way out."""

    path: tuple[Key, ...]
    message: str
    hint: str = ""


class LayoutError(ValueError):
    """A layout that cannot be used, with every problem found in it."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("; ".join(problem.message for problem in problems))
        self.problems = problems


@dataclass(frozen=True, slots=True)
class Layout:
    """A page design (being written; see below for its fields)."""

    name: str


def shelf_names() -> tuple[str, ...]:
    """The names of the layouts on the shelf, sorted."""
    return tuple(sorted(path.stem for path in SHELF.glob("*.yaml")))


def layout_path(name: str, beside: Path) -> Path:
    """The file a layout name stands for: a shelf name, or a path ending in .yaml relative to `beside`.

    Raises LookupError, its text ready for the editor, where there is no such file.
    """
    path = beside / name if name.endswith(".yaml") else SHELF / f"{name}.yaml"
    if not path.is_file():
        raise LookupError(f"there is no layout '{name}'")
    return path


def read_layout(data: object, name: str) -> Layout:
    """A parsed layout file as a Layout. Raises LayoutError with every problem found."""
    return Layout(name)
