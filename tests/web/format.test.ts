import { expect, test } from 'vitest';
import { day, moment } from '../../server/web/format.ts';

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
