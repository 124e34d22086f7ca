import { expect, test } from 'vitest';
import { coordinatesFrom, coordinatesText } from '../../server/schedule/coordinates.ts';

test.each([
  ['41.62, -93.98', 41.62, -93.98],
  ['41.62,-93.98', 41.62, -93.98],
  ['41.62 −93.98', 41.62, -93.98],
  ['41.62° N, 93.98° W', 41.62, -93.98],
  ['33.9 S; 151.2 E', -33.9, 151.2],
  ['0, 0', 0, 0],
])('%s is read', (text, latitude, longitude) => {
  expect(coordinatesFrom(text)).toEqual({ latitude, longitude });
});

test.each(['', '41.62', '91, 0', '0, 181', 'here', '41,62, -93,98', '41.62, -93.98, 3'])(
  '%j is not',
  (text) => {
    expect(coordinatesFrom(text)).toBeUndefined();
  },
);

test('what is written is read as the same', () => {
  const place = { latitude: -33.856784, longitude: 151.215297 };
  expect(coordinatesFrom(coordinatesText(place))).toEqual(place);
});
