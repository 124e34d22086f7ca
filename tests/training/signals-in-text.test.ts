import { expect, test } from 'vitest';
import { signalsIn } from '../../server/training/signals-in-text.ts';

test('signals are found where they are spoken of, each once, by any of their words', () => {
  expect(signalsIn('Stop the clock. Then the TOUCHDOWN; stop the clock again.')).toEqual([
    { name: 'stop the clock', number: 3 },
    { name: 'touchdown or field goal', number: 5 },
  ]);
  expect(signalsIn('The safeties start the clocks.')).toEqual([]);
});
