import { expect, test } from 'vitest';
import { chance, day, moment, number, situation } from '../../server/web/format.ts';

test('a date formatter is made once for each form and zone, however many dates are written', () => {
  const Original = Intl.DateTimeFormat;
  let made = 0;
  Intl.DateTimeFormat = class extends Original {
    constructor(...settings: ConstructorParameters<typeof Original>) {
      super(...settings);
      made++;
    }
  } as typeof Original;
  try {
    for (let hour = 0; hour < 300; hour++) {
      for (const zone of ['America/Chicago', 'Pacific/Honolulu', 'Asia/Kathmandu']) {
        const at = new Date(Date.UTC(2031, 8, 6, hour));
        moment(at, zone);
        day(at, zone);
      }
    }
  } finally {
    Intl.DateTimeFormat = Original;
  }
  expect(made).toBe(6);
});

test('each date is written in its own zone and form', () => {
  const at = '2031-09-07T03:30:00Z';
  expect(moment(at, 'America/Chicago')).toBe('Sat, Sep 6, 2031, 10:30 PM CDT');
  expect(moment(at, 'Asia/Kathmandu')).toBe('Sun, Sep 7, 2031, 9:15 AM GMT+5:45');
  expect(day(at, 'America/Chicago')).toBe('September 6, 2031');
  expect(day(at)).toBe('September 7, 2031');
  expect(moment(null)).toBe('–');
});

test('no probability is written as none, and what rounds to nothing has no sign', () => {
  expect([0, 0.0004, 0.00099, 0.001, 0.0126, 1, null].map(chance)).toEqual([
    'below 0.001',
    'below 0.001',
    'below 0.001',
    '0.001',
    '0.013',
    '1.000',
    '–',
  ]);
  expect([-0.004, -0.006, 0, 1.25].map((value) => number(value, 2))).toEqual([
    '0.00',
    '−0.01',
    '0.00',
    '1.25',
  ]);
});

test('a play is told as the trade says it', () => {
  const play = { kind: 'run', spot: 97, down: 2, distance: 3 };
  expect(situation(play)).toBe("Run, 2nd and goal at opponent's 3");
  expect(situation({ ...play, spot: 34, distance: 7 })).toBe('Run, 2nd and 7 at own 34');
  expect(situation({ kind: 'free kick', spot: 35, down: null, distance: null })).toBe('Free kick, own 35');
});
