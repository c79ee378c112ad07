"""A read PDF goes in; out comes what a press would refuse in it, by rule and page.

`report.inspect` is the way in. Each file in `rules/` looks at a `reader.document.PdfDocument` and says what it
finds.
"""
