"""A manifest goes in; a finished book, newspaper columns or an answer to the editor come out.

The modules here stand between the rooms: `faults` and `marks` are their common words, `book` is what was read,
`plan` and `pages` say what stands where, and `build` puts the stages in order. What is public is in `library`, and
named in `cagework`; all other modules may change.
"""
