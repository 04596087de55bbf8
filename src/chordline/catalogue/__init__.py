"""The trade as data: tests, measures, sources; and the loader that checks them."""
