import Timecode from 'smpte-timecode';
import { describe, expect, test } from 'vitest';
import { dropFrameTimecode, framesIn, secondsOf } from '../../server/timeline/frames.ts';

describe('drop-frame time code', () => {
  // SMPTE ST 12-1: two numbers are left out each minute but every tenth; values recomputed by hand from that rule.
  test.each([
    [0, '00:00:00;00'],
    [1799, '00:00:59;29'],
    [1800, '00:01:00;02'],
    [17_981, '00:09:59;29'],
    [17_982, '00:10:00;00'],
    [107_892, '01:00:00;00'],
    [2_589_408, '00:00:00;00'],
  ])('frame %i is %s', (frame, code) => {
    expect(dropFrameTimecode(frame)).toBe(code);
  });

  test('is that of smpte-timecode 1.3, frame by frame at every place where numbers are left out', () => {
    const frames = Array.from({ length: 140 }, (_, minute) =>
      [-2, -1, 0, 1, 2].map((by) => Math.max(0, 1798 * minute + by)),
    );
    for (const frame of [...frames.flat(), ...Array.from({ length: 4000 }, (_, at) => 641 * at)]) {
      expect(dropFrameTimecode(frame), `frame ${frame}`).toBe(Timecode(frame, 29.97, true).toString());
    }
  });

  test.each([-1, 0.5, Number.NaN])('refuses frame %d', (frame) => {
    expect(() => dropFrameTimecode(frame)).toThrow(`a frame must be 0, 1, 2, ..., not ${frame}`);
  });
});

test('an hour of the clock is 107,892 frames of 30000/1001', () => {
  expect(framesIn(3600)).toBe(107_892);
  expect(secondsOf(30_000)).toBe(1001);
  expect(() => framesIn(-1)).toThrow('0 seconds or more');
});
