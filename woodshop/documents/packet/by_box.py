"""Steps that are worded alike for several boxes as one step, with the figures in which the boxes differ named."""

import re
from collections.abc import Sequence

# A length, a number, a word: what may differ from one box to the next.
_TOKEN = re.compile(r"\d+(?: \d+/\d+|/\d+|\.\d+)?(?: (?:in|mm)\b)?|[^\s\d]+|\s+")


def merged_steps(of_boxes: Sequence[tuple[str, tuple[str, ...]]]) -> tuple[str, ...] | None:
    """One list of steps out of those of several boxes, given as (box, steps).

    Where boxes differ, what differs is followed by the boxes that it is for; None when one has more steps than another.

    >>> merged_steps((("a 10", ("Cut it 16 1/4 in long.", "Glue it.")), ("an 8", ("Cut it 13 in long.", "Glue it."))))
    ('Cut it 16 1/4 in (for a 10) or 13 in (for an 8) long.', 'Glue it.')
    """
    if len({len(steps) for _, steps in of_boxes}) != 1:
        return None
    boxes = [box for box, _ in of_boxes]
    return tuple(_merged(boxes, texts) for texts in zip(*(steps for _, steps in of_boxes), strict=True))


def _merged(boxes: list[str], worded: tuple[str, ...]) -> str:
    texts = [_TOKEN.findall(text) for text in worded]
    first = texts[0]
    if all(text == first for text in texts):
        return worded[0]
    short = min(len(text) for text in texts)
    head = next((n for n in range(short) if any(text[n] != first[n] for text in texts)), short)
    tail = next((n for n in range(short - head) if any(text[-1 - n] != first[-1 - n] for text in texts)), short - head)
    groups: dict[str, dict[str, None]] = {}
    for box, text in zip(boxes, texts, strict=True):
        groups.setdefault("".join(text[head : len(text) - tail]).strip(), {})[box] = None
    said = " or ".join(f"{middle or 'without'} (for {', '.join(names)})" for middle, names in groups.items())
    return "".join(first[:head]) + said + "".join(first[len(first) - tail :])
