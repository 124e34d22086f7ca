// @module-tag rest
import { readFile, stat } from 'node:fs/promises';
import path from 'node:path';
import { beforeAll, expect, test } from 'vitest';
import { filmNotes } from '../../server/films/film-facts.ts';
import { frameTimes } from '../../server/films/looking/frame-times.ts';
import { makeForBrowsers } from '../../server/films/looking/make-for-browsers.ts';
import { outerBoxes } from '../../server/films/looking/mp4-boxes.ts';
import { type Looked, lookAt } from '../../server/films/looking/probe.ts';
import { isRefused } from '../../server/films/looking/probed.ts';
import { folderInRun } from '../support/test-run.ts';
import { frames, makeFilms, picturesOf, rate } from './made-films.ts';

// Real files, made by ffmpeg, of the kinds that people bring.

let at: (name: string) => string;
let folder: string;
beforeAll(async () => {
  folder = await folderInRun('films');
  at = await makeFilms(folder);
}, 120_000);

const never = new AbortController().signal;
const look = (name: string) => lookAt(at(name), never, () => {});
async function taken(name: string): Promise<Looked> {
  const looked = await look(name);
  if (isRefused(looked)) throw new Error(looked.refused);
  return looked;
}

test('an ordinary film is taken as it is', async () => {
  const { facts, form } = await taken('ordinary.mp4');
  expect(facts).toMatchObject({
    width: 320,
    height: 180,
    rotated: 0,
    variable: false,
    sound: true,
    picture: 'h264',
  });
  expect(facts.seconds).toBeCloseTo(frames / rate, 3);
  expect(facts.rate).toBeCloseTo(rate, 3);
  expect(form).toEqual({ form: 'mp4', make: null });
  expect(filmNotes(facts)).toEqual([]);
});

test.each([
  ['silent.mp4', { sound: false }, /no sound/],
  ['rotated.mp4', { rotated: 90, width: 180, height: 320 }, /turned by 90 degrees/],
  ['uneven.mp4', { variable: true }, /do not follow each other evenly/],
])('%s is kept, and told', async (name, expected, note) => {
  const { facts } = await taken(name);
  expect(facts).toMatchObject(expected);
  expect(filmNotes(facts).join()).toMatch(note);
});

test.each([
  ['cut-off.mp4', /breaks off after 0:0[23] of 0:06: its file is not whole/],
  ['no-index.mov', /cut off: the part of its file that tells where the pictures are is missing/],
  ['text.mp4', /not a film that can be read/],
  ['sound-only.mp4', /no moving picture/],
  ['huge.mov', /more than 8,912,896 pixels/],
])('%s is refused, and why', async (name, sentence) => {
  const looked = await look(name);
  expect(isRefused(looked) && looked.refused).toMatch(sentence);
});

test.each([
  ['camera.mov', 'coded as AAC'],
  ['stream.ts', 'copied'],
] as const)('%s is put into MP4, picture for picture, index first', async (name, sound) => {
  const { facts, form } = await taken(name);
  expect(form).toEqual({ form: 'mp4', make: { sound } });
  const to = path.join(folder, `${name}.made`);
  const { size: bytes } = await stat(at(name));
  const parts: number[] = [];
  expect(
    await makeForBrowsers({ from: at(name), to, bytes }, facts, form.make!, never, (part) =>
      parts.push(part),
    ),
  ).toBe('made');
  const file = await readFile(to);
  const boxes = await outerBoxes(async (from, length) => file.subarray(from, from + length));
  expect(boxes.indexOf('moov')).toBeLessThan(boxes.indexOf('mdat'));
  const again = await lookAt(to, never, () => {});
  if (isRefused(again)) throw new Error(again.refused);
  expect(again.form.make).toBeNull();
  expect(again.facts).toMatchObject({ sound: true, rotated: 0, variable: false });
  expect(Math.round(again.facts.seconds * rate)).toBe(frames);
  expect(parts.at(-1)).toBeGreaterThan(0.9);
  expect(await picturesOf(to)).toBe(await picturesOf(at('ordinary.mp4')));
});

test('an open form is taken as it is', async () => {
  expect((await taken('open.webm')).form).toEqual({ form: 'webm', make: null });
});

test('a film is given up at once when nobody wants it any more', async () => {
  const stop = new AbortController();
  stop.abort(new Error('removed'));
  await expect(lookAt(at('ordinary.mp4'), stop.signal, () => {})).rejects.toThrow('removed');
});

test('frames in any order, with clocks that round to thousandths, are even', () => {
  const times = Array.from({ length: 300 }, (_, at) => Math.round((at / 29.97) * 1000) / 1000).reverse();
  expect(frameTimes(times)).toMatchObject({ frames: 300, first: 0, variable: false });
  expect(frameTimes([1])).toBeUndefined();
});
