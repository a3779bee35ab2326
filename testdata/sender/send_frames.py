#!/usr/bin/env python3
"""A load cell's amplifier, played by a process that shares no code with tautlog.

It makes a pseudo-terminal, puts a symbolic link to it at --link (the path of
"the device") and writes packed frames or lines of text there in real time. It
has its own COBS and CRC-16/CCITT-FALSE, written from their definitions, so
that a decoder that agrees with it agrees with something other than itself.
Standard library only.

    send_frames.py --link /tmp/x/cell --truth /tmp/x/truth.csv \\
        --rate 1000 --count 12000 --per-frame 10 --damage 0.01 --seed 7 \\
        --shape kinetic --peak 42000 --at 3 --unplug-at 3.3 --unplug-for 1.5

What it does, in order: makes the device; waits until a reader has opened it
(--wait seconds at most, exit 3 if none came; --wait 0 starts at once); prints
"start <unix time in ns>" on standard output; sends --count readings at --rate
(0 = as fast as the reader takes them); waits until the reader has taken the
last byte; prints "end <unix time in ns>"; keeps the device there for --linger
seconds; removes it; exits 0.

Readings, in counts:
  --shape quiet    --zero and noise
  --shape ramp     the index of the reading (so that each value is unique)
  --shape kinetic  half sine of --length seconds and height --peak from --at
                   on, repeated every --every seconds if that is not 0
  --shape steady   the same place, up in 1 s, held, down in 0.5 s
  --input FILE     one integer a line instead of a shape; repeated to --count
                   (0 = once)
  --hold-at S      from there on the second before S is sent over and over until
                   standard input ends, then what follows: so that somebody who
                   has to do something meanwhile may take as long as it takes
  --noise N        gaussian, N counts rms, seeded

Faults:
  --damage P       every byte sent, terminators too, is changed into a random
                   other byte with probability P (seeded)
  --unplug-at S --unplug-for S
                   the device is taken away that many seconds after the start
                   (the reader sees a hang-up, the link is gone) and comes back
                   at the same path. The instrument goes on counting meanwhile;
                   with --restart it starts again at sequence 0 and tick 0, as
                   one that is powered by the cable does. With --unplug-read it
                   is taken away as soon as the reader has what was sent, so
                   that nothing goes with the device's buffer.
  --pause-at S --pause-for S
                   the instrument goes on counting but sends nothing, the
                   device stays
  --lose-unheard   what is sent while nobody has the device open is lost, as it is
                   at a real port; "unheard <unix time in ns>" is printed the first
                   time. A pseudo-terminal keeps some thousand bytes by itself.
  --tick0 N --seq0 N
                   where the counters start (near their wrap, for instance)

--truth FILE is a CSV with one row a reading, complete when "end" is printed:
  index    number of the reading since the start
  seq      sequence of its frame (or line)
  tick_us  its tick: of this very reading, wrapped at 2^32
  raw      the value
  sent     1 when its frame was written while the device was there, and not lost
  clean    1 when neither its frame nor a terminator next to it was damaged:
           exactly these rows should arrive, but for those in the device's
           buffer when it was unplugged
  unix_ns  host time at which its frame was written, 0 when it was not

--format text writes "seq,tick_us,raw\\r\\n" instead: column 3, unit counts,
tick column 2, sequence column 1, no decimals. A line of text has no checksum,
so its damaged rows may be read wrongly.
"""

import argparse
import fcntl
import itertools
import math
import os
import pty
import random
import select
import struct
import sys
import termios
import time
import tty


def crc16(data):
    """CRC-16/CCITT-FALSE, bit by bit: polynomial 0x1021, start 0xFFFF."""
    crc = 0xFFFF
    for byte in data:
        crc ^= byte << 8
        for _ in range(8):
            crc = ((crc << 1) ^ 0x1021 if crc & 0x8000 else crc << 1) & 0xFFFF
    return crc


def cobs(data):
    """Consistent overhead byte stuffing (Cheshire and Baker 1999)."""
    out = bytearray()
    pieces = data.split(b"\0")
    for k, piece in enumerate(pieces):
        while len(piece) >= 254:
            out += b"\xff" + piece[:254]
            piece = piece[254:]
            if not piece and k == len(pieces) - 1:
                return bytes(out)
        out += bytes([len(piece) + 1]) + piece
    return bytes(out)


