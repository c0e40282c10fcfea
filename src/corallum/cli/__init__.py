"""The command line: parse, call one action, render."""

import os

# The products of matrices here are many and small. Threads that wait for each other on them save
# next to nothing on a quiet machine, and on a busy one they doubled the time of an estimate.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
