"""Plans, proves, cuts and draws winter hive hardware."""

import os

# The arrays here are small: more threads for one product of them take several times the processor time, and may add
# up in another order. numpy reads this when it is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
