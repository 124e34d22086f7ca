import { execFileSync } from 'node:child_process';
import { describe, expect, test } from 'vitest';
import { WebVTTParser } from 'webvtt-parser';
import { subRip, webVtt } from '../../server/timeline/caption-files.ts';
import { captionsOf } from '../../server/timeline/captions.ts';
import type { Cue } from '../../server/timeline/cue.ts';
import { framesIn, secondsOf } from '../../server/timeline/frames.ts';

const cue = (title: string, seconds: number, narration: string): Cue => ({
  title,
  frames: framesIn(seconds),
  film: null,
  narration,
});
const sentence =
  'The wing is square to the sideline at the snap, sees the receiver through the line & holds the spot with <one> foot. ';
const cues = [
  cue('Play 1', 24, sentence.repeat(2)),
  cue('Play 2', 9, ''),
  cue('Play 3', 6, sentence.repeat(3)),
  cue('Play 4', 3700, 'Dead-ball signal; then the clock.'),
];
const captions = captionsOf(cues);

/** Start, end and text of captions as a reader for Python of Debian's gives them (python3-webvtt, python3-srt). */
const readBy = (script: string, file: string): [number, number, string][] =>
  JSON.parse(execFileSync('/usr/bin/python3', ['-c', script], { input: file, encoding: 'utf8' }));
const told = captions.map(
  ({ from, to, lines }) => [secondsOf(from), secondsOf(to), lines.join('\n')] as const,
);

function agrees(read: readonly (readonly [number, number, string])[], textOf = (text: string) => text) {
  expect(read).toHaveLength(told.length);
  for (const [at, [from, to, text]] of read.entries()) {
    expect(Math.abs(from - told[at]![0])).toBeLessThanOrEqual(0.0005001);
    expect(Math.abs(to - told[at]![1])).toBeLessThanOrEqual(0.0005001);
    expect(textOf(text)).toBe(told[at]![2]);
  }
}

describe('captions', () => {
  test('stand within their own play, one after the other, in two lines of 37 characters at most', () => {
    const starts = [0, cues[0]!.frames, cues[0]!.frames + cues[1]!.frames];
    const ends = [starts[1]!, starts[2]!, starts[2]! + cues[2]!.frames];
    for (const { from, to, lines } of captions) {
      expect(to).toBeGreaterThan(from);
      expect(lines.length).toBeLessThanOrEqual(2);
      for (const line of lines) expect(line.length).toBeLessThanOrEqual(37);
    }
    expect(captions[0]!.from).toBe(0);
    expect(captions.some(({ from }) => from >= starts[1]! && from < ends[1]!)).toBe(false);
    const tight = captions.filter(({ from }) => from >= starts[2]! && from < ends[2]!);
    expect(tight.at(-1)!.to).toBe(ends[2]);
    for (const [at, { from }] of captions.entries())
      if (at > 0) expect(from).toBeGreaterThanOrEqual(captions[at - 1]!.to);
    expect(captions.flatMap(({ lines }) => lines).join(' ')).toBe(
      cues
        .map(({ narration }) => narration.trim())
        .filter(Boolean)
        .join(' '),
    );
  });

  test('stand for 160 words a minute (BBC subtitle guidelines, from memory), where the play lasts that long', () => {
    const words = sentence.repeat(2).trim().split(/\s+/).length;
    const ofFirst = captions.filter(({ from }) => from < cues[0]!.frames);
    expect(secondsOf(ofFirst.at(-1)!.to)).toBeCloseTo(Math.min(24, (words * 60) / 160), 1);
  });

  test('as WebVTT are read alike by webvtt-parser and by python3-webvtt', () => {
    const file = webVtt(captions);
    const { cues: read, errors } = new WebVTTParser().parse(file, 'captions');
    expect(errors).toEqual([]);
    const textOf = (text: string) =>
      text.replaceAll('&lt;', '<').replaceAll('&gt;', '>').replaceAll('&amp;', '&');
    agrees(
      read.map(({ startTime, endTime, text }) => [startTime, endTime, text]),
      textOf,
    );
    const script = `import sys, json, io, webvtt
cues = webvtt.read_buffer(io.StringIO(sys.stdin.read()))
print(json.dumps([[c.start_in_seconds, c.end_in_seconds, c.raw_text] for c in cues]))`;
    agrees(readBy(script, file), textOf);
  });

  test('as SubRip are read back by python3-srt', () => {
    const script = `import sys, json, srt
print(json.dumps([[s.start.total_seconds(), s.end.total_seconds(), s.content] for s in srt.parse(sys.stdin.read(), ignore_errors=False)]))`;
    agrees(readBy(script, subRip(captions)));
  });

  test('of a play shown for fewer frames than it has captions there are none', () => {
    expect(captionsOf([{ ...cue('Play', 1, sentence), frames: 1 }])).toEqual([]);
    expect(() => captionsOf([{ ...cue('Play', 1, ''), frames: 0 }])).toThrow(
      '"Play" must be shown for 1 frame or more',
    );
  });
});
