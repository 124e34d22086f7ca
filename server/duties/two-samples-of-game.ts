import type { CrewAtWork } from './compiled-rubric.ts';
import { type CountedReport, countedChances } from './counted-chances.ts';
import { effectOf } from './finding.ts';
import type { LoggedPlay } from './opportunity-counts.ts';

/** What two observers of one game noted as missed, over the chances that neither left open. */
interface SamplesOfGame {
  both: number;
  onlyFirst: number;
  onlySecond: number;
  /** The first marked it missed; the second marked it too, as done: not overlooked, but judged otherwise. */
  firstAgainst: number;
  secondAgainst: number;
}

/**
 * Two reports of a game as two samples of its misses, over the chances that count in both. Who made no mark on a chance
 * overlooked the miss, if it was one; who marked it as done saw it and judged otherwise, which says nothing about what
 * either overlooks. Chances that one of them did not see or could not tell are left out.
 */
export function samplesOfGame(
  plays: readonly LoggedPlay[],
  crew: CrewAtWork,
  [first, second]: readonly [CountedReport, CountedReport],
): SamplesOfGame {
  const samples = { both: 0, onlyFirst: 0, onlySecond: 0, firstAgainst: 0, secondAgainst: 0 };
  const others = countedChances(plays, crew, second);
  for (const [at, { mark }] of countedChances(plays, crew, first)) {
    const chance = others.get(at);
    if (!chance) continue;
    const one = mark && effectOf(mark.finding);
    const other = chance.mark && effectOf(chance.mark.finding);
    if (one === 'not counted' || other === 'not counted') continue;
    if (one === 'not met') {
      samples[other === 'not met' ? 'both' : other === 'met' ? 'firstAgainst' : 'onlyFirst']++;
    } else if (other === 'not met') samples[one === 'met' ? 'secondAgainst' : 'onlySecond']++;
  }
  return samples;
}
