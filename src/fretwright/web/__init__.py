"""The school in a browser: one application over the flows and the store.

``app.create_app`` puts it together; ``school.School`` is what every page works with; ``pages`` holds one
module for each group of pages, each with a ``router``. Every route declares who may use it
(``access``), every error has one shape (``refusals``), every answer the same headers (``guards``).
"""
