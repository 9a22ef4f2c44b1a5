"""What is read from pages and files: nothing else in it, and nothing taken for another kind."""

from pydantic import BaseModel, ConfigDict


class Strict(BaseModel):
    """A value that is only what its fields say."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)
