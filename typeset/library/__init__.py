"""What a program in Python asks of cagework, a function each; all of it is named in `cagework` itself.

A part is loaded when one of its functions is first used.
"""
