"""The migrations, each named by its number."""
