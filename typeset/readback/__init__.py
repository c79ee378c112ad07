"""A finished file and the book it is to be go in; out comes every difference, and what was not compared.

`compare.read_back` is the way in; `asked` says what a file is to be besides its pages. `page_range` reads one page
after another, each twice, and keeps none. First its grids, against their puzzles and answers and not against what
was drawn: `grid_places` tells where each should lie, `expected` what must stand in it; `figures`, `cage_outlines`
and `tints` compare the two in each `grid_area`. Then the whole page against its marks, so that everything painted
is accounted for: `in_step` where they follow one another, else the `ledger`, which sets `sides` against each
other. `sheets`, `contents`, `notes`, `tags` and `entries` look at what is not painted; `page_references` takes
down what a page says of others, which `whereabouts` and `links` judge once all are read.
"""
