"""How soon 20 boards on one walk show a press: `python tests/bench/bench_board.py [boards]`.

Starts the real command, opens the boards' lines from this process, presses done on one
board after another, and takes for each press the time until every board has the new place. Prints
the median, the 95th per cent and the slowest, in milliseconds; it judges nothing.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import threading
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from board_door import RunningBoard
from front_door import PLANS

PRESSES = 120
PLAN = PLANS / "striped-towels.toml"


class Looker:
    """One board: notes when it is shown each place."""

    def __init__(self, board: RunningBoard) -> None:
        self.shown: dict[int, float] = {}
        self.place: dict[str, Any] = {}
        self.news = threading.Condition()
        self._board = board
        threading.Thread(target=self._look, daemon=True).start()

    def _look(self) -> None:
        for kind, data in self._board.events():
            if kind in {"whole", "place"}:
                place = data["place"] if kind == "whole" else data
                with self.news:
                    self.place = place
                    self.shown[place["step"]] = time.perf_counter()
                    self.news.notify_all()

    def wait_for(self, step: int) -> float:
        with self.news:
            assert self.news.wait_for(lambda: step in self.shown, 30)
        return self.shown[step]


def main(boards: int) -> None:
    with tempfile.TemporaryDirectory() as home, RunningBoard(Path(home), what=PLAN) as board:
        lookers = [Looker(board) for _ in range(boards)]
        for looker in lookers:
            looker.wait_for(1)
        first, last, answered = [], [], []
        counted = 0
        for press in range(PRESSES):
            place = lookers[press % boards].place
            step = place["step"]
            text = "done"
            if place["mode"] == "counting":
                confirmed = place["progress"]["confirmed"]
                text, counted = f"count {confirmed - counted}", confirmed
            begun = time.perf_counter()
            outcome = board.give(text, place, f"press-{press:06}")
            answered.append(time.perf_counter() - begun)
            assert outcome == "taken"
            seen = [looker.wait_for(step + 1) - begun for looker in lookers]
            first.append(min(seen))
            last.append(max(seen))
    print(f"{boards} boards, {PRESSES} presses, one walk; milliseconds")
    for name, times in (("answer", answered), ("first board", first), ("last board", last)):
        ordered = sorted(times)
        print(
            f"  {name:12} median {1000 * statistics.median(ordered):7.1f}"
            f"  95 % {1000 * ordered[int(0.95 * len(ordered))]:7.1f}"
            f"  slowest {1000 * ordered[-1]:7.1f}"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
