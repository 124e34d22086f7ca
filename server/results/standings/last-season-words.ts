import type { LastSeasonTaken } from '../../grading/last-season.ts';
import { number } from '../../web/format.ts';

/** What the season before does in a season's standings, for the coordinator. */
export function lastSeasonSentence(name: string, taken: LastSeasonTaken): string {
  if (taken.reason !== null)
    return `By this season's settings grades also rest on what officials showed in ${name}, but nothing is taken in: ${taken.reason}.`;
  const { officials, newcomers, correlation, correlationError } = taken;
  const others =
    newcomers === 0
      ? ''
      : newcomers === 1
        ? ' One other official is graded by this season alone.'
        : ` The ${newcomers} others are graded by this season alone.`;
  return `By this season's settings what ${officials} officials showed in ${name} is taken in beside this season's reports: their grades are drawn toward how they did then, the more the fewer games they have worked now.${others} How like themselves officials stayed is estimated at ${number(correlation, 2)} (0 not at all, 1 wholly; standard error ${number(correlationError, 2)}). Whoever has changed much since is served worst by it. Grades as marked are this season's only.`;
}

/** The same for an official, of their own grade. */
export function lastSeasonToOfficial(name: string): string {
  return `By the conference's settings this grade also rests on what you showed in ${name}, where you were graded then: the fewer games you have worked now, the more. The grade as marked is this season's only.`;
}
