"""What Endswitch does: receives, stores, sends and shows; every decision comes from ``rules``."""

import os

# Products of the diagnosis are small: a linear algebra library that shares them out over processors
# waits for its threads longer than a product takes, and many times longer where others are at work. It
# reads this when it is first imported; whoever runs the service may have set it otherwise.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
