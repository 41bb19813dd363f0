import io

import av
import numpy as np
import pytest
from PIL import Image

from levelwind.core.errors import InputError
from levelwind.recordings import video
from levelwind.recordings.video import Film, decode_film, shrink
from tests.core.spin.films import encoded

UNEVEN_S = np.cumsum([0.0, *([0.03, 0.04, 0.05] * 7)])


def read(data: bytes) -> Film:
    return decode_film(data, title="spin.mp4")


def pictures(count: int = 22, height: int = 240, width: int = 320) -> np.ndarray:
    """Grey, with the top left quarter bright and growing brighter frame by frame."""
    frames = np.full((count, height, width), 60, np.uint8)
    frames[:, : height // 2, : width // 2] = 150 + 2 * np.arange(count)[:, None, None]
    return frames


@pytest.mark.parametrize(
    ("codec", "container"), [("libx264", "mp4"), ("libx264", "mov"), ("libx265", "mp4"), ("libvpx-vp9", "webm")]
)
def test_every_kind_is_read_by_its_own_frame_times(codec: str, container: str) -> None:
    data = encoded(pictures(), UNEVEN_S, 18, codec=codec, container=container)
    film = read(data)
    assert film.frames.shape == (22, 120, 160)
    # webm keeps time to the millisecond
    assert film.t_s == pytest.approx(UNEVEN_S, abs=0.00051)
    corner = film.frames[:, 10:50, 10:70].mean((1, 2))
    assert corner == pytest.approx(150 + 2 * np.arange(22), abs=2.5)
    assert film.cautions == ()


def test_ten_bits_are_read_as_eight() -> None:
    buffer = io.BytesIO()
    with av.open(buffer, "w", format="mp4") as out:
        stream = out.add_stream("libx265", rate=30)
        stream.width, stream.height, stream.pix_fmt = 320, 240, "yuv420p10le"
        for _ in range(12):
            frame = av.VideoFrame(320, 240, "yuv420p10le")
            for plane, level in zip(frame.planes, (600, 512, 512), strict=True):
                plane.update(np.full(plane.buffer_size // 2, level, np.uint16).tobytes())
            out.mux(stream.encode(frame))
        out.mux(stream.encode(None))
    assert read(buffer.getvalue()).frames.mean() == pytest.approx(600 / 4, abs=1)


def turned(data: bytes, degrees: int) -> bytes:
    """With the display matrix of its track header set by hand (ISO/IEC 14496-12, 8.3.2): 16.16 fixed point."""
    at = data.index(b"tkhd") + 4 + 40
    c, s = {90: (0, 1), -90: (0, -1), 180: (-1, 0)}[degrees]
    matrix = [c * 65536, -s * 65536, 0, s * 65536, c * 65536, 0, 0, 0, 0x40000000]
    return data[:at] + b"".join(x.to_bytes(4, "big", signed=True) for x in matrix) + data[at + 36 :]


@pytest.mark.parametrize(("degrees", "bright"), [(90, (1, 0)), (-90, (0, 1)), (180, (1, 1))])
def test_a_film_taken_on_its_side_is_turned_upright(degrees: int, bright: tuple[int, int]) -> None:
    film = read(turned(encoded(pictures(), UNEVEN_S), degrees))
    assert film.rotation % 360 == degrees % 360
    h, w = film.frames.shape[1:]
    assert (h, w) == ((120, 160) if degrees == 180 else (160, 120))
    quarters = film.frames[5].reshape(2, h // 2, 2, w // 2).mean((1, 3))
    assert np.unravel_index(quarters.argmax(), (2, 2)) == bright


def test_shrinking_averages_squares() -> None:
    luma = np.zeros((240, 320), np.uint8)
    luma[::2, ::2] = 100
    assert (shrink(luma) == 25).all()
    small = np.arange(100, dtype=np.uint8).reshape(10, 10)
    assert (shrink(small) == small).all()


def test_slow_motion_is_told_by_the_rate_it_was_taken_at() -> None:
    buffer = io.BytesIO()
    with av.open(buffer, "w", format="mp4", options={"movflags": "use_metadata_tags"}) as out:
        out.metadata["com.android.capture.fps"] = "240"
        stream = out.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = 320, 240, "yuv420p"
        for _ in range(15):
            out.mux(stream.encode(av.VideoFrame(320, 240, "yuv420p")))
        out.mux(stream.encode(None))
    assert read(buffer.getvalue()).slowed == 8.0
    assert read(encoded(pictures(), UNEVEN_S)).slowed is None


FILM = encoded(pictures(), UNEVEN_S)


def picture(still: bytes) -> np.ndarray:
    image = Image.open(io.BytesIO(still))
    assert image.format == "JPEG"
    assert not image.getexif() and not image.info.get("comment")
    return np.asarray(image.convert("L")).astype(float)


def test_a_minute_stretched_eight_times_is_not_too_long() -> None:
    film = read(encoded(pictures(40), np.linspace(0, 480, 40)))
    assert film.t_s[-1] == pytest.approx(480)
    with pytest.raises(InputError, match=r"11\.\d minutes long; allowed is .* at most 10 minutes"):
        read(encoded(pictures(40), np.linspace(0, 690, 40)))


def test_a_picture_from_the_midst_is_kept_to_look_at() -> None:
    seen = picture(decode_film(FILM, title="spin.mp4").still)
    assert seen.shape == (240, 320)
    at = 0.4 * (UNEVEN_S[-1] + 0.03)
    # studio range: 219 of 256 levels stand for black to white (ITU-R BT.601)
    bright = (150 + 2 * int(np.searchsorted(UNEVEN_S, at)) - 16) * 255 / 219
    assert seen[20:100, 20:140].mean() == pytest.approx(bright, abs=4)


def test_the_picture_to_look_at_is_upright_and_small_enough_for_a_page() -> None:
    large = np.repeat(np.repeat(pictures(12), 4, axis=1), 4, axis=2)
    seen = picture(read(turned(encoded(large, UNEVEN_S[:12]), 90)).still)
    assert seen.shape == (960, 720)
    quarters = seen.reshape(2, 480, 2, 360).mean((1, 3))
    assert np.unravel_index(quarters.argmax(), (2, 2)) == (1, 0)


def test_a_film_that_does_not_say_its_length_has_its_picture_from_its_last_third() -> None:
    data = encoded(pictures(50), np.arange(50) / 30, codec="libvpx-vp9", container="webm")
    at = data.index(b"\x44\x89\x88")  # Duration (Matroska, RFC 9559, 5.1.2.10), an eight-byte float, made void
    voided = data[:at] + b"\xec\x89" + bytes(9) + data[at + 11 :]
    film = read(voided)
    bright = picture(film.still)[20:100, 20:140].mean() * 219 / 255 + 16
    assert len(film.frames) == 50
    assert 150 + 2 * 30 < bright <= 150 + 2 * 49 + 4


def test_of_several_films_in_one_file_the_largest_is_read() -> None:
    """A phone may keep a small preview, or a cover, before the film itself."""
    cover = io.BytesIO()
    Image.new("RGB", (640, 480)).save(cover, "JPEG")
    buffer = io.BytesIO()
    with av.open(buffer, "w", format="mp4") as out:
        small, film, picture_of_it = (out.add_stream(codec, rate=30) for codec in ("libx264", "libx264", "mjpeg"))
        for stream, (width, height) in ((small, (64, 48)), (film, (320, 240)), (picture_of_it, (640, 480))):
            stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
        picture_of_it.pix_fmt, picture_of_it.disposition = "yuvj420p", av.stream.Disposition.attached_pic
        out.start_encoding()
        packet = av.Packet(cover.getvalue())
        packet.stream, packet.pts, packet.dts = picture_of_it, 0, 0
        out.mux(packet)
        for luma in pictures():
            for stream in (small, film):
                grey = av.VideoFrame.from_ndarray(luma[: stream.height, : stream.width], format="gray")
                out.mux(stream.encode(grey.reformat(format="yuv420p")))
        for stream in (small, film):
            out.mux(stream.encode(None))
    assert read(buffer.getvalue()).frames.shape == (22, 120, 160)


def test_a_coding_that_nothing_here_reads_is_told() -> None:
    with pytest.raises(
        InputError, match=r"spin\.mp4 was written in a coding that is not known here; allowed is a film"
    ):
        read(FILM.replace(b"avc1", b"zzzz"))


def test_pictures_whose_times_go_astray_are_left_out_and_told() -> None:
    """Every fourth frame is dated before the one ahead of it: a webm keeps whatever time it is given."""
    steady = encoded(pictures(40), np.arange(40) / 50, codec="libvpx-vp9", container="webm")
    film = read(steady)
    assert len(film.frames) == 40 and film.cautions == ()
    astray = bytearray(steady)
    with av.open(io.BytesIO(steady)) as container:
        packets = [packet for packet in container.demux(video=0) if packet.size]
    for packet in packets[3::4]:  # SimpleBlock: its time is two bytes within its cluster (RFC 9559, 10.2)
        at = steady.index(bytes(packet)) - 3
        astray[at : at + 2] = (packet.pts - 45).to_bytes(2, "big")
    film = read(bytes(astray))
    assert 25 <= len(film.frames) <= 31
    assert tuple(map(str, film.cautions)) == (
        f"{40 - len(film.frames)} pictures whose time is not after the one before are left out",
    )


def test_progress_is_told_up_to_the_whole() -> None:
    told: list[float] = []
    decode_film(FILM, title="spin.mp4", tell=lambda part, doing: told.append(part))
    assert told == sorted(told)
    assert told[0] == 0.0 and 0.9 < told[-1] <= 1.0


def test_too_many_pixels_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(video, "LARGEST_PIXELS", 320 * 240 - 1)
    with pytest.raises(InputError, match="320 by 240 pixels"):
        video.decode_film(FILM, title="spin.mp4")


@pytest.mark.parametrize(
    ("bound", "most", "words"),
    [
        ("LARGEST_FRAME_BYTES", 100_000, "320 by 240 pixels of 12 bits; allowed is at most 0 MB a picture"),
        ("MOST_KEPT_BYTES", 20 * 160 * 120, "more than 20 pictures; allowed is a shorter film"),
    ],
)
def test_what_would_fill_the_memory_is_refused(
    monkeypatch: pytest.MonkeyPatch, bound: str, most: int, words: str
) -> None:
    monkeypatch.setattr(video, bound, most)
    with pytest.raises(InputError, match=words):
        video.decode_film(FILM, title="spin.mp4")


def test_memory_that_runs_out_is_no_damage(monkeypatch: pytest.MonkeyPatch) -> None:
    def no_room(*_: object) -> None:
        raise av.error.MemoryError(12, "Cannot allocate memory")

    monkeypatch.setattr(video._Shrunk, "add", no_room)
    with pytest.raises(MemoryError):
        video.decode_film(FILM, title="spin.mp4")


def test_a_strip_of_picture_is_refused() -> None:
    with pytest.raises(InputError, match=r"spin\.mp4 was 640 by 64 pixels; allowed is a picture that holds"):
        read(encoded(pictures(12, height=64, width=640), UNEVEN_S[:12]))


def test_a_webm_that_breaks_off_is_used_as_far_as_it_goes() -> None:
    data = encoded(
        np.random.default_rng(1).integers(0, 255, (60, 240, 320), dtype=np.uint8),
        np.arange(60) / 30,
        codec="libvpx-vp9",
        container="webm",
    )
    film = read(data[: int(len(data) * 0.6)])
    assert 10 <= len(film.frames) < 60
    assert "breaks off" in str(film.cautions[0])


def test_a_film_with_its_head_first_that_breaks_off_is_used_as_far_as_it_goes() -> None:
    """As a phone's upload leaves it that was cut: the head tells the whole length, the pictures end before."""
    noise = np.random.default_rng(1).integers(0, 255, (60, 240, 320), dtype=np.uint8)
    data = headed(encoded(noise, np.arange(60) / 30))
    film = read(data[: int(len(data) * 0.6)])
    assert 10 <= len(film.frames) < 60
    assert tuple(map(str, film.cautions)) == ("the film breaks off before its end: only what could be read was used",)
    assert picture(film.still).shape == (240, 320)


def headed(data: bytes) -> bytes:
    """The same film with its head before its pictures."""
    out = io.BytesIO()
    with (
        av.open(io.BytesIO(data)) as read_from,
        av.open(out, "w", format="mp4", options={"movflags": "frag_keyframe+empty_moov"}) as written,
    ):
        stream = written.add_stream_from_template(read_from.streams.video[0])
        for packet in read_from.demux(video=0):
            if packet.dts is not None:
                packet.stream = stream
                written.mux(packet)
    return out.getvalue()