def frame(seq, tick, interval, values):
    body = struct.pack("<BHIHB", 1, seq, tick, interval, len(values))
    body += struct.pack("<%di" % len(values), *values)
    return cobs(body + struct.pack("<H", crc16(body))) + b"\0"


def self_check():
    assert crc16(b"123456789") == 0x29B1
    assert cobs(b"") == b"\x01"
    assert cobs(b"\x00\x11\x00\x00\x22\x33") == bytes.fromhex("0102110103 2233")
    assert cobs(bytes(range(1, 255))) == b"\xff" + bytes(range(1, 255))
    assert cobs(bytes(range(1, 256))) == b"\xff" + bytes(range(1, 255)) + b"\x02\xff"
    assert cobs(b"\0" + bytes(range(1, 255))) == b"\x01\xff" + bytes(range(1, 255))
    assert cobs(bytes(range(2, 256)) + b"\0") == b"\xff" + bytes(range(2, 256)) + b"\x01\x01"


class Device:
    """The pseudo-terminal behind a symbolic link."""

    def __init__(self, link):
        self.link, self.master = link, None
        self.lose_unheard = self.unheard = False

    def plug_in(self):
        self.master, slave = pty.openpty()
        tty.setraw(slave)
        self.path = os.ttyname(slave)
        os.close(slave)
        new = self.link + ".new"
        os.symlink(self.path, new)
        os.replace(new, self.link)

    def unplug(self):
        if self.master is None:
            return
        os.unlink(self.link)
        os.close(self.master)
        self.master = None

    def heard(self):
        p = select.poll()
        p.register(self.master, 0)
        return not p.poll(0)  # POLLHUP: nobody has it open

    def wait_for_reader(self, seconds):
        end = time.monotonic() + seconds
        while not self.heard():
            if time.monotonic() > end:
                return False
            time.sleep(0.002)
        return True

    def write(self, data):
        """Writes what a reader takes; what nobody takes is lost, as on a wire.

        Tells whether somebody may take it."""
        if self.lose_unheard and not self.heard():
            if not self.unheard:
                print("unheard", time.time_ns(), flush=True)
            self.unheard = True
            return False
        p = select.poll()
        p.register(self.master, select.POLLOUT)
        while data:
            if not any(e & select.POLLOUT for _, e in p.poll(5000)):
                break
            data = data[os.write(self.master, data):]
        return True

    def drain(self, seconds=30):
        """Waits until the reader has everything. What was written a moment ago
        may still be on its way to where it is counted: it looks ten times."""
        end, empty = time.monotonic() + seconds, 0
        while empty < 10 and time.monotonic() < end:
            try:
                fd = os.open(self.path, os.O_RDWR | os.O_NOCTTY | os.O_NONBLOCK)
            except OSError:
                return
            try:
                left = struct.unpack("i", fcntl.ioctl(fd, termios.FIONREAD, b"\0" * 4))[0]
            finally:
                os.close(fd)
            empty = 0 if left else empty + 1
            time.sleep(0.005)


def shape(a, i, rng):
    t = i / (a.rate or 1000)
    noise = round(rng.gauss(0, a.noise)) if a.noise else 0
    if a.shape == "ramp":
        return i
    if a.shape == "quiet":
        return a.zero + noise
    u = t - a.at
    if a.every and u >= 0:
        u %= a.every
    x = 0.0
    if 0 <= u <= a.length:
        x = math.sin(math.pi * u / a.length)
        if a.shape == "steady":
            x = min(1.0, u, (a.length - u) / 0.5)
    return a.zero + noise + round(a.peak * x)


def values(a):
    rng = random.Random(a.seed)
    if a.input:
        with open(a.input) as f:
            v = [int(s) for s in f.read().split()]
        n = a.count or len(v)
        return [v[i % len(v)] for i in range(n)]
    return [shape(a, i, rng) for i in range(a.count)]


def held(a, v):
    """The readings, with the second before --hold-at over and over."""
    if a.hold_at < 0:
        yield from v
        return
    second = round(a.rate or 1000)
    at = round(a.hold_at * second)
    yield from v[:at]
    while not select.select([sys.stdin], [], [], 0)[0]:
        yield from v[at - second:at]
    yield from v[at:]


def both_clocks():
    """One moment on the monotonic clock, in s, and in ns of Unix time."""
    while True:
        before, unix, after = time.monotonic(), time.time_ns(), time.monotonic()
        if after - before < 0.001:
            return after, unix


