"""What is tried in part at each landing and whole at night: `WOODSHOP_NIGHTLY=1` asks for the whole."""

import os

IS_NIGHT = os.environ.get("WOODSHOP_NIGHTLY") == "1"
