#!/usr/bin/env python3
"""What the planning room costs: start, memory, pages, prices of changes by hand, readers while a plan is made.

    python3 bench/room/measure.py target/release/evenline PLAN.json

PLAN.json is a plan of many placements, for example that of `cargo run --release -- run --suite generated --only
n2000-p112-x1-fixed8-r1 --seconds 20 --seeds 1 --keep-plans --out OUT` in `bench/`. Needs nothing but Python's own library, and Linux
(`/proc` tells the memory). The room keeps what it has in a temporary folder.
"""

import asyncio
import http.client
import json
import pathlib
import random
import re
import socket
import subprocess
import sys
import tempfile
import time
import urllib.parse

HOST, PORT = "127.0.0.1", 8497
PASSWORD = "seven quiet herons"
ROOT = pathlib.Path(__file__).resolve().parents[2]
PLANS = 1000
READERS = 200
SECONDS = 20


def ask(method, path, body=None, **headers):
    connection = http.client.HTTPConnection(HOST, PORT, timeout=120)
    connection.request(method, path, body, {k.replace("_", "-"): v for k, v in headers.items()})
    answer = connection.getresponse()
    return answer.status, answer.headers, answer.read()


def form(path, fields, **headers):
    return ask("POST", path, urllib.parse.urlencode(fields), content_type="application/x-www-form-urlencoded", **headers)


def quantile(values, share):
    values = sorted(values)
    return values[min(len(values) - 1, int(len(values) * share))]


def told(what, milliseconds):
    middle, late, worst = quantile(milliseconds, 0.5), quantile(milliseconds, 0.99), max(milliseconds)
    print(f"{what:<44} median {middle:7.1f}  p99 {late:7.1f}  worst {worst:7.1f} ms  ({len(milliseconds)} times)")


class Served:
    """A room on a store; ends with the block."""

    def __init__(self, program, store, fill):
        command = [program, "serve", "--store", str(store), "--listen", f"{HOST}:{PORT}", "--threads", "1"]
        self.begun = time.perf_counter()
        self.process = subprocess.Popen(command + (["--fill", *fill] if fill else []), stdout=subprocess.PIPE, text=True)

    def wait(self):
        while True:
            try:
                socket.create_connection((HOST, PORT)).close()
                break
            except OSError:
                time.sleep(0.001)
        assert ask("GET", "/sign-in")[0] == 200
        return (time.perf_counter() - self.begun) * 1000

    def memory(self):
        status = pathlib.Path(f"/proc/{self.process.pid}/status").read_text()
        return int(re.search(r"VmRSS:\s+(\d+)", status).group(1)) / 1024

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.process.terminate()
        self.process.wait()


def join(room):
    """Becomes the first administrator; answers cookie and token."""
    for line in room.process.stdout:
        found = re.search(r"join\?key=(\w+)", line)
        if found:
            break
    status, headers, _ = form("/join", {"key": found.group(1), "name": "Ada", "password": PASSWORD, "again": PASSWORD})
    assert status == 303, status
    cookie = headers["set-cookie"].split(";")[0]
    page = form("/me/tokens", {"label": "bench", "role": "administrator", "days": 1}, cookie=cookie)[2].decode()
    return cookie, re.search(r'class="secret">([^<]+)<', page).group(1)


def pages(cookie):
    for path in ["/plans/big", "/plans/big/stations/1", "/plans/big/board.svg", "/plans/big/stations/1/play.json", "/plans", "/boards/river-logger", "/parts", "/lines/mixed"]:
        times = []
        for _ in range(30):
            begun = time.perf_counter()
            status, _, body = ask("GET", path, cookie=cookie, accept_encoding="gzip")
            times.append((time.perf_counter() - begun) * 1000)
            assert status == 200, (path, status)
        told(f"{path}, {len(body) / 1024:.0f} KiB", times)


