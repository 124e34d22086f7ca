import { z } from 'zod';
import { positions } from '../../football/positions.ts';
import type { Evidence } from '../../patterns/evidence.ts';
import { situationCuts } from '../../patterns/situation-cuts.ts';
import { exactText } from '../../text/typed-text.ts';
import { chance } from '../../web/format.ts';
import { weekStrip } from '../../web/week-strip.ts';
import { misses } from './peers-miss.ts';

export const patternPlaysQuery = z.object({
  position: z.enum(positions),
  dutyKey: exactText({ least: 1, most: 100 }),
  situationCut: z.enum(['', ...situationCuts.map(({ key }) => key)]).default(''),
  which: z.enum(['not met', 'model']).default('not met'),
});

/** Figures of a pattern as its row shows them. */
export function evidenceView(row: Evidence, span: { first: number; last: number }) {
  return {
    ...row,
    strip: weekStrip(row.weeks, span.first, span.last),
    sure: chance(row.adjustedP),
    trendWord: row.trend.direction === 'no clear trend' ? null : row.trend.direction,
    gamesVary: row.overdispersion > 1.05,
    peersMiss: misses(row.expected),
  };
}

/** Where a row's plays are. */
export const playsQuery = (
  row: { position: string; duty: string; situationCut: string | null },
  which: string,
) =>
  new URLSearchParams({
    position: row.position,
    dutyKey: row.duty,
    situationCut: row.situationCut ?? '',
    which,
  }).toString();
