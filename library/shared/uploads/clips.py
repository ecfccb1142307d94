"""A short clip, decoded and drawn anew without its sound.

The container is opened as what its first bytes say and never by guessing: a playlist that names
other files or addresses would be opened, too, and they with it.
"""

import tempfile
import time
from collections.abc import Iterator
from fractions import Fraction
from typing import Any, BinaryIO, Final, NoReturn

import av
from av.container import InputContainer, OutputContainer
from av.filter import Graph
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from library.shared.uploads.kinds import BROKEN, MOST_SECONDS, Kind, NotTaken, Upload

LONGEST_SIDE: Final = 960  # pixels
LARGEST: Final = 4096  # pixels a side may claim
FRAMES_A_SECOND: Final = 30
DECODERS: Final = frozenset({"h264", "hevc", "vp8", "vp9", "libdav1d", "av1", "mpeg4"})
PATIENCE: Final = 20.0  # seconds of our own time
MILLISECOND: Final = 1000  # of the written clip's clock, a second

TURNED: Final = {
    90: (("transpose", "cclock"),),
    -90: (("transpose", "clock"),),
    180: (("hflip", None), ("vflip", None)),
    -180: (("hflip", None), ("vflip", None)),
}
"""How to turn a frame upright, by the degrees its phone says it is turned to the left."""

TOO_LONG: Final = f"This clip is too long: {MOST_SECONDS} seconds at most. Cut it, or film again."
TOO_SLOW: Final = "This clip takes too long to convert. Film it shorter, or in a smaller size."
UNKNOWN: Final = "This clip is in a form we cannot read. Film it with the phone’s usual settings."


def read_clip(file: BinaryIO, container: str) -> Upload:
    """Raises NotTaken for what is no whole clip, is too long, or takes too long to convert."""
    deadline = time.monotonic() + PATIENCE
    try:
        with av.open(file, "r", format=container, io_open=_nothing_else) as source:
            return _written(source, _video(source), deadline)
    except (av.FFmpegError, OSError, ValueError, MemoryError):
        raise NotTaken(BROKEN) from None


def _nothing_else(*asked: Any) -> NoReturn:
    """Whatever a clip names beside itself is not opened."""
    raise NotTaken(UNKNOWN)


def _video(source: InputContainer) -> VideoStream:
    """The moving picture, if what it claims can be taken."""
    stream = next(iter(source.streams.video), None)
    if stream is None or stream.codec_context is None:
        raise NotTaken(UNKNOWN)
    context = stream.codec_context
    if context.codec.name not in DECODERS:
        raise NotTaken(UNKNOWN)
    if not (0 < context.width <= LARGEST and 0 < context.height <= LARGEST):
        raise NotTaken(UNKNOWN)
    if _claimed_seconds(source, stream) > MOST_SECONDS + 0.5:
        raise NotTaken(TOO_LONG)
    stream.thread_type = "AUTO"
    return stream


def _claimed_seconds(source: InputContainer, stream: VideoStream) -> float:
    if stream.duration and stream.time_base:
        return float(stream.duration * stream.time_base)
    return (source.duration or 0) / av.time_base


def _frames(
    source: InputContainer, stream: VideoStream, deadline: float
) -> Iterator[tuple[float, VideoFrame]]:
    """The frames with their seconds from the first, no more of them than are shown a second."""
    begin, due, size = None, 0.0, None
    for frame in source.decode(stream):
        if time.monotonic() > deadline:
            raise NotTaken(TOO_SLOW)
        size = size or (frame.width, frame.height)
        if frame.time is None or (frame.width, frame.height) != size:
            raise NotTaken(BROKEN)
        begin = frame.time if begin is None else begin
        at = frame.time - begin
        if at > MOST_SECONDS + 0.5:
            raise NotTaken(TOO_LONG)
        if at >= due:
            due = max(due, at - 0.5 / FRAMES_A_SECOND) + 1 / FRAMES_A_SECOND
            yield at, frame


def _written(source: InputContainer, stream: VideoStream, deadline: float) -> Upload:
    # The index goes to the front, for which the writer reads its own file again, by name.
    with tempfile.NamedTemporaryFile(suffix=".mp4") as file:
        options = {"movflags": "faststart"}
        with av.open(file.name, "w", format="mp4", options=options) as target:
            out, seconds = _draw_anew(source, stream, target, deadline)
        return Upload(Kind.CLIP, file.read(), out.width, out.height, seconds)


def _draw_anew(
    source: InputContainer, stream: VideoStream, target: OutputContainer, deadline: float
) -> tuple[VideoStream, float]:
    """Every frame; what they were written to, and when the last one is shown."""
    claimed = _claimed_seconds(source, stream)
    graph, out, at = None, None, 0.0
    for at, frame in _frames(source, stream, deadline):
        graph = graph or _upright(frame, stream)
        graph.push(frame)
        drawn = graph.pull()
        if not isinstance(drawn, VideoFrame):
            raise NotTaken(BROKEN)
        out = out or _stream(target, drawn)
        drawn.pts, drawn.time_base = round(at * MILLISECOND), Fraction(1, MILLISECOND)
        target.mux(out.encode(drawn))
    if out is None or at < 0.8 * claimed - 0.5:
        raise NotTaken(BROKEN)
    target.mux(out.encode(None))
    return out, at


def _upright(frame: VideoFrame, stream: VideoStream) -> Graph:
    """What turns frames upright and makes them no larger than shown; H.264 takes even sides."""
    turns = TURNED.get(frame.rotation, ())
    is_turned = frame.rotation in {90, -90}
    width, height = (frame.height, frame.width) if is_turned else (frame.width, frame.height)
    share = min(1.0, LONGEST_SIDE / max(width, height))
    sides = [max(2, round(side * share / 2) * 2) for side in (width, height)]
    graph = Graph()
    graph.link_nodes(
        graph.add_buffer(template=stream),
        *(graph.add(name, arguments) for name, arguments in turns),
        graph.add("scale", f"{sides[0]}:{sides[1]}"),
        graph.add("setsar", "1"),
        graph.add("format", "pix_fmts=yuv420p"),
        graph.add("buffersink"),
    ).configure()
    return graph


def _stream(target: OutputContainer, frame: VideoFrame) -> VideoStream:
    quality = {"crf": "27", "preset": "veryfast"}
    stream = target.add_stream("libx264", rate=FRAMES_A_SECOND, options=quality)
    stream.width, stream.height, stream.pix_fmt = frame.width, frame.height, "yuv420p"
    stream.time_base = stream.codec_context.time_base = Fraction(1, MILLISECOND)
    return stream
