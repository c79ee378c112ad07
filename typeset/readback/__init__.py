"""A finished file and the book it is to be go in; out comes every difference between them.

`compare.read_back` is the way in; `page_range` reads one page after another and keeps none. `page_content` turns a
page into letters, lines and fills; `grid_places` tells where each grid should lie; `expected` what must stand in
it, by the puzzle and its answer, not by what was drawn; `figures`, `cage_outlines` and `tints` compare the two in
each `grid_area`; `prose` compares words; `page_references` takes down what a page says of others, which
`whereabouts` and `links` judge once all are read.
"""
