"""From a computed dressing to the immutable list of steps of each stage."""

from companion.sequence.job import left_out, stage, stages, whole_job
from companion.sequence.steps import Stage, StageName, Step, StepGroup

__all__ = [
    "Stage",
    "StageName",
    "Step",
    "StepGroup",
    "left_out",
    "stage",
    "stages",
    "whole_job",
]
