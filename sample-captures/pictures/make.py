#!/usr/bin/env python3
"""Make the README's pictures anew from real runs: python3 sample-captures/pictures/make.py PROGRAM

Needs tmux and Chromium. What stands in a terminal becomes an SVG of its characters; the report's first page, which
Chromium renders, a PNG.
"""

import html
import re
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

HERE = Path(__file__).resolve().parent
WIDE, HIGH = 8.4, 18
# of the 16 colours of a terminal, those that the program uses; what is written on a ground stays readable on it
COLOURS = {30: "#1c1c1c", 31: "#b3261e", 32: "#1b6e3c", 33: "#8a5a00", 34: "#1f4fa3", 35: "#7a3b8f", 36: "#0b6a75", 37: "#ffffff"}
GROUNDS = {code + 10: colour for code, colour in COLOURS.items()} | {43: "#ffd24d"}


def program() -> Path:
    if len(sys.argv) != 2:
        sys.exit("python3 sample-captures/pictures/make.py PROGRAM: the path of the evenfire to be shown")
    return Path(sys.argv[1]).resolve()


def screen(command: list[str], folder: Path, rows: int, typed: tuple[str, ...] = ()) -> list[str]:
    """What a terminal of 80 columns shows two seconds after the command was begun and after each line that is typed;
    where lines are typed, what came after the last."""
    tmux = ["tmux", "-S", str(folder / f"terminal-{rows}")]
    held = " ".join(command) + "; sleep 60"
    subprocess.run([*tmux, "new-session", "-d", "-x", "80", "-y", str(rows), "-c", str(folder), held], check=True)
    try:
        time.sleep(2)
        for line in typed:
            subprocess.run([*tmux, "send-keys", line, "Enter"], check=True)
            time.sleep(2)
        shown = subprocess.run([*tmux, "capture-pane", "-p", "-e"], check=True, capture_output=True, text=True).stdout
    finally:
        subprocess.run([*tmux, "kill-server"], check=False)
    lines = shown.rstrip().split("\n")
    if typed:
        last = max(row for row, line in enumerate(lines) if typed[-1] in line)
        lines = lines[last + 1 :]
    return lines[1:] if lines and not lines[0].strip() else lines


def spans(line: str):
    """Pieces of a line with the style that each is shown in: text, colour, ground, bold."""
    colour, ground, bold = None, None, False
    for piece in re.split(r"(\x1b\[[0-9;]*m)", line):
        codes = re.fullmatch(r"\x1b\[([0-9;]*)m", piece)
        if not codes:
            if piece:
                yield piece, colour, ground, bold
            continue
        for code in (int(code or 0) for code in codes[1].split(";")):
            if code == 0:
                colour, ground, bold = None, None, False
            elif code == 1:
                bold = True
            elif code in (39, 49):
                colour, ground = (None, ground) if code == 39 else (colour, None)
            elif code in COLOURS:
                colour = COLOURS[code]
            elif code in GROUNDS:
                ground = GROUNDS[code]
                colour = colour if code != 43 else COLOURS[30]


def svg(command: str, lines: list[str], alt: str) -> str:
    lines = [f"\x1b[1m$ {command}\x1b[0m", "", *lines]
    width, height = 80 * WIDE + 32, len(lines) * HIGH + 32
    drawn = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.0f} {height}" role="img">',
        f"<title>{html.escape(alt)}</title>",
        f'<rect width="{width:.0f}" height="{height}" rx="8" fill="#fbfaf7" stroke="#c9c4b8"/>',
        '<g font-family="DejaVu Sans Mono, Liberation Mono, monospace" font-size="14" fill="#1c1c1c">',
    ]
    for row, line in enumerate(lines):
        at, base = 0, 16 + row * HIGH + 14
        for text, colour, ground, bold in spans(line):
            x, wide = 16 + at * WIDE, len(text) * WIDE
            if ground:
                drawn.append(f'<rect x="{x:.1f}" y="{base - 14}" width="{wide:.1f}" height="{HIGH}" fill="{ground}"/>')
            style = (f' fill="{colour}"' if colour else "") + (' font-weight="bold"' if bold else "")
            if text.strip():
                drawn.append(
                    f'<text x="{x:.1f}" y="{base}" textLength="{wide:.1f}" xml:space="preserve"{style}>{html.escape(text)}</text>'
                )
            at += len(text)
    return "\n".join([*drawn, "</g>", "</svg>", ""])


def terminal(
    name: str, shown: str, command: list[str], folder: Path, rows: int, alt: str, typed: tuple[str, ...] = ()
) -> None:
    (HERE / f"{name}.svg").write_text(svg(shown, screen(command, folder, rows, typed), alt))


def main() -> None:
    evenfire = str(program())
    browser = shutil.which("chromium") or shutil.which("chromium-browser") or sys.exit("chromium is missing")
    with tempfile.TemporaryDirectory() as made:
        folder = Path(made)
        subprocess.run([evenfire, "demo", "--into", "our-shop"], cwd=folder, check=True, capture_output=True)
        for capture in HERE.parent.glob("v8-weak-cylinder-1.*"):
            shutil.copy(capture, folder)
        terminal(
            "hazard",
            "evenfire run relative-compression",
            [evenfire, "run", "relative-compression", "--shop", "our-shop"],
            folder,
            24,
            "A step in the terminal: the hazard first, then what must be so, then the keys.",
            ("Invented estate, V8 petrol, 2014", "CLW DEMO 08"),
        )
        terminal(
            "analysis",
            "evenfire analyse v8-weak-cylinder-1.csv",
            [evenfire, "analyse", "v8-weak-cylinder-1.csv"],
            folder,
            60,
            "An analysis in the terminal: compression of each cylinder with its interval, and cylinder 3 low.",
        )
        report = folder / "our-shop/jobs/0001/report.html"
        shot = ["--headless", "--no-sandbox", "--hide-scrollbars", "--window-size=900,1180"]
        subprocess.run([browser, *shot, f"--screenshot={HERE / 'report.png'}", report.as_uri()], check=True, capture_output=True)


main()
