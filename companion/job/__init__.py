"""From a computed dressing to the immutable list of steps of each stage."""

from companion.job.job import LeftOut, left_out, stage, stages, threading_of, whole_job
from companion.job.progress import are_at_odds, counted_as_done, is_past, ordered
from companion.job.steps import PASSES, Danger, LeftOver, Noun, Stage, StageName, Step, StepGroup
