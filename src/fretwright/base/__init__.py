"""What every layer shares: the error tree, source spans, findings and units.

Nothing here knows about music. Standard library only.
"""
