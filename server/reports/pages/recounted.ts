import type { Queryable } from '../../database/transaction.ts';
import { downInWords, kindInWords, resultInWords } from '../../football/play-in-words.ts';
import { readGameHead } from '../../games/game-head.ts';
import { readDutyTitles } from '../../rubric/duty-titles.ts';
import type { NumberedPlay } from '../filing/counted-material.ts';
import type { RecountedReport } from '../review/corrections.ts';

/** What a change of a game's play log did to its filed reports. */
export async function recountedView(
  db: Queryable,
  conferenceId: string,
  gameId: string,
  done: string,
  recounted: readonly RecountedReport[],
) {
  const game = await readGameHead(db, conferenceId, gameId);
  const titles = await readDutyTitles(db, conferenceId, game.seasonId);
  return {
    game,
    done,
    recounted: recounted.map((report) => ({
      ...report,
      differences: report.differences.map((difference) => ({
        ...difference,
        title: titles.get(difference.dutyKey) ?? difference.dutyKey,
      })),
    })),
  };
}

/** A play as one line of the log. */
export const playLine = (item: NumberedPlay) => ({
  id: item.id,
  number: item.number,
  kind: kindInWords(item.play),
  quarter: item.play.quarter,
  clock: item.play.clockSeconds,
  down: downInWords(item.play),
  result: resultInWords(item.play),
});
