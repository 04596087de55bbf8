"""What stands in for a process that decodes pictures, so that it does something else."""

#: What it does with a picture is said in `{does}`.
STAND_IN = """
import os, sys, time
from chordline.adapters.decoding.shared_pixels import GivenPixels
from chordline.adapters.decoding.wire import receive, send
send(sys.stdout.buffer, {{"ready": True}})
_, content = receive(sys.stdin.buffer, most_bytes=10**9)
{does}
"""
