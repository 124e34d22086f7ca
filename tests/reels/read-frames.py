"""Reads the number that each frame of a film shows, and when its tones begin.

Run: read-frames.py FILE X Y WIDTH HEIGHT [turned]; the box is where the bands are. Prints JSON: frames (numbers, -1 where
a frame shows none), tones (seconds at which each begins), samples (of the sound at 48 kHz).
"""
import array
import json
import subprocess
import sys

BANDS = 10
name, x, y, width, height = sys.argv[1], *map(int, sys.argv[2:6])
turned = len(sys.argv) > 6
thin = subprocess.run(
    ["ffmpeg", "-v", "error", "-i", name, "-map", "0:v:0", "-vf",
     f"crop={width}:{height}:{x}:{y},scale={BANDS * 8}:8:flags=area,format=gray", "-vsync", "0", "-f", "rawvideo", "-"],
    check=True, capture_output=True).stdout
size = BANDS * 8 * 8
frames = []
for at in range(0, len(thin), size):
    row = thin[at + 3 * BANDS * 8: at + 4 * BANDS * 8]
    values = [row[band * 8 + 4] for band in range(BANDS)]
    if turned:
        values.reverse()
    clear = all(value < 60 or value > 180 for value in values)
    frames.append(sum(1 << band for band in range(BANDS) if values[band] > 120) if clear else -1)
raw = subprocess.run(
    ["ffmpeg", "-v", "error", "-i", name, "-map", "0:a:0", "-ac", "1", "-ar", "48000", "-f", "s16le", "-"],
    check=True, capture_output=True).stdout
sound = array.array("h", raw)
tones, quiet = [], 4800
for at, value in enumerate(sound):
    if abs(value) > 1500:
        if quiet >= 2400:
            tones.append(at / 48000)
        quiet = 0
    else:
        quiet += 1
print(json.dumps({"frames": frames, "tones": tones, "samples": len(sound)}))
