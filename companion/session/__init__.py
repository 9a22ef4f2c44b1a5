"""The walk as it runs: the only place that owns threads and queues."""
