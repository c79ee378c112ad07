"""Cover, press sheets and booklet on the desk are those that the command writes: seen by resvg and by poppler."""

from __future__ import annotations

import io
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest
import resvg_py
from PIL import Image
from starlette.testclient import TestClient

from cagework.typeset.desk.feed import Feed
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.desk.server import application

Edit = Callable[[str, str, str], None]
COVERED = """  solutions: full
  isbn: 978-3-16-148410-0
  cover: {caliper: 0.5, blurb: Four doors and a stair.}
  press: {marks: true, slug: true}
"""
DPI = 96


@pytest.fixture
def client(compositor: Compositor, edit: Edit) -> TestClient:
    """A desk, for reading only, with a book that has a cover."""
    edit("book.yaml", "  solutions: full\n", COVERED)
    compositor.refresh()
    return TestClient(application(compositor, Feed(compositor)), base_url="http://127.0.0.1")


def seen(svg: str) -> Any:
    picture = resvg_py.svg_to_bytes(svg_string=svg, background="white", dpi=DPI)
    return np.asarray(Image.open(io.BytesIO(bytes(picture))).convert("L")).astype(float)


def blocks(picture: Any) -> Any:
    """How dark a picture is in blocks of 2 mm or so: renderers part by less than a pixel."""
    side = DPI // 12
    high, wide = (length // side - 1 for length in picture.shape)
    return picture[:high * side, :wide * side].reshape(high, side, wide, side).mean(axis=(1, 3)).ravel()


def test_they_look_as_the_files_do(client: TestClient, book: Path, tmp_path: Path, run: Any) -> None:
    run("build", book, "--out", tmp_path / "out", "--press", "--booklet").check_returncode()
    said = client.get("/sheets.json").json()
    assert {kind: (one["file"], one["count"]) for kind, one in said.items()} == {
        "cover": ("cover.pdf", 1), "press": ("book-press.pdf", 24), "booklet": ("booklet.pdf", 12)}
    for kind, numbers in (("cover", (1,)), ("press", (1, 8, 13)), ("booklet", (1, 5, 8))):
        for number in numbers:
            drawn = client.get(f"/sheets/{kind}/{number}.svg").text
            at = str(number)
            subprocess.run(["pdftoppm", "-r", str(DPI), "-f", at, "-l", at, "-singlefile", "-gray",
                            tmp_path / "out" / said[kind]["file"], tmp_path / "page"], check=True)
            theirs = np.asarray(Image.open(tmp_path / "page.pgm")).astype(float)
            ours = seen(drawn)
            assert np.abs(np.array(ours.shape) - theirs.shape).max() <= 1
            ours, theirs = (one[:min(len(ours), len(theirs)), :min(ours.shape[1], theirs.shape[1])]
                            for one in (ours, theirs))
            alike, moved = (np.corrcoef(blocks(ours), blocks(one))[0, 1] for one in (theirs, theirs[::-1]))
            assert alike > 0.95 > moved, (kind, number, alike, moved)
            frame = ElementTree.fromstring(drawn).attrib
            assert float(frame["width"].removesuffix("mm")) == pytest.approx(said[kind]["width"], abs=0.01)


def test_a_cover_tells_its_spine_and_what_to_ask_the_printer(client: TestClient) -> None:
    """12 leaves of 0.5 mm."""
    cover = client.get("/sheets.json").json()["cover"]
    assert cover["spine"] == [148, pytest.approx(6.0)]
    assert any("ask the printer" in note for note in cover["notes"])
    assert cover["width"] - 2 * cover["trim"] == pytest.approx(2 * 148 + 6.0)
    assert cover["trim"] - cover["bleed"] == pytest.approx(3.0)
    assert "a spine of 6.0 mm" in cover["said"][0] and "Four doors and a stair" in cover["said"][0]


def test_what_cannot_be_made_is_a_fault_in_its_place(
    client: TestClient, compositor: Compositor, edit: Edit,
) -> None:
    edit("book.yaml", "blurb: Four doors and a stair.", "blurb: Four doors, spine_text: true, spine: 2")
    compositor.refresh()
    said = client.get("/sheets.json").json()
    assert said["cover"]["fault"]["file"] == "book.yaml" and "too thin" in said["cover"]["fault"]["message"]
    assert client.get("/sheets/cover/1.svg").status_code == 404 and said["press"]["count"] == 24
    edit("book.yaml", "  cover: {caliper: 0.5, blurb: Four doors, spine_text: true, spine: 2}\n", "")
    compositor.refresh()
    assert "cover" not in client.get("/sheets.json").json()


@pytest.mark.parametrize("path", [
    "cover/2", "cover/0", "press/25", "press/x", "booklet/13", "nothing/1", "cover/../1"])
def test_no_other_sheet_is_given(client: TestClient, path: str) -> None:
    assert client.get(f"/sheets/{path}.svg").status_code == 404
