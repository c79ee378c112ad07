"""The finished file, read back: its pages' own lines and letters held against the puzzles, before it may stand.

`proof.read_back` is the way in; `part` reads one page after another and keeps none. `leaf` turns a page into
letters, lines and fills; `placed` tells where each grid should lie; `wanted` what must stand in it, by the puzzle
and its answer, not by what was drawn; `figures`, `fences` and `tints` compare the two in each grid's `area`;
`prose` compares words; `sayings` takes down what a page says of others, which `references` and `leads` judge once
all are read.
"""
