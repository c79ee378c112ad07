"""What we rely on in svgwrite, which calls itself inactive: if this fails with a new Python or version, write the
elements ourselves. Names of elements and attributes: SVG 1.1 (W3C, second edition), chapters 5, 8, 9 and 10.
"""

from __future__ import annotations

from xml.etree.ElementTree import Element, canonicalize, tostring

import pytest
import svgwrite


def text_of(element: Element) -> str:
    return canonicalize(tostring(element, encoding="unicode"))


def test_a_drawing_has_its_size_its_box_and_its_words() -> None:
    drawing = svgwrite.Drawing(size=("10mm", "20mm"), viewBox="0 0 28 57", debug=False, role="img")
    drawing.set_desc(title="A & B", desc="two")
    root = drawing.get_xml()
    root.append(drawing.g(class_="cells").get_xml())
    assert text_of(root) == (
        '<svg xmlns="http://www.w3.org/2000/svg" baseProfile="full" height="20mm" role="img" version="1.1" '
        'viewBox="0 0 28 57" width="10mm"><title>A &amp; B</title><desc>two</desc><defs></defs>'
        '<g class="cells"></g></svg>')


@pytest.mark.parametrize("kind, said", [
    ("line", '<line stroke="#000000" stroke-dasharray="2 1" stroke-linecap="round" stroke-width="0.5" '
             'x1="0" x2="3" y1="1" y2="4"></line>'),
    ("path", '<path aria-label="12" d="M0 0 L1,1 Z" fill="none" fill-rule="evenodd" transform="rotate(9 1 1)">'
             '</path>'),
    ("text", '<text font-family="\'A B\'" letter-spacing="0.3" xml:space="preserve">'
             '<tspan x="1.5" y="2">&lt;7&gt;</tspan></text>'),
])
def test_an_element_says_what_it_is_given_and_no_more(kind: str, said: str) -> None:
    make = svgwrite.Drawing(debug=False)
    text = make.text("", font_family="'A B'", letter_spacing="0.3", **{"xml:space": "preserve"})
    text.add(make.tspan("<7>", x=["1.5"], y=["2"]))
    elements = {
        "line": make.line(("0", "1"), ("3", "4"), stroke="#000000", stroke_width="0.5", stroke_linecap="round",
                          stroke_dasharray="2 1"),
        "path": make.path(d="M0 0 L1,1 Z", fill="none", fill_rule="evenodd",
                          **{"aria-label": "12", "transform": "rotate(9 1 1)"}),
        "text": text,
    }
    assert text_of(elements[kind].get_xml()) == said
