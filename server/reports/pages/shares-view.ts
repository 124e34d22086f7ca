import { shareInWords, sharesOf } from '../../duties/report-shares.ts';
import { watchedInWords } from '../../duties/watched.ts';
import type { Position } from '../../football/positions.ts';
import { groupBy } from '../../grading/group-by.ts';
import type { LeftOut, sharesOfReport } from '../review/report-shares.ts';

/** What a report's observer watched and its log gives, in words. */
export function sharesView(found: Awaited<ReturnType<typeof sharesOfReport>>) {
  const { watched, crew, playNumbers, byPosition, leftOut } = found;
  const whole = byPosition.reduce(
    (sum, row) => ({
      opportunities: sum.opportunities + row.opportunities,
      setAside: sum.setAside + row.setAside,
      unwatched: sum.unwatched + row.unwatched,
      likely: sum.likely + row.likely,
    }),
    { opportunities: 0, setAside: 0, unwatched: 0, likely: 0 },
  );
  return {
    watched: watched ? watchedInWords(watched, crew, (id) => playNumbers.get(id)) : null,
    // Counted only once it was filed.
    shares: byPosition.length > 0 ? inWords(sharesOf(whole)) : null,
    leftOut: [...groupBy(leftOut, ({ title }) => title)].map(([title, rows]) => ({
      title,
      positions: rows.map(({ position }) => position).join(', '),
      misses: rows.reduce((sum, { misses }) => sum + misses, 0),
    })),
    of: new Map<Position, { watched: string; decided: string; leftOut: LeftOut[] }>(
      byPosition.map((row) => [
        row.position,
        {
          ...inWords(sharesOf(row)),
          leftOut: leftOut.filter(({ position }) => position === row.position),
        },
      ]),
    ),
  };
}

const inWords = ({ watched, decided }: ReturnType<typeof sharesOf>) => ({
  watched: shareInWords(watched),
  decided: shareInWords(decided),
});
