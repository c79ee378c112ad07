"""A topic's name goes in; out comes what the manual says of it, as Markdown or as HTML.

The manual is data: a Markdown file a topic, its pictures in `pictures/`, and `index.md`, which lists the topics in
the order in which an editor meets them, each with a line. `topics` reads it, `pages` sets it for a browser.
"""
