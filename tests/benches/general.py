"""The cold proof of the demo manual by the general-purpose way, and by this program, in one run:

    python3 tests/benches/general.py target/release/stripling

The general way is what a maker would do who has no tool for the job: Markdown to HTML (markdown-it-py), HTML to pixels by a
headless browser (Debian's chromium) as wide as the paper prints, pixels to dots by Pillow's one-bit dither, and a PNG. It is given
the pictures, the size of the page and plain Markdown beforehand; none of that is timed. It gets no steps, signs, panels, callouts,
balloons, codes or printer bytes either.

Wall and processor time are of the whole commands, children included; memory is the peak of the proportional set size (Pss, Linux)
summed over the process and all its children, looked at every few milliseconds.
"""
import os
import re
import shutil
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

HERON = Path(__file__).resolve().parents[2] / "manuals" / "heron"
WIDE, ROUNDS = 576, 5
STYLE = "body{margin:16px;font:25px/1.35 sans-serif;width:544px}img{max-width:544px}table{border-collapse:collapse}td,th{border:1px solid;padding:4px}"
FLAGS = ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--hide-scrollbars", "--force-device-scale-factor=1"]

CONVERT = """
import sys
from markdown_it import MarkdownIt
text = open(sys.argv[1], encoding="utf-8").read()
page = MarkdownIt("commonmark").enable(["table", "strikethrough"]).render(text)
open(sys.argv[2], "w", encoding="utf-8").write(f"<!doctype html><meta charset=utf-8><style>{sys.argv[3]}</style>{page}")
"""
DITHER = """
import sys
from PIL import Image
Image.open(sys.argv[1]).convert("L").convert("1").save(sys.argv[2], dpi=(203.2, 203.2))
"""


def plain_markdown() -> str:
    """Heron without header, fields and blocks of our own; their pictures and words stay as paragraphs."""
    text = (HERON / "heron.md").read_text(encoding="utf-8")
    text = re.sub(r"\A\+\+\+\n.*?\n\+\+\+\n", "", text, flags=re.S)
    text = re.sub(r"\{%.*?%\}|\{\{.*?\}\}", "", text)
    text = re.sub(r"!\[[^\]]*\]\(sign:[^)]*\)", "", text)

    def block(match: re.Match) -> str:
        body = match.group(2)
        pictures = [f"![]({name})" for name in re.findall(r'picture\s*=\s*"([^"]+)"', body)]
        words = re.findall(r'(?:label|caption|text)\s*=\s*"([^"]+)"', body)
        return "\n\n".join(pictures + words) + "\n"

    return re.sub(r"^```(figure|comic|qr|barcode|fold|cut)\n(.*?)^```$", block, text, flags=re.S | re.M)


def family(root: int) -> list[int]:
    """The process and all its children."""
    children: dict[int, list[int]] = {}
    for entry in os.listdir("/proc"):
        if entry.isdigit():
            try:
                parent = int(Path(f"/proc/{entry}/stat").read_text().rsplit(")", 1)[1].split()[1])
            except (OSError, IndexError):
                continue
            children.setdefault(parent, []).append(int(entry))
    found, ahead = [], [root]
    while ahead:
        process = ahead.pop()
        found.append(process)
        ahead += children.get(process, [])
    return found


def held(root: int) -> int:
    """KiB of memory that the family holds now."""
    total = 0
    for process in family(root):
        try:
            rollup = Path(f"/proc/{process}/smaps_rollup").read_text()
        except OSError:
            continue
        total += sum(int(line.split()[1]) for line in rollup.splitlines() if line.startswith("Pss:"))
    return total


def measured(steps: list[list[str]], folder: Path, watch: bool) -> tuple[float, float, int]:
    """Wall seconds, processor seconds and, where watched (which slows), peak KiB of some commands one after another."""
    before, begun, peak = os.times(), time.perf_counter(), 0
    for step in steps:
        process = subprocess.Popen(step, cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        if watch:
            done = threading.Event()

            def look(process=process, done=done):
                nonlocal peak
                while not done.is_set():
                    peak = max(peak, held(process.pid))
                    time.sleep(0.002)

            looking = threading.Thread(target=look)
            looking.start()
        status = process.wait()
        if watch:
            done.set()
            looking.join()
        if status != 0:
            sys.exit(f"{step[0]} failed with {status}")
    after = os.times()
    processor = after.children_user + after.children_system - before.children_user - before.children_system
    return time.perf_counter() - begun, processor, peak


def main() -> None:
    program = str(Path(sys.argv[1]).resolve()) if len(sys.argv) == 2 else sys.exit(__doc__)
    browser = shutil.which("chromium") or sys.exit("no chromium: apt-get install chromium")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file in HERON.iterdir():
            if file.suffix in {".svg", ".png", ".md", ".csv"}:
                shutil.copy(file, folder)
        (folder / "plain.md").write_text(plain_markdown(), encoding="utf-8")
        screenshot = [browser, *FLAGS, f"--user-data-dir={folder}/browser", f"--window-size={WIDE},12480",
                      f"--screenshot={folder}/page.png", f"file://{folder}/page.html"]
        general = [[sys.executable, "-c", CONVERT, "plain.md", "page.html", STYLE], screenshot,
                   [sys.executable, "-c", DITHER, "page.png", "general.png"]]
        ours = [[program, "proof", "heron.md", "-o", "ours.png", "--quiet"]]
        print("| Heron, cold, to one-bit PNG | wall | processor | memory |\n|---|---|---|---|")
        figures = []
        for label, steps in (("general-purpose tools", general), ("stripling proof", ours)):
            rounds = [measured(steps, folder, False) for _ in range(ROUNDS)]
            wall, processor = (statistics.median(figure[at] for figure in rounds) for at in (0, 1))
            # Short runs are looked at often, so that the peak is met.
            peak = max(measured(steps, folder, True)[2] for _ in range(ROUNDS))
            figures.append((wall, peak))
            print(f"| {label} | {wall:.3f} s | {processor:.2f} s | {peak / 1024:.0f} MiB |")
        (slow, much), (fast, little) = figures
        print(f"\n{slow / fast:.1f} times as fast; {much / little:.1f} times less memory; median of {ROUNDS} runs, peak of {ROUNDS}")
        if "--keep" in os.environ.get("GENERAL", ""):
            shutil.copy(folder / "general.png", "/tmp/general.png")


main()
