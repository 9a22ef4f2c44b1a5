"""From a computed dressing to the immutable list of steps of each stage."""

from companion.job.job import left_out, stage, stages, whole_job
from companion.job.steps import LeftOver, Stage, StageName, Step, StepGroup

__all__ = [
    "LeftOver",
    "Stage",
    "StageName",
    "Step",
    "StepGroup",
    "left_out",
    "stage",
    "stages",
    "whole_job",
]
