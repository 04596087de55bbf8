"""Pure computation: arrays and frozen classes in, frozen classes out. No input or output here."""