def prices(cookie, plan):
    """Feeders to other slots, parts to other stations, at random; what cannot be done is left out."""
    dice = random.Random(1)
    stations = plan["stations"]
    for what in ["a feeder to another slot", "a part to another station"]:
        times = []
        while len(times) < 60:
            s = dice.randrange(len(stations))
            other = dice.choice([t for t in range(len(stations)) if t != s])
            to, number = (f"{s + 1}.b1", dice.randrange(1, 40)) if "slot" in what else (str(other + 1), "")
            wish = {"base": 1, "station": s + 1, "supply": dice.randrange(len(stations[s]["supplies"])), "to": to, "number": number}
            begun = time.perf_counter()
            status = form("/plans/big/try", wish, cookie=cookie, accept="application/json")[0]
            if status == 200:
                times.append((time.perf_counter() - begun) * 1000)
        told(f"price of {what}", times)


async def readers(cookie, pause):
    paths = ["/", "/plans", "/plans/big", "/plans/big/stations/1", "/boards", "/boards/river-logger", "/lines", "/parts", "/plans/big/sheets", "/lines/mixed"]
    times = []
    end = time.perf_counter() + SECONDS

    async def one(seed):
        dice = random.Random(seed)
        reader, writer = await asyncio.open_connection(HOST, PORT)
        await asyncio.sleep(dice.random() * pause)
        while time.perf_counter() < end:
            begun = time.perf_counter()
            writer.write(f"GET {dice.choice(paths)} HTTP/1.1\r\nHost: {HOST}:{PORT}\r\nCookie: {cookie}\r\nAccept-Encoding: gzip\r\n\r\n".encode())
            head = (await reader.readuntil(b"\r\n\r\n")).lower()
            assert head.startswith(b"http/1.1 200"), head
            length = re.search(rb"content-length: (\d+)", head)
            if length:
                await reader.readexactly(int(length.group(1)))
            else:
                while (size := int(await reader.readline(), 16)) > 0:
                    await reader.readexactly(size + 2)
                await reader.readexactly(2)
            times.append((time.perf_counter() - begun) * 1000)
            await asyncio.sleep(dice.expovariate(1 / pause) if pause else 0)

    await asyncio.gather(*[one(i) for i in range(READERS)])
    told(f"{READERS} readers, {pause:g} s between pages, {len(times) / SECONDS:.0f} pages/s", times)


def main():
    program, plan = sys.argv[1], pathlib.Path(sys.argv[2]).read_bytes()
    examples = ROOT / "examples"
    fill = [str(examples / "products"), *map(str, sorted((examples / "parts").glob("*.csv"))), str(examples / "lines")]
    with tempfile.TemporaryDirectory() as folder:
        store = pathlib.Path(folder) / "room.db"
        with Served(program, store, fill) as room:
            print(f"an empty store, filled with the examples: first page after {room.wait():.0f} ms")
            cookie, token = join(room)
            right = {"authorization": f"Bearer {token}"}
            for i in range(PLANS):
                assert ask("PUT", f"/api/plan/{'big' if i == 0 else f'plan-{i}'}", plan, **right)[0] == 201
            print(f"{PLANS} plans of {len(plan) / 1024:.0f} KiB are kept, {store.stat().st_size / 2**20:.0f} MiB on disk")
        with Served(program, store, []) as room:
            print(f"the same store again: first page after {room.wait():.0f} ms")
            print(f"memory when nobody asks: {room.memory():.0f} MiB")
            pages(cookie)
            prices(cookie, json.loads(plan))
            for pause in [1, 0]:
                order = json.dumps({"product": {"name": "river-logger"}, "line": {"name": "two-beam"}, "seconds": SECONDS + 10})
                job = json.loads(ask("POST", "/api/jobs", order, content_type="application/json", **right)[2])["id"]
                while json.loads(ask("GET", f"/api/jobs/{job}", **right)[2])["state"] != "running":
                    time.sleep(0.1)
                asyncio.run(readers(cookie, pause))
                assert json.loads(ask("GET", f"/api/jobs/{job}", **right)[2])["state"] == "running", "the plan ended before the readers"
                ask("POST", f"/api/jobs/{job}/stop", **right)
            print(f"memory after it: {room.memory():.0f} MiB")


if __name__ == "__main__":
    main()
