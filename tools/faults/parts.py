"""The parts, in the order of the table. Add a module's name here."""

PARTS = (
    "pictures",
    "live_pictures",
    "videos",
    "tables",
    "marks",
    "folders",
    "catalogues",
    "guided",
    "names",
    "interface",
    "disk",
    "access",
    "erase",
    "kills",
    "load",
    "day",
)
