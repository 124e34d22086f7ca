import type { Timebase } from './cut-schema.ts';

// What a cut is without the schema that checks it: browsers take this, and not the schema's library.
export type { Cut, CutVoice, Pointer, Shot, Timebase } from './cut-schema.ts';

export const secondsOfTicks = (at: number, { numerator, denominator }: Timebase): number =>
  (at * numerator) / denominator;
