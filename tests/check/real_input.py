"""Plays a script of tests/journeys in a real window by real keys and a real pointer.

real_input.py PROGRAM SCRIPT LOGBOOK [--files FOLDER]

The script player says once where each widget is that is clicked (it draws the same frames); then the program is
started as a person starts it and xdotool types, clicks and draws on the X server of $DISPLAY. Photos are handed over by the
clipboard, since xdotool cannot drop. Lines that expect or picture something are passed over. LOGBOOK is made by
the real window, LOGBOOK.played by the player; comparing them is the caller's.
"""
import json
import os
import shutil
import shlex
import subprocess
import sys
import time

KEYS = {"Enter": "Return", "Space": "space", ".": "period", ",": "comma", "+": "plus", "-": "minus", "PageUp": "Prior",
        "PageDown": "Next", "Backspace": "BackSpace", "Ctrl": "ctrl", "Shift": "shift", "Alt": "alt"}
POINTER = ("click", "double", "stroke", "drag", "wheel")


def xdo(*words):
    subprocess.run(["xdotool", *[str(w) for w in words]], check=True, stdout=subprocess.DEVNULL)


def keysym(name):
    if name in KEYS:
        return KEYS[name]
    parts = name.split("+") if len(name) > 1 else [name]
    return "+".join(KEYS.get(p, p.lower() if len(p) == 1 else p) for p in parts)


def ask_player(program, lines, log, scratch):
    """The script with an outline before each use of the pointer; gives the outlines in order."""
    script, n = [], 0
    for line in lines:
        if line.split()[:1] and line.split()[0] in POINTER:
            script.append(f"outline {scratch}/{n}.json")
            n += 1
        script.append(line)
    with open(f"{scratch}/script", "w") as f:
        f.write("\n".join(script) + "\n")
    subprocess.run([program, "drive", log, "--script", f"{scratch}/script"], check=True, stdout=subprocess.DEVNULL,
                   env={**os.environ, "SDL_VIDEODRIVER": "dummy"})
    outlines = []
    for i in range(n):
        with open(f"{scratch}/{i}.json") as f:
            outlines.append(json.load(f))
    return outlines


def bounds_of(outline, wanted):
    for w in outline:
        if w["id"] == wanted or (wanted.endswith("*") and w["id"].startswith(wanted[:-1])):
            return w["bounds"]
    raise SystemExit(f"the player's window has no {wanted}")


def find_window():
    for _ in range(60):
        found = subprocess.run(["xdotool", "search", "--onlyvisible", "--name", "^Sootbook$"], capture_output=True, text=True).stdout.split()
        if found:
            return found[0]
        time.sleep(0.25)
    raise SystemExit("no window came")


class Hand:
    def __init__(self, window):
        self.window, self.inputs = window, 0

    def to(self, x, y):
        xdo("mousemove", "--window", self.window, round(x), round(y))

    def press_at(self, x, y, times=1):
        self.to(x, y)
        time.sleep(0.05)
        for _ in range(times):
            xdo("click", 1)
        time.sleep(0.15)
        self.inputs += 1

    def draw(self, x0, y0, x1, y1):
        self.to(x0, y0)
        time.sleep(0.05)
        xdo("mousedown", 1)
        for i in range(1, 11):
            self.to(x0 + (x1 - x0) * i / 10, y0 + (y1 - y0) * i / 10)
            time.sleep(0.02)
        xdo("mouseup", 1)
        time.sleep(0.15)
        self.inputs += 1

    def key(self, name):
        xdo("key", "--clearmodifiers", keysym(name))
        time.sleep(0.05)
        self.inputs += 1

    def type(self, text):
        xdo("type", "--delay", 25, text)
        time.sleep(0.1)
        self.inputs += len(text)

    def paste(self, files):
        text = "\n".join(os.path.abspath(f) for f in files)
        subprocess.run(["xclip", "-selection", "clipboard"], input=text, text=True, check=True)
        self.key("Ctrl+V")
        time.sleep(2)


def play(hand, lines, outlines):
    at = iter(outlines)
    for line in lines:
        words = shlex.split(line, posix=True) if not line.startswith("type") else line.split()
        if not words or words[0].startswith("#"):
            continue
        verb = words[0]
        box = bounds_of(next(at), words[1]) if verb in POINTER else None
        if verb == "key":
            hand.key(words[1])
        elif verb == "type":
            hand.type(line[len("type"):].lstrip())
        elif verb in ("click", "double"):
            hand.press_at(box[0] + box[2] / 2, box[1] + box[3] / 2, 2 if verb == "double" else 1)
        elif verb == "stroke":
            x0, y0, x1, y1 = (float(w) for w in words[2:6])
            hand.draw(box[0] + box[2] * x0, box[1] + box[3] * y0, box[0] + box[2] * x1, box[1] + box[3] * y1)
        elif verb == "wheel":
            hand.to(box[0] + box[2] / 2, box[1] + box[3] / 2)
            for _ in range(abs(int(words[2]))):
                xdo("click", 4 if int(words[2]) > 0 else 5)
            time.sleep(0.2)
        elif verb == "drop":
            hand.paste(words[1:])
        elif verb == "wait":
            time.sleep(0.6)
        elif verb in ("expect", "contrast", "size", "picture", "frames"):
            pass
        else:
            raise SystemExit(f"a hand cannot do this: {line}")


def main():
    program, script, log = sys.argv[1:4]
    with open(script) as f:
        lines = [line.rstrip("\n") for line in f]
    size = next((line.split()[1:] for line in lines if line.startswith("size ")), ["1440", "900"])
    scratch = log + ".scratch"
    os.makedirs(scratch)
    if os.path.isdir(log):
        shutil.copytree(log, log + ".played")
    outlines = ask_player(program, lines, log + ".played", scratch)
    env = {k: v for k, v in os.environ.items() if k not in ("SDL_VIDEODRIVER", "WAYLAND_DISPLAY")}
    with open(f"{scratch}/err", "w") as err:
        app = subprocess.Popen([program, log], env=env, stderr=err, stdout=err)
    try:
        window = find_window()
        xdo("windowsize", "--sync", window, *size)
        xdo("windowfocus", window)
        time.sleep(1)
        hand = Hand(window)
        play(hand, lines, outlines)
        time.sleep(1)
        picture = os.environ.get("SOOTBOOK_PICTURE")
        if picture:
            subprocess.run(["import", "-window", "root", picture], check=False)
        hand.key("Ctrl+Q")
        if app.wait(timeout=20) != 0:
            raise SystemExit("the window did not end well: " + open(f"{scratch}/err").read())
        print(f"inputs: {hand.inputs}")
    finally:
        app.kill()


main()
