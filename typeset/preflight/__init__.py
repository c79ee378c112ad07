"""Any PDF to what a press would refuse in it, by rule and page.

`report.preflight` is the way in. A file becomes a `document.Document` (keys, boxes, and by `walk` all that its
pages paint); each file in `rules/` looks at that and says what it finds.
"""
