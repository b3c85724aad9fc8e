"""The command line: words in, flows called, words out.

Each command is one module, imported only when it is called, so that ``fretwright --help`` is quick.
Exit codes: 0 done, 1 findings that are errors or a refused take, 2 wrong use.
"""
