"""An offline, hands-free companion for dressing a floor loom by ear."""

import os

__version__ = "0.1.0"

# onnxruntime tells its maker of each start over the network unless this is set before it loads
# (its Privacy.md, "Disabling Telemetry"). Here, since whatever of ours loads it comes after.
os.environ["ORT_DISABLE_TELEMETRY"] = "1"