def damage(data, p, rng):
    out = bytearray(data)
    for i in range(len(out)):
        if rng.random() < p:
            out[i] ^= rng.randrange(1, 256)
    return bytes(out)


def pace(a, start, i, per):
    """Sleeps until reading i+per-1 has been taken."""
    if a.rate:
        wait = start + (i + per) / a.rate - time.monotonic()
        if wait > 0:
            time.sleep(wait)


def send(a, device, readings, start, truth):
    rng = random.Random(a.seed + 1)
    interval = round(1e6 / (a.rate or 1000))
    per = 1 if a.format == "text" else a.per_frame
    seq, seq_mod = a.seq0, 1 << 32 if a.format == "text" else 1 << 16
    base, terminator_clean, unplugged = 0, True, False
    for i in itertools.count(0, per):
        chunk = list(itertools.islice(readings, per))
        if not chunk:
            return
        pace(a, start, i, len(chunk))
        t = i / (a.rate or 1000)
        gone = a.unplug_at <= t < a.unplug_at + a.unplug_for
        silent = gone or a.pause_at <= t < a.pause_at + a.pause_for
        if gone and not unplugged:
            if a.unplug_read:
                device.drain()
            device.unplug()
        elif unplugged and not gone:
            device.plug_in()
            terminator_clean = True
            if a.restart:
                seq, base = 0, i
        unplugged = gone
        ticks = [(a.tick0 + (j - base) * interval) % (1 << 32) for j in range(i, i + len(chunk))]
        if a.restart and base:
            ticks = [(x - a.tick0) % (1 << 32) for x in ticks]
        at, clean = 0, False
        if not silent:
            data = ("%d,%d,%d\r\n" % (seq, ticks[0], chunk[0])).encode() if a.format == "text" \
                else frame(seq, ticks[0], interval, chunk)
            bad = damage(data, a.damage, rng)
            clean = bad == data and terminator_clean
            terminator_clean = bad[-1] == data[-1]
            if device.write(bad):
                at = time.time_ns()
            else:
                clean, silent = False, True
        for j, x in enumerate(chunk):
            truth.write("%d,%d,%d,%d,%d,%d,%d\n" % (i + j, seq, ticks[j], x, not silent, clean, at))
        seq = (seq + 1) % seq_mod


def arguments():
    p = argparse.ArgumentParser(description="see the head of the file")
    p.add_argument("--link", required=True)
    p.add_argument("--truth", default=os.devnull)
    p.add_argument("--format", choices=["packed", "text"], default="packed")
    p.add_argument("--shape", choices=["quiet", "ramp", "kinetic", "steady"], default="kinetic")
    p.add_argument("--input")
    p.add_argument("--restart", action="store_true")
    p.add_argument("--unplug-read", action="store_true")
    p.add_argument("--lose-unheard", action="store_true")
    for name, default in [("count", 0), ("per-frame", 10), ("seed", 1), ("zero", 0),
                          ("tick0", 0), ("seq0", 0)]:
        p.add_argument("--" + name, type=int, default=default)
    for name, default in [("rate", 1000), ("damage", 0), ("peak", 40000), ("at", 2), ("length", 0.6),
                          ("every", 0), ("noise", 0), ("unplug-at", -1), ("unplug-for", 0),
                          ("pause-at", -1), ("pause-for", 0), ("hold-at", -1), ("wait", 10), ("linger", 0.5)]:
        p.add_argument("--" + name, type=float, default=default)
    a = p.parse_args()
    if not a.input and a.count <= 0:
        p.error("--count is needed where there is no --input")
    if not 1 <= a.per_frame <= 255:
        p.error("--per-frame must be from 1 to 255")
    return a


def main():
    a = arguments()
    self_check()
    readings = held(a, values(a))
    device = Device(a.link)
    device.lose_unheard = a.lose_unheard
    device.plug_in()
    try:
        if a.wait and not device.wait_for_reader(a.wait):
            print("nobody opened", a.link, file=sys.stderr)
            return 3
        with open(a.truth, "w") as truth:
            truth.write("index,seq,tick_us,raw,sent,clean,unix_ns\n")
            start, unix = both_clocks()
            print("start", unix, flush=True)
            send(a, device, readings, start, truth)
        if device.master is not None:
            device.drain()
        print("end", time.time_ns(), flush=True)
        time.sleep(a.linger)
    finally:
        device.unplug()
    return 0


if __name__ == "__main__":
    sys.exit(main())
