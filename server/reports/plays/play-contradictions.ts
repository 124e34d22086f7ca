import type { Queryable } from '../../database/transaction.ts';
import { type Contradiction, contradictionsIn } from '../../football/contradictions/index.ts';
import { codeOfSeason } from '../../rubric/read-rubric.ts';
import { playLog, workingCrew } from '../filing/counted-material.ts';

interface PlayContradiction extends Contradiction {
  readonly playId: string;
}

/** Where a game's play log contradicts itself, by the rules book of its season and who worked it. */
export async function gameContradictions(
  db: Queryable,
  conferenceId: string,
  game: { readonly id: string; readonly seasonId: string },
): Promise<PlayContradiction[]> {
  const plays = await playLog(db, conferenceId, game.id);
  const crew = (await workingCrew(db, conferenceId, game.id)).map(({ position }) => position);
  const code = await codeOfSeason(db, conferenceId, game.seasonId);
  const playIds = new Map(plays.map(({ number, id }) => [number, id]));
  return contradictionsIn(plays, crew, code).map((one) => ({ ...one, playId: playIds.get(one.number)! }));
}

/** For a page: how many there are in words, and each with where to mend or see it. */
export function contradictionsView(found: readonly PlayContradiction[], gameId: string, mayCorrect: boolean) {
  const plays = new Set(found.map(({ number }) => number)).size;
  return {
    inSum:
      plays === 1 ? '1 play contradicts itself or another' : `${plays} plays contradict themselves or others`,
    any: found.length > 0,
    each: found.map((one) => ({
      ...one,
      href: `/games/${gameId}/plays/${one.playId}${mayCorrect ? '' : '/duties'}`,
    })),
  };
}
