import { expect, test } from 'vitest';
import { dayIn } from '../../server/web/today.ts';

test('a day begins where the conference is', () => {
  const evening = new Date('2026-11-29T03:30:00Z');
  expect(dayIn('America/Chicago', evening)).toBe('2026-11-28');
  expect(dayIn('UTC', evening)).toBe('2026-11-29');
  expect(dayIn('Asia/Tokyo', new Date('2026-11-28T15:00:00Z'))).toBe('2026-11-29');
});
