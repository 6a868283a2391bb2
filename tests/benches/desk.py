"""How soon the desk shows a guide of photographs, and how soon it follows a change; over HTTP, as a browser asks:

    python3 tests/benches/desk.py target/release/stripling [COUNT]

The photographs are those of photographs.py. Printed: the first strip with frames, the whole one, and the medians after one word was changed in the
text and after one picture was replaced (from the moment the file is whole to the moment its strip is here).
"""
import http.client
import re
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path
from queue import Queue

from photographs import SIZES, guide, photograph


def events(port: int, cookie: str, told: Queue) -> None:
    link = http.client.HTTPConnection("127.0.0.1", port)
    link.request("GET", "/live", headers={"Cookie": cookie})
    answer, name = link.getresponse(), ""
    for line in answer:
        words = line.decode().rstrip("\n")
        if words.startswith("event:"):
            name = words[6:].strip()
        elif words.startswith("data:") and name in ("strip", "facts"):
            told.put((name, time.perf_counter(), '"unfinished":true' in words))


def main() -> None:
    program = str(Path(sys.argv[1]).resolve())
    count = int(sys.argv[2]) if len(sys.argv) > 2 else 28
    with tempfile.TemporaryDirectory() as folder_name:
        folder = Path(folder_name)
        names = [f"p{index:02}.jpg" for index in range(count)]
        for index, name in enumerate(names):
            photograph(*SIZES[index % len(SIZES)], index).save(folder / name, quality=90)
        other = [folder / f"q{index}.jpg" for index in range(5)]
        for index, name in enumerate(other):
            photograph(*SIZES[0], 100 + index).save(name, quality=90)
        manual = Path(guide(folder, names))
        desk = subprocess.Popen([program, "desk", str(manual)], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        try:
            address = next(found for line in desk.stdout if (found := re.search(r"http://127\.0\.0\.1:(\d+)(/\S*)", line)))
            port = int(address.group(1))
            door = http.client.HTTPConnection("127.0.0.1", port)
            door.request("GET", address.group(2))
            cookie = door.getresponse().getheader("Set-Cookie").split(";")[0]
            told: Queue = Queue()
            begun = time.perf_counter()
            threading.Thread(target=events, args=(port, cookie, told), daemon=True).start()
            first = True
            while True:
                name, at, unfinished = told.get(timeout=60)
                if name == "facts" and first:
                    print(f"first strip{' with frames' if unfinished else ''}  {(at - begun) * 1000:.0f} ms")
                    first = False
                if name == "facts" and not unfinished:
                    print(f"whole  {(at - begun) * 1000:.0f} ms")
                    break
            time.sleep(0.5)

            def follow(change) -> float:
                while not told.empty():
                    told.get()
                change()
                changed = time.perf_counter()
                while told.get(timeout=60)[0] != "strip":
                    pass
                taken = (time.perf_counter() - changed) * 1000
                time.sleep(0.3)
                return taken

            text = manual.read_text(encoding="utf-8")
            words = [follow(lambda n=n: manual.write_text(text.replace("Step p03", f"Stage {n} p03", 1), encoding="utf-8")) for n in range(15)]
            print(f"one word  {statistics.median(words):.0f} ms")
            pictures = [follow(lambda name=name: name.replace(folder / names[5])) for name in other]
            print(f"one picture  {statistics.median(pictures):.0f} ms")
        finally:
            desk.terminate()


if __name__ == "__main__":
    main()
