"""What harms a club's tool, tried on purpose: `make faults`.

Each part is a module of this folder with a function `run(budget) -> Row`, named in
`parts.PARTS`. It runs in a process of its own, so that a part that crashes or hangs is a finding,
not the end. One table comes out of all of them; any finding makes the command fail.

To add a part (a kill test, access, erasing, load): write `my_part.py` with `run`, add its name to
`PARTS`, and call it with a small budget in `tests/faults/`.
"""
