"""The pages: one module for each group, each with a ``router`` that ``app.ROUTERS`` lists."""
